"""Trials: a change is put in, the part planned and judged again, and compared with what was said before."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from analyzers.model.finding import LEVELS, Change, Finding, Level, Outcome
from analyzers.model.plan import Plan
from analyzers.plan import Layout, layout_for, make_plan, relaid
from analyzers.rules import Case, drawn_in, judge_all, judge_one, warning_rules
from analyzers.units import UnitSystem
from analyzers.what_if.edit import edited

MOST_TRIALS = 40
"""Whole parts planned and judged again for one body, at most: by count, so that answers do not hang on speed."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What is said about the changed part where the finding stood."""

    stays: bool  # the rule still says so, at the same level or a worse one
    leaves: Level | None  # the worst milder thing that the same rule says there
    raises: tuple[Finding, ...]  # warnings and errors of other rules, or at other places, that the change brings
    plan: Plan

    @property
    def clean(self) -> bool:
        """Whether no warning is left there and none came in its stead."""
        return not self.stays and self.leaves in (None, "note") and not self.raises

    def better_than_before(self, level: Level) -> bool:
        """Return whether the finding is gone and all that is left or came with the change is milder than it was."""
        return not self.stays and all(_rank(each.level) > _rank(level) for each in self.raises)


@dataclass(slots=True)
class Bench:
    """One body as modelled, with how often it has been planned anew."""

    case: Case
    layout: Layout
    before: Sequence[Finding] = field(init=False)
    unit: UnitSystem = field(init=False)  # in which the part was drawn
    heard: frozenset[str] = field(init=False)  # rules that may warn: what a change brings is asked of these alone
    trials: int = 0

    def __post_init__(self) -> None:
        self.heard = warning_rules(self.case.settings.shop)
        self.before = judge_all(self.case, self.heard)[0]
        self.unit = drawn_in(self.case)

    @property
    def spent(self) -> bool:
        """Whether no further trial is allowed."""
        return self.trials >= MOST_TRIALS

    def silences(self, finding: Finding, change: Change) -> bool:
        """Return whether the finding's own rule has nothing left to warn of, the plan as it was; counts no trial."""
        after = edited(self.case, change)
        if after is None:
            return False
        case = replace(self.case, facts=after.facts, settings=after.settings)
        left = [each for each in judge_one(finding.rule, case) if _touches(each, finding)]
        return all(each.level == "note" for each in left)

    def judge(self, finding: Finding, change: Change) -> Verdict | None:
        """Return the verdict on the part with a change in it; None where the change makes no sense there."""
        after = edited(self.case, change)
        if after is None:
            return None
        self.trials += 1
        facts, settings = after.facts, after.settings
        layout = layout_for(facts, settings) if after.moved else relaid(facts, settings, self.layout)
        plan = make_plan(facts, settings, layout, whole=False)
        plan = plan if after.planned is None else after.planned(plan)
        found, _ = judge_all(replace(self.case, facts=facts, settings=settings, plan=plan), self.heard | {finding.rule})
        there = [each for each in found if each.rule == finding.rule and _touches(each, finding)]
        milder = [each.level for each in there if _rank(each.level) > _rank(finding.level)]
        return Verdict(
            stays=len(milder) < len(there),
            leaves=min(milder, key=LEVELS.index, default=None),
            raises=tuple(each for each in found if each.level != "note" and self._is_new(each, finding)),
            plan=plan,
        )

    def _is_new(self, found: Finding, cleared: Finding) -> bool:
        """Return whether a finding was not said before, at least as badly, about any of its features."""
        if found.rule == cleared.rule and _touches(found, cleared):
            return False
        return not any(
            each.rule == found.rule and _rank(each.level) <= _rank(found.level) and _touches(each, found)
            for each in self.before
        )

    def outcome(self, change: Change, verdict: Verdict) -> Outcome:
        """Return what the change does, against the part as modelled."""
        before, after = self.case.plan, verdict.plan
        had, has = ({each.cutter: None for each in plan.tools} for plan in (before, after))
        still = {each.feature for each in after.unmade}
        gone = set(change.features) if change.field == "count" else set()
        return Outcome(
            leaves=verdict.leaves,
            minutes_saved=before.minutes.likely - after.minutes.likely,
            setup_minutes_saved=before.setup_minutes - after.setup_minutes,
            setups_saved=len(before.setups) - len(after.setups),
            cutters_spared=tuple(each for each in had if each not in has),
            cutters_added=tuple(each for each in has if each not in had),
            made=tuple(each.feature for each in before.unmade if each.feature not in still | gone),
            raises=tuple(dict.fromkeys(each.rule for each in verdict.raises)),
        )


def _rank(level: Level) -> int:
    return LEVELS.index(level)


def _touches(found: Finding, other: Finding) -> bool:
    """Return whether two findings speak of a common place: features, else faces; of the whole body always."""
    for mine, theirs in ((found.features, other.features), (found.faces, other.faces)):
        if mine and theirs:
            return _meet(mine, theirs)
    return True


def _meet(some: Iterable[object], others: Iterable[object]) -> bool:
    return not set(some).isdisjoint(others)
