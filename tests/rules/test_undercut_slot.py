import pytest

from analyzers.model.plan import CutterUse, Plan
from analyzers.settings import Cutter
from tests.rules import _builders as build

RULE = "undercut_slot"
HEAD = Cutter(
    id="T16", kind="slot", diameter_mm=16.0, flute_length_mm=8.0, reach_mm=28.0, flutes=6, neck_diameter_mm=7.0
)
SHOP = build.shop(cutters=(*build.CUTTERS, HEAD))


def made_with(*cutters: str) -> Plan:
    """Return a plan in which these cutters work on F1."""
    return build.plan(
        tools=tuple(CutterUse(cutter=each, features=("F1",), setup="S1", minutes=1.0) for each in cutters)
    )


def test_fires_where_no_cutter_goes_under_the_lips() -> None:
    """The nearest standard T-slot is named: 10 mm takes a head of 18 x 8 (ISO 299, DIN 851)."""
    slot = build.slot(10.0, 17.0, undercut_width_mm=18.0)
    (found,) = build.ask(RULE, build.case(slot, plan_=made_with("EM10"), shop_=SHOP))
    assert build.told(found) == ("error", 0, 1.0)
    assert "widens to 18 mm" in found.message
    assert "T-slot of 10 mm" in found.suggestion
    assert found.change is not None
    assert (found.change.field, found.change.value) == ("count", 0.0)


def test_fires_mildly_where_one_does() -> None:
    """With exactly the one slot cutter it takes: a pass more, by name."""
    slot = build.slot(8.0, 17.0, undercut_width_mm=16.0)
    (found,) = build.ask(RULE, build.case(slot, plan_=made_with("EM6", "T16"), shop_=SHOP))
    assert build.told(found) == ("note", 1, 0.0)
    assert "T16" in found.message


@pytest.mark.parametrize("undercut", [None, 0.0])
def test_stays_silent(undercut: float | None) -> None:
    """A plain slot."""
    assert build.ask(RULE, build.case(build.slot(10.0, 17.0, undercut_width_mm=undercut))) == []
