import logging
from dataclasses import replace

import numpy as np
import pytest

from analyzers.errors import SettingsError
from analyzers.model.finding import Change
from analyzers.model.plan import Unmade
from analyzers.rules import hole_depth_ratio
from analyzers.rules._base import MOST_PER_RULE, _one_change, alike, check_limits, judge
from analyzers.rules._limits import Limit, known_limits, load_limits
from analyzers.settings import LimitOverride
from tests.rules import _builders as build
from tests.rules import _solids as solids


def limit(value: float = 10.0, **changes: object) -> Limit:
    """Return a limit of ten diameters."""
    one = Limit(name="deep", value=value, unit="depth/diameter", level="warning", source="a book", prov="seen")
    return replace(one, **changes)  # type: ignore[arg-type] # the fields' types differ; each test gives the right one


@pytest.mark.parametrize(
    ("sense", "measured", "broken"),
    [
        ("at_most", 9.0, False),
        ("at_most", 10.0, False),
        ("at_most", 10.0 + 1e-6, False),
        ("at_most", 10.01, True),
        ("at_least", 11.0, False),
        ("at_least", 10.0, False),
        ("at_least", 10.0 - 1e-6, False),
        ("at_least", 9.99, True),
    ],
)
def test_limit_is_broken_only_past_it(sense: str, measured: float, broken: bool) -> None:
    """Exactly at the limit, and within model accuracy of it, is allowed."""
    assert limit(sense=sense).broken_by(measured) is broken
    assert limit(sense=sense).broken_by_each(np.array([measured, measured])).tolist() == [broken, broken]


def test_limit_that_is_off_is_never_broken() -> None:
    """The shop does not want to hear of it."""
    assert not limit(off=True).broken_by(1000.0)
    assert not limit(off=True).broken_by_each(np.array([1000.0])).any()


def test_strictest_broken_is_the_highest_level_then_the_farthest_limit() -> None:
    """25 diameters: gun drilling is not reached, deep-hole drilling outranks the peck cycle."""
    limits = load_limits("hole_depth_ratio")
    names = {
        ratio: found.name if (found := limits.strictest_broken(ratio)) else None for ratio in (4.0, 9.0, 25.0, 40.0)
    }
    assert names == {4.0: None, 9.0: "peck", 25.0: "deep", 40.0: "special"}


def test_shop_sets_value_and_level_and_is_named_as_the_source() -> None:
    """An override replaces our number, keeps the unit and says that the shop said so."""
    own = (LimitOverride(rule="hole_depth_ratio", limit="peck", value=7.0, level="warning"),)
    peck = load_limits("hole_depth_ratio", own, said_by="shop Test Shop")["peck"]
    assert (peck.value, peck.level, peck.prov, peck.unit) == (7.0, "warning", "shop", "depth/diameter")
    assert peck.source == "shop Test Shop: limits.hole_depth_ratio.peck"


@pytest.mark.parametrize(
    ("rule", "name", "said"),
    [("hole_depht_ratio", "deep", "no such rule"), ("hole_depth_ratio", "depth", "no such limit")],
)
def test_unknown_names_in_the_shop_file_are_mistakes_of_the_settings(rule: str, name: str, said: str) -> None:
    """A misspelt rule or limit would else be ignored in silence."""
    shop = build.shop(limits=(LimitOverride(rule=rule, limit=name, value=1.0),))
    with pytest.raises(SettingsError, match=said):
        check_limits(shop)
    with pytest.raises(SettingsError, match=said):
        judge(build.case(shop_=shop))


def test_known_limits_name_every_rule() -> None:
    """The shop file's check gets all names from here."""
    assert set(known_limits()["hole_depth_ratio"]) == {"peck", "deep", "special"}


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"level": "error", "prov": "memory"}, "note at most"),
        ({"level": "error", "prov": "judgement"}, "warning at most"),
        ({"level": "fatal"}, "unknown"),
        ({"source": " "}, "must not be empty"),
        ({"colour": "red"}, "unknown colour"),
    ],
)
def test_wrong_toml_is_named(row: dict[str, object], said: str) -> None:
    """A rule whose limits claim more than their source allows does not load."""
    good = {"value": 1, "unit": "mm", "level": "note", "prov": "memory", "source": "a table from memory"}
    from analyzers.rules._limits import _limit

    assert _limit("some_rule", "some_limit", good).value == 1.0
    with pytest.raises(ValueError, match=said):
        _limit("some_rule", "some_limit", {**good, **row})


def test_equal_holes_share_one_finding() -> None:
    """Eight equal deep holes are one line, not eight."""
    holes = [build.hole(5.0, 60.0, faces=(20 + i,)) for i in range(8)]
    found, problems = judge(build.case(*holes))
    deep = [each for each in found if each.rule == "hole_depth_ratio"]
    assert [each.features for each in deep] == [tuple(f"F{i}" for i in range(1, 9))]
    assert deep[0].message.startswith("8 holes ⌀5")
    assert deep[0].faces == tuple(range(20, 28))
    assert problems == ()


def test_many_different_findings_of_one_rule_are_folded() -> None:
    """Nine deep holes of nine sizes: the two deepest by name, the other seven in one line."""
    holes = [build.hole(3.0, 33.0 + i) for i in range(9)]
    deep = [each for each in judge(build.case(*holes))[0] if each.rule == "hole_depth_ratio"]
    assert len(deep) == MOST_PER_RULE["warning"]
    assert [each.features for each in deep[:2]] == [("F9",), ("F8",)]
    assert deep[2].message.startswith(
        "7 more of the same kind (F7, F6, F5, F4, F3, F2, F1); the worst of them: Hole ⌀3 ↧39"
    )
    change = deep[2].change
    assert change is not None
    assert (change.field, change.value, set(change.features)) == ("diameter_mm", 3.9, set(deep[2].features))  # 39 / 10


def test_folded_findings_of_different_changes_have_none() -> None:
    """Two fields, or one finding without a change: there is no one value for all."""
    other = Change(features=("F2",), field="width_mm", value=4.0, was=2.0)
    one = Change(features=("F1",), field="depth_mm", value=4.0, was=9.0)
    assert _one_change([one, other]) is None
    assert _one_change([one, None]) is None
    deeper = replace(one, features=("F3",), value=3.0, stops=(3.0, 2.0))
    both = _one_change([one, deeper])
    assert both == replace(one, features=("F1", "F3"), value=3.0, stops=(3.0, 2.0))


def test_errors_come_first() -> None:
    """Whoever reads the first line reads the worst."""
    found, _ = judge(build.case(build.hole(5.0, 60.0), build.hole(3.0, 20.0), build.pocket(12.0, 0.0)))
    ranks = [("error", "warning", "note").index(each.level) for each in found]
    assert ranks == sorted(ranks)
    assert {"error", "warning", "note"} <= {each.level for each in found}


def test_unmade_feature_gives_way_to_the_rule_that_knows_why() -> None:
    """A sharp corner is reported once: by the rule that names the corner."""
    sharp = build.pocket(12.0, 0.0)
    unmade = build.plan(unmade=(Unmade(feature="F1", why="no cutter fits"),))
    assert [each.rule for each in judge(build.case(sharp, plan_=unmade))[0] if each.level == "error"] == [
        "sharp_internal_corner"
    ]
    odd = build.hole(5.0, 10.0)
    assert [each.rule for each in judge(build.case(odd, plan_=unmade))[0] if each.level == "error"] == [
        "unmade_feature"
    ]


def test_what_gives_way_is_not_hidden_in_a_fold() -> None:
    """Six sharp pockets, all unmade: six times the corner, not once more the six that the plan could not make."""
    sharp = [build.pocket(12.0, 0.0, length_mm=30.0 + i) for i in range(6)]
    unmade = build.plan(unmade=tuple(Unmade(feature=f"F{i}", why="no cutter fits") for i in range(1, 7)))
    assert {each.rule for each in judge(build.case(*sharp, plan_=unmade))[0] if each.level == "error"} == {
        "sharp_internal_corner"
    }


def test_failing_rule_costs_itself_only(monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture) -> None:
    """The other rules still speak, the report carries a problem, the log the traceback."""

    def fail(case: object, limits: object) -> None:
        raise ZeroDivisionError("a test's own")

    monkeypatch.setattr(hole_depth_ratio, "check", fail)
    with caplog.at_level(logging.ERROR):
        found, problems = judge(build.case(build.hole(5.0, 60.0), build.pocket(12.0, 0.0)))
    assert [each.message for each in problems] == ["The rule hole_depth_ratio failed: ZeroDivisionError: a test's own"]
    assert any(each.rule == "sharp_internal_corner" for each in found)
    assert "Traceback" in caplog.text


def test_moving_the_part_changes_no_finding() -> None:
    """Turned about no axis of the frame and shifted: same rules, numbers, words about sizes and fingerprints."""
    features = (
        build.hole(5.0, 60.0, entry="inclined", entry_angle_deg=20.0),
        build.pocket(12.0, 0.0, floor_thickness_mm=0.4),
        build.hole(3.0, 20.0),
    )
    still = build.case(*features, walls=(build.wall(0.5),))
    gone = build.case(
        *(build.moved_feature(each) for each in features),
        part=solids.moved(solids.pocketed_block()),
        walls=(build.wall(0.5),),
    )
    told = [
        [(each.rule, each.message, each.measured, each.fingerprint) for each in judge(one)[0]] for one in (still, gone)
    ]
    assert told[0] == told[1]
    assert len(told[0]) >= 5


def test_fingerprints_do_not_hang_on_ids_order_or_faces() -> None:
    """The same deep hole as F1 on face 20 and as F2 on face 31 is the same finding for a baseline."""
    deep = build.hole(5.0, 60.0)
    other = build.pocket()
    first = [each.fingerprint for each in judge(build.case(deep, other))[0] if each.rule == "hole_depth_ratio"]
    later = build.case(other, replace(deep, faces=(31,), position_mm=(9.0, 9.0, 9.0)))
    assert first == [each.fingerprint for each in judge(later)[0] if each.rule == "hole_depth_ratio"]


def test_no_two_findings_share_a_fingerprint() -> None:
    """Two findings about things that cannot be told apart are numbered."""
    walls = (build.wall(0.5, (0, 2)), build.wall(0.7, (1, 3)), build.wall(0.7004, (1, 3)))
    prints = [each.fingerprint for each in judge(build.case(build.hole(5.0, 60.0), walls=walls))[0]]
    assert len(prints) == len(set(prints))


def test_alike_counts_floats_to_a_micrometre() -> None:
    """5.0001 and 5.0004 are one size; 5.002 is another."""
    assert alike((5.0001, 5.0004, 5.002), key=lambda each: (each,)) == [(5.0001, 5.0004), (5.002,)]


def test_rules_are_pure() -> None:
    """Judged twice, the same case gives the same answer: what the what-if engine builds on."""
    one = build.case(build.hole(5.0, 60.0), build.pocket(12.0, 0.0))
    assert judge(one) == judge(one)
