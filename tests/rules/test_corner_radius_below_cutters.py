from dataclasses import replace

import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build

RULE = "corner_radius_below_cutters"


@pytest.mark.parametrize(
    "feature",
    [
        pytest.param(build.pocket(3.0, 0.99), id="pocket"),
        pytest.param(build.slot(4.0, 3.0, corner_radius_mm=0.5, ends="flat"), id="slot"),
        pytest.param(build.step(3.0, 9.0, corner_radius_mm=0.5), id="step"),
    ],
)
def test_fires(feature: Feature) -> None:
    """The thinnest end mill on the shelf is 2 mm: R1."""
    (found,) = build.ask(RULE, build.case(feature))
    assert (found.level, found.limit, found.unit) == ("error", 1.0, "mm")


@pytest.mark.parametrize(
    "feature",
    [
        pytest.param(build.pocket(3.0, 1.0), id="exactly-the-thinnest"),
        pytest.param(build.pocket(3.0, 4.0), id="wider"),
        pytest.param(build.pocket(3.0, 0.0), id="sharp-is-another-rule"),
        pytest.param(build.pocket(3.0, None), id="no-corner"),
    ],
)
def test_stays_silent(feature: Feature) -> None:
    """At the thinnest cutter's radius and above."""
    assert build.ask(RULE, build.case(feature)) == []


def test_suggestion_clears_it_and_names_a_cutter_to_buy() -> None:
    """1 / 0.9 = 1.11, so R1.2; for R0.5 the cutter to buy is 2 x 0.5 x 0.9 = 0.9 mm."""
    tight = build.pocket(3.0, 0.5)
    (found,) = build.ask(RULE, build.case(tight))
    assert "R1.2" in found.suggestion
    assert "⌀0.9" in found.suggestion
    assert build.ask(RULE, build.case(replace(tight, corner_radius_mm=1.2))) == []
