import pytest

from analyzers.model.finding import Change
from tests.what_if._rebuilt import TRIPS, Trip, body_of, first_body, serious

EVERY = pytest.mark.parametrize("trip", TRIPS, ids=lambda trip: f"{trip.rule}-{trip.build.__name__}")
NEAR_RATIO = 0.15
"""Share of the part's minutes by which the trial on edited facts may miss those of the part built for true."""


def proposed(trip: Trip) -> Change:
    """Return the change that the first finding of the trip's rule carries."""
    found = serious(first_body(trip), trip.rule)
    assert found, [each.rule for each in first_body(trip).findings]
    assert found[0].change is not None, found[0].change_none_because
    assert found[0].change.outcome is not None
    return found[0].change


@EVERY
def test_the_part_built_as_proposed_is_free_of_the_finding(trip: Trip) -> None:
    """Built anew in OpenCascade with the proposed value, written to STEP and analysed: the warning is gone."""
    change = proposed(trip)
    assert change.field == trip.field
    after = body_of(trip.build(change.number), trip.unit)
    assert serious(after, trip.rule) == []


@EVERY
def test_no_error_comes_in_its_stead(trip: Trip) -> None:
    """A proposal that trades one error for another is none."""
    after = body_of(trip.build(proposed(trip).number), trip.unit)
    before = {each.rule for each in first_body(trip).findings if each.level == "error"}
    assert {each.rule for each in after.findings if each.level == "error"} <= before


@EVERY
def test_minutes_and_setups_are_those_of_the_part_built_so(trip: Trip) -> None:
    """What the trial said it saves is what planning the rebuilt part gives, but for faces that only moved."""
    change = proposed(trip)
    assert change.outcome is not None
    before, after = first_body(trip).plan, body_of(trip.build(change.number), trip.unit).plan
    saved = before.minutes.likely - after.minutes.likely
    near = NEAR_RATIO * max(before.minutes.likely, after.minutes.likely)
    assert change.outcome.minutes_saved == pytest.approx(saved, abs=near)
    assert change.outcome.setups_saved == len(before.setups) - len(after.setups)


SMALLEST = [each for each in TRIPS if each.field in ("depth_mm", "wall_mm", "web_mm", "floor_thickness_mm", "width_mm")]


@pytest.mark.parametrize("trip", SMALLEST, ids=lambda trip: f"{trip.rule}-{trip.build.__name__}")
def test_a_step_less_does_not_clear_it(trip: Trip) -> None:
    """The value is the smallest round one: 0.15 mm nearer to the part as drawn, the finding still stands."""
    change = proposed(trip)
    assert isinstance(change.was, float)
    back = 0.15 if change.was < change.number else -0.15
    if abs(change.number - change.was) > abs(back):
        assert serious(body_of(trip.build(change.number - back)), trip.rule)
