from dataclasses import replace

import pytest

from analyzers.model.measure import ThinPlace
from tests.rules import _builders as build

RULE = "slender_wall"


def wall(thickness: float, height: float | None, faces: tuple[int, int] = (0, 2)) -> ThinPlace:
    """Return a wall of that height."""
    return replace(build.wall(thickness, faces), height_mm=height)


@pytest.mark.parametrize(("height", "level", "limit"), [(12.5, "note", 8.0), (49.0, "warning", 32.0)])
def test_fires(height: float, level: str, limit: float) -> None:
    """1.5 mm thick; at 48 mm of height it was shown to hold its shape, at 1.0 mm not."""
    (found,) = build.ask(RULE, build.case(build.pocket(), walls=(wall(1.5, height, (0, 6)),)))
    assert build.told(found) == (level, pytest.approx(height / 1.5), limit)
    assert (found.features, found.faces) == (("F1",), (0, 6))
    assert found.change is not None
    assert (found.change.field, found.change.was) == ("wall_mm", 1.5)
    assert found.change.number == pytest.approx(height / limit)


@pytest.mark.parametrize(
    "place",
    [
        pytest.param(wall(1.5, 12.0), id="exactly-eight"),
        pytest.param(wall(1.5, None), id="height-not-measured"),
        pytest.param(wall(5.0, 20.0), id="stout"),
        pytest.param(replace(wall(0.5, 40.0), kind="floor"), id="a-floor"),
    ],
)
def test_stays_silent(place: ThinPlace) -> None:
    """At the limit, unmeasured, or no wall at all."""
    assert build.ask(RULE, build.case(walls=(place,))) == []


def test_exactly_as_slender_as_was_shown_to_hold() -> None:
    """48 mm at 1.5 mm is the milder limit's business."""
    assert build.levels(build.ask(RULE, build.case(walls=(wall(1.5, 48.0),)))) == ["note"]
