"""What all rules share: the case they judge, their limits, and the loop that asks them all.

A rule is one file `<rule>.py` with its docstring, `<rule>.toml` with its limits, and one test file. It is found by
folder. Rules are pure: the same case gives the same findings, so a changed case can be judged again to see what a
change would do.

A shop owner reads a handful of lines, not a wall of them. Three things keep it so:

1. A rule says one thing once: equal places (eight equal holes) share one finding that names their number. `alike`
   groups them.
2. A rule that still has more than `MOST_PER_RULE` findings of one level keeps the worst; the rest become one line
   ("12 more ...").
3. A rule whose TOML says `gives_way = true` keeps quiet about features for which another rule has already reported an
   error.

How far a rule may go depends on where its limit comes from: see `_limits`.
"""

import logging
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cache, cached_property, wraps
from importlib import import_module
from types import ModuleType
from typing import Any, TypeVar, cast

from analyzers.data.hole_catalogue import standard_holes
from analyzers.errors import SettingsError
from analyzers.model.feature import Feature
from analyzers.model.finding import LEVELS, Change, Finding, Level
from analyzers.model.plan import Plan
from analyzers.model.report import Facts
from analyzers.model.source import Problem, Source
from analyzers.rules._limits import Limit, Limits, Way, known_limits, load_limits, rule_names
from analyzers.rules._prints import fingerprint
from analyzers.settings import Settings, Shop
from analyzers.tolerance import LIMIT_SLACK

__all__ = [
    "Case",
    "Limit",
    "Limits",
    "RuleText",
    "Way",
    "alike",
    "check_limits",
    "describe_rules",
    "fingerprint",
    "judge",
    "judge_all",
    "judge_one",
    "known_limits",
    "load_limits",
    "once",
    "rule_names",
    "warning_rules",
]

MOST_PER_RULE: Mapping[Level, int] = {"error": 4, "warning": 3, "note": 2}
SECTIONS = ("What", "Why", "Instead")

_log = logging.getLogger(__name__)
_F = TypeVar("_F", bound=Feature)
_T = TypeVar("_T")


@dataclass(frozen=True, kw_only=True)
class Case:
    """What a rule may know about one body: what is so, how it would be made, for which shop, from which file."""

    facts: Facts
    plan: Plan
    settings: Settings
    source: Source
    n_bodies: int = 1  # distinct solids in the file
    number: int = 1  # of this one among them
    answers: dict[object, Any] = field(default_factory=dict, init=False, compare=False, repr=False)
    """Of questions about this case that many rules ask; see `once`."""

    def features(self, *kinds: type[_F]) -> tuple[_F, ...]:
        """Return the features of these classes, in the order of the report."""
        if kinds not in self.answers:
            self.answers[kinds] = tuple(each for each in self.facts.features if isinstance(each, kinds))
        found: tuple[_F, ...] = self.answers[kinds]
        return found

    @cached_property
    def owner_of_face(self) -> Mapping[int, Feature]:
        """The feature each face belongs to; faces of the outline have none."""
        return {face: each for each in self.facts.features for face in each.faces}


Check = Callable[[Case, Limits], Iterator[Finding]]


def once(question: Callable[[Case], _T]) -> Callable[[Case], _T]:
    """Return the same question, worked out once for each case: what half of the rules ask costs as much as they do."""

    @wraps(question)
    def asked(case: Case) -> _T:
        if question not in case.answers:
            case.answers[question] = question(case)
        answer: _T = case.answers[question]
        return answer

    return asked


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleText:
    """One rule explained, from its own docstring and TOML."""

    name: str
    title: str
    what: str
    why: str
    instead: str
    limits: tuple[Limit, ...]


def alike(things: Iterable[_T], key: Callable[[_T], tuple[object, ...]]) -> list[tuple[_T, ...]]:
    """Return the things in groups of equal key, groups in order of their first member; floats count to 0.001."""
    groups: dict[tuple[object, ...], list[_T]] = {}
    for each in things:
        rounded = tuple(round(k, 3) + 0.0 if isinstance(k, float) else k for k in key(each))
        groups.setdefault(rounded, []).append(each)
    return [tuple(group) for group in groups.values()]


def check_limits(shop: Shop) -> None:
    """Raise SettingsError where the shop's limits name a rule or a limit that does not exist."""
    names = rule_names()
    for each in shop.limits:
        if each.rule not in names:
            raise SettingsError(f"shop {shop.name}: limits.{each.rule}: no such rule; `partsieve rules` lists them")
        load_limits(each.rule, (each,), said_by=f"shop {shop.name}")


@cache
def describe_rules() -> tuple[RuleText, ...]:
    """Return every rule explained, in order of name."""
    return tuple(_describe(rule) for rule in rule_names())


def preload() -> None:
    """Load all rules with their limits and tables, so that a process forked after this does not."""
    describe_rules()
    standard_holes()


def judge(case: Case) -> tuple[tuple[Finding, ...], tuple[Problem, ...]]:
    """Return what all rules have to say, folded, errors first, and a problem for each rule that failed.

    Raises
    ------
    SettingsError : the shop's limits name a rule or a limit that does not exist
    """
    check_limits(case.settings.shop)
    found, problems = judge_all(case)
    return _tell_apart(_in_order(_fold(found))), problems


def judge_all(case: Case, asked: Collection[str] | None = None) -> tuple[list[Finding], tuple[Problem, ...]]:
    """Return every finding of every rule, in order of the rules' names, and a problem for each rule that failed.

    `asked`: only these rules, with all that may report an error among them; None = all.
    """
    found: list[Finding] = []
    problems: list[Problem] = []
    for rule in rule_names() if asked is None else sorted(asked):
        try:
            found += judge_one(rule, case)
        except MemoryError:  # the sandbox must be able to say so
            raise
        except Exception as error:  # noqa: BLE001 - a rule that fails costs itself, not the report
            _log.exception("rule %s failed", rule)
            problems.append(Problem(stage="judge", message=f"The rule {rule} failed: {type(error).__name__}: {error}"))
    return _give_way(found, _giving_way()), tuple(problems)


@cache
def _giving_way() -> frozenset[str]:
    return frozenset(rule for rule in rule_names() if load_limits(rule).gives_way)


def judge_one(rule: str, case: Case) -> list[Finding]:
    """Return what one rule has to say.

    Raises
    ------
    SettingsError : the shop's limits name a limit that the rule does not have
    """
    said = (judge_one, rule)  # `what_if` asks again about the part as modelled
    if said not in case.answers:
        check = cast(Check, _module(rule).check)
        case.answers[said] = tuple(check(case, _limits_in(rule, case.settings.shop)))
    return list(case.answers[said])


def warning_rules(shop: Shop) -> frozenset[str]:
    """Return the rules with a limit that is more than a note in this shop: the others, half of them, only remark."""
    return frozenset(
        rule
        for rule in rule_names()
        if any(not each.off and LEVELS.index(each.level) < LEVELS.index("note") for each in _limits_in(rule, shop))
    )


def _limits_in(rule: str, shop: Shop) -> Limits:
    overrides = [each for each in shop.limits if each.rule == rule]
    return load_limits(rule, overrides, said_by=f"shop {shop.name}")


@cache
def _module(rule: str) -> ModuleType:
    return import_module(f"analyzers.rules.{rule}")


def _describe(rule: str) -> RuleText:
    doc = (_module(rule).__doc__ or "").strip()
    title, _, rest = doc.partition("\n")
    parts: dict[str, str] = {}
    section = ""
    for line in (each.strip() for each in rest.splitlines()):
        word, colon, text = line.partition(":")
        if colon and word in SECTIONS:
            section = word
            parts[section] = text.strip()
        elif section and line:
            parts[section] += f" {line}"
    return RuleText(
        name=rule,
        title=title.rstrip("."),
        what=parts.get("What", ""),
        why=parts.get("Why", ""),
        instead=parts.get("Instead", ""),
        limits=tuple(load_limits(rule)),
    )


def _severity(finding: Finding) -> float:
    """Return how far a finding is past its limit, in either direction; 0 where nothing was measured."""
    if finding.measured is None or finding.limit is None:
        return 0.0
    low, high = sorted([abs(finding.measured), abs(finding.limit)])
    return high / max(low, LIMIT_SLACK)


def _fold(found: list[Finding]) -> list[Finding]:
    """Return the findings with at most `MOST_PER_RULE` of each rule and level: the mildest of them become one."""
    kept: list[Finding] = []
    for same in alike(found, key=lambda each: (each.rule, each.level)):
        most = MOST_PER_RULE[same[0].level]
        ranked = sorted(same, key=_severity, reverse=True)
        kept += ranked if len(ranked) <= most else [*ranked[: most - 1], _folded(ranked[most - 1 :])]
    return kept


def _folded(rest: list[Finding]) -> Finding:
    """Return one finding for several milder ones of the same rule and level."""
    first = rest[0]
    ids = tuple(dict.fromkeys(each for finding in rest for each in finding.features))
    named = f" ({', '.join(ids[:8])}{', ...' if len(ids) > 8 else ''})" if ids else ""
    return replace(
        first,
        message=f"{len(rest)} more of the same kind{named}; the worst of them: {first.message}",
        features=ids,
        faces=tuple(sorted({face for finding in rest for face in finding.faces})),
        change=_one_change([each.change for each in rest]),
        alternatives=(),
        fingerprint=fingerprint(first.rule, "folded", *sorted(finding.fingerprint for finding in rest)),
    )


def _one_change(changes: list[Change | None]) -> Change | None:
    """Return the one change that does for all: of one field, the value that goes farthest; None = there is none."""
    known = [each for each in changes if each is not None]
    if len(known) < len(changes) or len({each.field for each in known}) > 1:
        return None
    first = known[0]
    values = [each.value for each in known if isinstance(each.value, float)]
    if len(values) < len(known) or not isinstance(first.was, float):
        return None
    farthest = max if values[0] > first.was else min
    value = farthest(values)
    stops = {stop for each in known for stop in each.stops if farthest(stop, value) == stop}
    return replace(
        first,
        features=tuple(dict.fromkeys(feature for each in known for feature in each.features)),
        faces=tuple(sorted({face for each in known for face in each.faces})),
        value=value,
        stops=tuple(sorted(stops, reverse=farthest is min)),
    )


def _give_way(found: list[Finding], giving_way: Collection[str]) -> list[Finding]:
    """Return the findings without those of yielding rules whose features another rule reports as an error."""
    settled = {
        feature for each in found if each.level == "error" and each.rule not in giving_way for feature in each.features
    }
    return [
        each
        for each in found
        if each.rule not in giving_way or not each.features or not settled.issuperset(each.features)
    ]


def _in_order(found: list[Finding]) -> list[Finding]:
    return sorted(found, key=lambda each: (LEVELS.index(each.level), -_severity(each), each.rule, each.fingerprint))


def _tell_apart(found: list[Finding]) -> tuple[Finding, ...]:
    """Return the findings with equal fingerprints numbered: what they stand for is equal, their count is not."""
    seen: dict[str, int] = {}
    told: list[Finding] = []
    for each in found:
        seen[each.fingerprint] = count = seen.get(each.fingerprint, 0) + 1
        told.append(each if count == 1 else replace(each, fingerprint=f"{each.fingerprint}-{count}"))
    return tuple(told)
