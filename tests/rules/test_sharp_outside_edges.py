import pytest

from analyzers.model.measure import Measure
from tests.rules import _builders as build

RULE = "sharp_outside_edges"


def sharp(length: float | None) -> Measure:
    """Return the length of sharp outside edges; the shop of these tests deburrs a metre in 3 min."""
    why = None if length is not None else "the shell is open"
    return Measure(name="external_sharp_edge_length_mm", value=length, why_none=why, faces=(1, 4))


def test_fires() -> None:
    """Six metres are eighteen minutes."""
    (found,) = build.ask(RULE, build.case(measures=(sharp(6000.0),)))
    assert build.told(found) == ("note", pytest.approx(18.0), 15.0)
    assert "6 m of outside edges" in found.message


@pytest.mark.parametrize(
    "measures",
    [
        pytest.param((sharp(5000.0),), id="exactly-a-quarter-of-an-hour"),
        pytest.param((sharp(0.0),), id="all-broken"),
        pytest.param((sharp(None),), id="could-not-be-measured"),
        pytest.param((), id="not-taken"),
    ],
)
def test_stays_silent(measures: tuple[Measure, ...]) -> None:
    """Little to deburr, or not known."""
    assert build.ask(RULE, build.case(measures=measures)) == []
