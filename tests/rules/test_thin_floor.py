import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "thin_floor"


@pytest.mark.parametrize(
    ("feature", "level", "limit"),
    [
        pytest.param(build.pocket(floor_thickness_mm=0.7), "warning", 1.0, id="below-the-material's-wall"),
        pytest.param(build.slot(floor_thickness_mm=0.7), "warning", 1.0, id="slot"),
        pytest.param(build.pocket(floor_thickness_mm=1.2, width_mm=60.0), "note", 1.5, id="wide-floor-drums"),
    ],
)
def test_fires(feature: Feature, level: str, limit: float) -> None:
    """Thin in itself, or thin for its span."""
    (found,) = build.ask(RULE, build.case(feature))
    assert (found.level, found.limit) == (level, limit)
    assert f"{limit:g} mm of floor" in found.suggestion


@pytest.mark.parametrize(
    "feature",
    [
        pytest.param(build.pocket(floor_thickness_mm=1.0), id="exactly-at-the-limit"),
        pytest.param(build.pocket(floor_thickness_mm=1.5, width_mm=60.0), id="exactly-at-the-span"),
        pytest.param(build.pocket(floor_thickness_mm=None), id="through-or-not-measured"),
        pytest.param(build.pocket(floor_thickness_mm=8.0), id="thick"),
    ],
)
def test_stays_silent(feature: Feature) -> None:
    """At the limit, above it, or no floor."""
    assert build.ask(RULE, build.case(feature)) == []


def test_inch_part_is_proposed_inch_sizes() -> None:
    """A floor of 0.055 in that drums below 0.059 is to be 0.060 in; the limit is told as it is, not as proposed."""
    inch = 25.4
    thin = build.pocket(depth=0.5 * inch, corner=0.25 * inch, floor_thickness_mm=0.055 * inch, width_mm=2.36 * inch)
    (found,) = build.ask(
        RULE, build.case(thin, part=solids.pocketed_block(size=(4.0 * inch, 3.0 * inch, 0.75 * inch)), unit="inch")
    )
    assert found.limit == pytest.approx(0.059 * inch)
    assert found.change is not None
    assert found.change.value == pytest.approx(0.060 * inch)
