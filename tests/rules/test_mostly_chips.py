import pytest

from analyzers.model.arrays import Vec
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "mostly_chips"


def test_fires() -> None:
    """5 of 100 cm³ are left: 95 cm³ of aluminium are 0.26 kg."""
    one = build.case(part=solids.block(volume=5000.0), plan_=build.plan(stock=(100.0, 50.0, 20.0)))
    (found,) = build.ask(RULE, one)
    assert build.told(found) == ("note", pytest.approx(0.95), 0.9)
    assert "0.26 kg" in found.message
    assert "50 cm³ or less (now 100 cm³)" in found.suggestion


@pytest.mark.parametrize(
    ("volume", "stock"),
    [
        pytest.param(10000.0, (100.0, 50.0, 20.0), id="exactly-at-the-limit"),
        pytest.param(60000.0, (100.0, 50.0, 20.0), id="little-cut-away"),
        pytest.param(0.0, (100.0, 50.0, 20.0), id="volume-not-known"),
    ],
)
def test_stays_silent(volume: float, stock: Vec) -> None:
    """A tenth and more is left, or it is not known."""
    assert build.ask(RULE, build.case(part=solids.block(volume=volume), plan_=build.plan(stock=stock))) == []
