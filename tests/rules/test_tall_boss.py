from dataclasses import replace
from typing import Any

import pytest

from analyzers.features.boss import Boss
from tests.rules import _builders as build

RULE = "tall_boss"


@pytest.mark.parametrize(
    ("boss", "level", "measured", "limit"),
    [
        pytest.param(build.boss(27.0, 40.0, 3.0), "note", 9.0, 8.0, id="rib"),
        pytest.param(build.boss(27.0, 3.0, 3.0, diameter_mm=3.0), "note", 9.0, 8.0, id="pin"),
        pytest.param(build.boss(48.0, 60.0, 1.0), "warning", 48.0, 32.0, id="the-paper's-wall-that-failed"),
    ],
)
def test_fires(boss: Boss, level: str, measured: float, limit: float) -> None:
    """Ribs and pins that ring."""
    (found,) = build.ask(RULE, build.case(boss))
    assert build.told(found) == (level, pytest.approx(measured), limit)
    assert found.change is not None
    changes: dict[str, Any] = {found.change.field: found.change.value}
    changed = replace(boss, **changes)
    assert level not in build.levels(build.ask(RULE, build.case(changed)))


@pytest.mark.parametrize(
    "boss",
    [
        pytest.param(build.boss(24.0, 40.0, 3.0), id="exactly-eight"),
        pytest.param(build.boss(6.0, 20.0, 10.0), id="low"),
    ],
)
def test_stays_silent(boss: Boss) -> None:
    """Low for its thickness."""
    assert build.ask(RULE, build.case(boss)) == []


def test_the_wall_that_held_in_the_paper_is_only_a_note() -> None:
    """48 mm at 1.5 mm is 32:1, the limit itself."""
    assert build.levels(build.ask(RULE, build.case(replace(build.boss(48.0, 60.0, 1.5))))) == ["note"]
