"""Length of turned parts in diameters."""

from dataclasses import replace

import pytest

from analyzers.features import recognise
from analyzers.model.report import MadeBy
from tests.measures._shapes import askew, box, fuse, loaded, rod, taken


@pytest.mark.parametrize("turned_away", [False, True], ids=["straight", "askew"])
def test_a_shaft_is_as_many_of_its_widest_diameter_long(turned_away: bool) -> None:
    """20 mm over 60 and 12 mm over 90 mm more: 150 / 20 = 7.5, at the wider length."""
    shape = fuse(rod((0, 0, 0), 10, 60), rod((0, 0, 60), 6, 90))
    facts, geometry = loaded(askew(shape) if turned_away else shape)
    facts = recognise(facts.part, geometry)
    ratio = taken("turned_length_ratio", facts, geometry)
    assert ratio.value == pytest.approx(7.5)
    assert facts.feature(ratio.feature or "").dimensions()["diameter_mm"] == pytest.approx(20.0)


def test_a_block_has_none() -> None:
    """What is not turned has no such ratio, and nothing is wrong."""
    facts, geometry = loaded(box((0, 0, 0), (40, 60, 3)))
    for made_by in (facts.made_by, MadeBy(process="turned", why="no axis known")):
        ratio = taken("turned_length_ratio", replace(facts, made_by=made_by), geometry)
        assert ratio.value is None
        assert not ratio.applies
