import tomllib
from pathlib import Path

import pytest

from analyzers.data.cutter_tables import DrillPoint
from analyzers.data.hole_tables import Countersink, DeepHoleClass
from analyzers.data.rows import rows
from analyzers.model.finding import LEVELS
from analyzers.rules._base import SECTIONS, RuleText, describe_rules
from analyzers.rules._limits import FOLDER, HIGHEST_LEVEL, load_limits, rule_names
from analyzers.rules.countersink_angle import STANDARD_DEG
from analyzers.rules.flat_bottomed_hole import POINT_DEG, tip_mm

HERE = Path(__file__).parent


def test_there_are_rules() -> None:
    """The loop below judges something."""
    assert len(rule_names()) >= 14


def test_files_pair_up() -> None:
    """Each rule has its TOML, and no TOML lacks its rule."""
    assert {path.stem for path in FOLDER.glob("*.toml")} == set(rule_names())


@pytest.mark.parametrize("rule", rule_names())
def test_has_a_test_that_fires_and_one_that_stays_silent(rule: str) -> None:
    """A rule without such tests is not a rule yet."""
    text = (HERE / f"test_{rule}.py").read_text(encoding="utf-8")
    assert "def test_fires" in text
    assert "def test_stays_silent" in text
    assert f'"{rule}"' in text
    assert "xactly" in text, "no case at the limit itself"


@pytest.mark.parametrize("text", describe_rules(), ids=lambda text: text.name)
def test_explains_itself(text: RuleText) -> None:
    """A title, what, why and instead, each in words of its own and not shorter than a sentence."""
    parts = [text.what, text.why, text.instead]
    assert text.title
    assert not text.title.endswith(".")
    assert all(len(part) > 30 for part in parts), dict(zip(SECTIONS, parts, strict=True))
    assert len(set(parts)) == len(parts)


@pytest.mark.parametrize("rule", rule_names())
def test_every_limit_says_where_it_comes_from(rule: str) -> None:
    """Source, unit, level and kind of source; no limit goes further than its source allows; judgements are dated."""
    for limit in load_limits(rule):
        assert len(limit.source) > 20
        assert LEVELS.index(limit.level) >= LEVELS.index(HIGHEST_LEVEL[limit.prov])
        if limit.prov == "judgement":
            assert limit.source.startswith("judgement: ")
            assert limit.source.endswith(", 2026-11-25")
        if limit.prov == "memory":
            assert limit.level == "note"


@pytest.mark.parametrize("rule", rule_names())
def test_toml_holds_limits_and_nothing_else(rule: str) -> None:
    """What the loader does not read must not stand there."""
    content = tomllib.loads((FOLDER / f"{rule}.toml").read_text(encoding="utf-8"))
    assert set(content) <= {"limits", "gives_way"}


def test_limits_are_those_of_the_tables() -> None:
    """Where a table of the trade has the number, rule and table agree: deep holes, drill points, countersink angles."""
    classes = {row.from_ratio: row for row in rows(DeepHoleClass)}
    holes = load_limits("hole_depth_ratio")
    assert not classes[holes["deep"].value].from_memory
    assert not classes[holes["special"].value].from_memory
    assert POINT_DEG in {row.point_angle_deg for row in rows(DrillPoint)}
    for row in rows(DrillPoint):
        if row.point_angle_deg == POINT_DEG:
            assert tip_mm(1.0) == pytest.approx(row.cone_ratio, abs=1e-4)
    assert {row.angle_deg for row in rows(Countersink)} <= set(STANDARD_DEG)
