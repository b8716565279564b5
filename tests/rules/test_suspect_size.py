import math

import pytest

from analyzers.model.arrays import Vec
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "suspect_size"


@pytest.mark.parametrize(
    ("size", "word", "limit"), [((2.0, 1.0, 1.0), "tiny", 3.0), ((4000.0, 300.0, 200.0), "huge", 4000.0)]
)
def test_fires(size: Vec, word: str, limit: float) -> None:
    """Smaller than a bead, longer than a machine."""
    (found,) = build.ask(RULE, build.case(part=solids.block(size=size)))
    assert build.told(found) == ("warning", pytest.approx(math.hypot(*size)), limit)
    assert word in found.message


@pytest.mark.parametrize("size", [(60.0, 40.0, 20.0), pytest.param((1.0, 2.0, 2.0), id="exactly-3-mm-across")])
def test_stays_silent(size: Vec) -> None:
    """What people hold in their hands."""
    assert build.ask(RULE, build.case(part=solids.block(size=size))) == []
