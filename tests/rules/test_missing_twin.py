from dataclasses import replace

import pytest

from analyzers.model.arrays import Vec
from analyzers.model.feature import NOTHING, SHARP_EDGE, Feature, Gap, Pattern
from analyzers.rules._base import Case, judge
from tests.rules import _builders as build

RULE = "missing_twin"
PLACE: Vec = (10.0, -3.5, 20.0)


def circle_of(*features: Feature, odd: Feature | None = None) -> Case:
    """Return a case whose features stand in a circle; its last place is empty, or holds `odd`."""
    ids = tuple(f"F{i}" for i in range(1, len(features) + 1))
    there = None if odd is None else f"F{len(features) + 1}"
    found = NOTHING if odd is None else odd.callout()
    gap = Gap(like="F1", expected=features[0].callout(), instead=there, found=found)
    circle = Pattern(kind="circular", features=ids, missing=(PLACE,), gaps=(gap,))
    return build.case(*features, *(() if odd is None else (odd,)), patterns=(circle,))


def test_fires_on_an_empty_place_with_what_was_expected_and_what_is_there() -> None:
    """Five holes of a circle of six: place, expected, found; about the five."""
    (found,) = build.ask(RULE, circle_of(*[build.hole(5.0) for _ in range(5)]))
    assert build.told(found) == ("warning", 1, 0.0)
    assert found.features == ("F1", "F2", "F3", "F4", "F5")
    assert found.message == (
        "5 holes ⌀5 ↧10 in a circle, and 1 copy missing: at (10, -3.5, 20) expected ⌀5 ↧10, found nothing."
    )
    assert found.suggestion == "Add the 1 missing hole, or say that 5 are meant."
    assert found.change is not None
    assert (found.change.field, found.change.value) == ("missing_places", 0.0)


def test_a_copy_of_another_size_is_told_as_the_odd_one() -> None:
    """One hole of eight is larger: the finding is about it, with the number that makes it equal."""
    (found,) = build.ask(RULE, circle_of(*[build.hole(5.0) for _ in range(7)], odd=build.hole(5.6)))
    assert build.told(found) == ("warning", 1, 0.0)
    assert found.features == ("F8",)
    assert "expected ⌀5 ↧10, found ⌀5.6 ↧10" in found.message
    assert "F1, F2, F3, F4, F5, F6, ..." in found.message
    assert found.change is not None
    assert (found.change.field, found.change.value) == ("diameter_mm", 5.0)


def test_lost_fillets_of_one_copy_share_a_finding() -> None:
    """Four rounded corners whose mirror images are sharp: four places, one finding."""
    ids = ("F1", "F2", "F3", "F4")
    gaps = tuple(Gap(like=each, expected="R3", found=SHARP_EDGE) for each in ids)
    pattern = Pattern(kind="mirror", features=ids, missing=((1.0, 2.0, 3.0),) * 4, gaps=gaps)
    (found,) = build.ask(RULE, build.case(*[build.fillet(3.0)] * 4, patterns=(pattern,)))
    assert found.message.count("expected R3, found a sharp edge") == 4
    assert "4 copies missing" in found.message


def test_a_pair_that_a_turn_exchanges_is_not_called_a_circle() -> None:
    """Half turns give circular patterns of one member and one gap."""
    gap = Gap(like="F1", expected="R3", found=SHARP_EDGE)
    pattern = Pattern(kind="circular", features=("F1",), missing=(PLACE,), gaps=(gap,))
    (found,) = build.ask(RULE, build.case(build.fillet(3.0), patterns=(pattern,)))
    assert "in a pair about an axis" in found.message


@pytest.mark.parametrize("kind", ["mirror", "rectangular", "circular", "general"])
def test_a_place_of_which_nothing_more_is_known_is_told(kind: str) -> None:
    """Patterns without gaps name the place alone."""
    pattern = Pattern(kind=kind, features=("F1", "F2", "F3"), missing=(PLACE,))  # type: ignore[arg-type] # from the list
    (found,) = build.ask(RULE, build.case(*[build.fillet(3.0)] * 3, patterns=(pattern,)))
    words = {"mirror": "mirror pair", "rectangular": "row or grid", "circular": "circle", "general": "pattern"}
    assert f"in a {words[kind]}, and 1 copy missing: at (10, -3.5, 20)." in found.message


@pytest.mark.parametrize("kind", ["mirror", "rectangular", "circular", "general"])
def test_stays_silent_on_whole_patterns(kind: str) -> None:
    """Exactly no place is empty, as the limit of 0 allows."""
    whole = Pattern(kind=kind, features=("F1", "F2"))  # type: ignore[arg-type] # from the list
    assert build.ask(RULE, build.case(build.hole(), build.hole(), patterns=(whole,))) == []


def test_stays_silent_without_patterns() -> None:
    """Holes of two sizes in no order are nobody's copies."""
    assert build.ask(RULE, build.case(build.hole(5.0), build.hole(6.0))) == []


def test_stays_silent_once_the_odd_one_is_like_the_others() -> None:
    """The change that the finding proposes clears it; a derived number may differ all the same."""
    case = circle_of(*[build.hole(5.0, depth_ratio=2.0) for _ in range(7)], odd=build.hole(5.6, depth_ratio=1.8))
    assert len(build.ask(RULE, case)) == 1
    mended = tuple(replace(each, diameter_mm=5.0) if each.id == "F8" else each for each in case.facts.features)  # type: ignore[call-arg] # all are holes
    assert build.ask(RULE, replace(case, facts=replace(case.facts, features=mended))) == []


def test_a_shop_may_allow_one() -> None:
    """At the shop's own limit nothing is said, past it it is."""
    assert build.ask(RULE, circle_of(*[build.hole()] * 5), missing=1) == []
    two = Pattern(kind="rectangular", features=("F1",), missing=(PLACE, PLACE))
    assert len(build.ask(RULE, build.case(build.hole(), patterns=(two,)), missing=1)) == 1


def test_the_odd_one_of_an_order_is_told_once() -> None:
    """A hair's difference of one hole in a circle is a missing twin, not also an odd hole of its family."""
    case = circle_of(*[build.hole(5.0) for _ in range(7)], odd=build.hole(5.05))
    rules = [each.rule for each in judge(case)[0]]
    assert rules.count(RULE) == 1
    assert "odd_hole_in_family" not in rules
