"""Webs between holes, and between a hole and the outside."""

from dataclasses import replace

import numpy as np
import pytest

from tests.measures._shapes import box, cut, featured, hole, loaded, pocket, rod, taken

BORED = cut(box((0, 0, 0), (80, 60, 30)), rod((30, 30, -1), 4, 40), rod((42, 30, -1), 3, 40))


def test_the_web_between_two_holes_is_pitch_less_radii() -> None:
    """Bores of 8 and 6 mm at 12 mm pitch leave 5 mm."""
    facts, geometry = loaded(BORED)
    facts = featured(facts, hole(facts.part, (29, 29, 5), (31, 31, 25)), hole(facts.part, (41, 29, 5), (43, 31, 25)))
    web = taken("min_web_mm", facts, geometry)
    assert web.value == pytest.approx(5.0)
    assert web.feature in {"F1", "F2"}
    assert len(web.faces) == 2


def test_the_web_to_the_outside_is_measured_across() -> None:
    """A 6 mm hole, 5 mm from a side, leaves 2 mm; the point lies on the hole."""
    facts, geometry = loaded(cut(box((0, 0, 0), (40, 30, 20)), rod((5, 15, -1), 3, 30)))
    facts = featured(facts, hole(facts.part, (4, 14, 5), (6, 16, 15)))
    web = taken("min_web_mm", facts, geometry)
    assert web.value == pytest.approx(2.0)
    assert web.point_mm is not None
    assert web.point_mm[0] == pytest.approx(2.0)


def test_a_tube_has_a_wall_and_no_web() -> None:
    """Material that goes all round the hole is the tube's wall."""
    facts, geometry = loaded(cut(rod((0, 0, 0), 10, 30), rod((0, 0, -1), 8, 32)))
    bore = tuple(np.flatnonzero(facts.part.face_concave).tolist())
    facts = featured(facts, replace(hole(facts.part, (0, 0, 0), (0, 0, 0)), faces=bore))
    web = taken("min_web_mm", facts, geometry)
    assert web.value is None
    assert not web.applies


def test_walls_of_pockets_are_no_webs() -> None:
    """A thin wall beside a pocket, without any hole, is not reported as a web."""
    facts, geometry = loaded(cut(box((0, 0, 0), (60, 40, 12)), box((1, 10, 5), (50, 30, 13))))
    web = taken("min_web_mm", featured(facts, pocket(facts.part, (0.5, 9, 4), (51, 31, 11.5))), geometry)
    assert web.value is None
    assert web.why_none == "the body has no holes"
