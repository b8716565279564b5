from dataclasses import replace
from pathlib import Path

import pytest

from analyzers.model.feature import Feature
from analyzers.settings import load_settings
from tests.rules import _builders as build
from tests.rules import _solids as solids

ROOT = Path(__file__).parents[2]
RULE = "corner_radius_at_cutter"


@pytest.mark.parametrize("radius", [5.0, 5.2])
def test_fires(radius: float) -> None:
    """The 10 mm end mill stops dead in R5 and hardly rolls in R5.2; at the shop's clearance it wants 5 / 0.9 = 5.56."""
    tight = build.pocket(20.0, radius)
    (found,) = build.ask(RULE, build.case(tight))
    assert build.told(found) == ("note", pytest.approx(radius / 5.0), 1.05)
    assert "⌀10 end mill" in found.message
    assert "R5.6" in found.suggestion
    assert build.ask(RULE, build.case(replace(tight, corner_radius_mm=5.6))) == []


@pytest.mark.parametrize(
    "feature",
    [
        pytest.param(build.pocket(20.0, 5.25), id="exactly-at-the-limit"),
        pytest.param(build.pocket(20.0, 7.0), id="rolls"),
        pytest.param(build.pocket(20.0, 4.9), id="the-6-mm-cutter-rolls"),
        pytest.param(build.pocket(None, 5.0), id="depth-not-measured"),
        pytest.param(build.pocket(20.0, None), id="no-corner"),
        pytest.param(build.slot(10.0, 20.0, corner_radius_mm=5.0, ends="round"), id="a-slot-is-cut-full-anyway"),
    ],
)
def test_stays_silent(feature: Feature) -> None:
    """Where some cutter of the shelf rolls."""
    assert build.ask(RULE, build.case(feature)) == []


def test_cutter_must_come_down() -> None:
    """At 50 mm only the 16 mm cutter reaches, and it does not fit R5: nothing to say here."""
    assert build.ask(RULE, build.case(build.pocket(50.0, 5.0))) == []


def test_handbook_example_in_inches() -> None:
    """A 3/8 in end mill (radius 0.1875 in) in a 0.1875 in corner is noted, in a 0.200 in corner it is not."""
    shop = build.shop(cutters=(build.end_mill(0.375 * 25.4, 40.0),))
    assert build.ask(RULE, build.case(build.pocket(10.0, 0.1875 * 25.4), shop_=shop))
    assert build.ask(RULE, build.case(build.pocket(10.0, 0.200 * 25.4), shop_=shop)) == []


def test_all_radii_share_one_line() -> None:
    """R3 twice and R8 once: each radius with its cutter and the radius it rolls in."""
    one = build.case(build.pocket(10.0, 3.0), build.pocket(12.0, 3.0), build.pocket(20.0, 8.0))
    (found,) = build.ask(RULE, one)
    assert found.features == ("F1", "F2", "F3")
    assert "R3 (⌀6 end mill), R8 (⌀16 end mill)" in found.message
    assert "R3.4, R8.9" in found.suggestion
    assert found.change is None


def test_three_eighths_in_a_corner_of_0_200() -> None:
    """A 3/8 in cutter chatters in a corner of 0.1875 in and rolls in one of 0.200 in.

    Source: common practice, as the rule's limit quotes it. The radius proposed is one that an inch drawing would say.
    """
    inch = 25.4
    shop = load_settings(ROOT / "fixtures" / "shops" / "hobby_inch.toml", None, None, 1).shop
    tight = build.pocket(0.5 * inch, 0.1875 * inch, length_mm=3.0 * inch, width_mm=2.0 * inch)
    (found,) = build.ask(
        RULE,
        build.case(
            tight, shop_=shop, part=solids.pocketed_block(size=(4.0 * inch, 3.0 * inch, 0.75 * inch)), unit="inch"
        ),
    )
    assert "R4.762 (⌀9.525 end mill)" in found.message
    assert found.change is not None
    thousandths = float(found.change.value) / inch * 1000.0
    assert thousandths / 5.0 == pytest.approx(round(thousandths / 5.0))
    rolls = replace(tight, corner_radius_mm=0.2 * inch)
    assert (
        build.ask(
            RULE,
            build.case(
                rolls, shop_=shop, part=solids.pocketed_block(size=(4.0 * inch, 3.0 * inch, 0.75 * inch)), unit="inch"
            ),
        )
        == []
    )
