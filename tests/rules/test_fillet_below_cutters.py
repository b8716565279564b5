from dataclasses import replace

import pytest

from analyzers.model.report import MadeBy
from tests.rules import _builders as build

RULE = "fillet_below_cutters"


def test_fires() -> None:
    """R0.5 where the smallest corner of the shelf is R1, twice."""
    tiny = build.fillet(0.5)
    (found,) = build.ask(RULE, build.case(tiny, tiny))
    assert build.told(found) == ("warning", 0.5, 1.0)
    assert found.features == ("F1", "F2")
    assert build.ask(RULE, build.case(replace(tiny, radius_mm=1.0))) == []


@pytest.mark.parametrize(
    ("radius", "process"),
    [
        pytest.param(1.0, "milled", id="exactly-the-smallest"),
        pytest.param(3.0, "milled", id="larger"),
        pytest.param(None, "milled", id="not-measured"),
        pytest.param(0.4, "turned", id="an-insert's-nose-leaves-it"),
    ],
)
def test_stays_silent(radius: float | None, process: str) -> None:
    """Radii that some cutter leaves."""
    made_by = MadeBy(process=process, why="given")  # type: ignore[arg-type] # one of the words, from the list above
    assert build.ask(RULE, build.case(build.fillet(radius), made_by=made_by)) == []
