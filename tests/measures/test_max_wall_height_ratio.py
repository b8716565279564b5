"""Height to thickness of walls and ribs."""

import pytest

from tests.measures._shapes import box, cut, featured, loaded, pocket, taken

TWO_POCKETS = cut(box((0, 0, 0), (60, 40, 30)), box((5, 5, 10), (25, 35, 31)), box((26.5, 5, 10), (55, 35, 31)))


def test_a_rib_between_pockets() -> None:
    """1.5 mm thick, 20 mm high: 13.3, slenderer than the 5 mm walls around."""
    facts, geometry = loaded(TWO_POCKETS)
    facts = featured(facts, pocket(facts.part, (4, 4, 9), (25.5, 36, 29)), pocket(facts.part, (26, 4, 9), (56, 36, 29)))
    ratio = taken("max_wall_height_ratio", facts, geometry)
    assert ratio.value == pytest.approx(20.0 / 1.5)
    assert ratio.feature in ("F1", "F2")
    assert ratio.point_mm is not None
    assert min(abs(ratio.point_mm[0] - 25.0), abs(ratio.point_mm[0] - 26.5)) == pytest.approx(0.0, abs=1e-6)


def test_the_slenderest_counts_not_the_thinnest() -> None:
    """Walls of 2 mm beside a pocket 4 mm deep and of 3 mm beside one 24 mm deep: 8."""
    shape = cut(box((0, 0, 0), (80, 40, 30)), box((2, 5, 26), (30, 35, 31)), box((50, 5, 6), (77, 35, 31)))
    facts, geometry = loaded(shape)
    facts = featured(
        facts,
        pocket(facts.part, (1, 4, 25), (31, 36, 29.9), depth_mm=4.0),
        pocket(facts.part, (49, 4, 5), (78, 36, 29.9), depth_mm=24.0),
    )
    assert taken("max_wall_height_ratio", facts, geometry).value == pytest.approx(24.0 / 3.0)


def test_a_plate_has_none() -> None:
    """A plate of no feature stands along nothing."""
    ratio = taken("max_wall_height_ratio", *loaded(box((0, 0, 0), (40, 60, 3))))
    assert ratio.value is None
    assert not ratio.applies
