"""The example parts: times an estimator would not laugh at. Setups are compared with the truth in tests/golden."""

from pathlib import Path

import pytest

from analyzers import analyse
from analyzers.model.report import Body
from tests.plan._builders import example


def body_of(parts: Path, name: str) -> Body:
    """Return the one body of an example part."""
    (body,) = analyse(parts / f"{name}.step", example()).bodies
    return body


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        pytest.param("lid_plate", 3.0, 20.0, id="plate-with-four-holes"),
        pytest.param("press_bed", 8.0, 40.0, id="pocket-slot-and-holes"),
        pytest.param("turned_bush", 3.0, 25.0, id="bush"),
        pytest.param("rib_block", 40.0, 300.0, id="five-slots-ten-diameters-deep"),
    ],
)
def test_minutes_are_of_the_right_order(parts: Path, name: str, low: float, high: float) -> None:
    """Judgement of one estimator, with a wide margin: minutes of one part in aluminium, without setting up."""
    assert low <= body_of(parts, name).plan.minutes.likely <= high


def test_the_hard_part_ranks_above_the_easy_one(parts: Path) -> None:
    """Deep ribs before a pocketed bed before a plate."""
    ranks = [body_of(parts, name).triage.difficulty for name in ("rib_block", "press_bed", "lid_plate")]
    assert ranks == sorted(ranks, reverse=True)
    assert len(set(ranks)) == 3


def test_a_spline_copy_is_planned_like_its_original(parts: Path) -> None:
    """The same part written as free surfaces has the same setups and the same minutes."""
    first, second = body_of(parts, "press_bed"), body_of(parts, "press_bed_splines")
    assert [each.features for each in first.plan.setups] == [each.features for each in second.plan.setups]
    assert second.plan.minutes.likely == pytest.approx(first.plan.minutes.likely, rel=0.02)
