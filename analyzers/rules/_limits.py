"""Limits of rules: read from the TOML beside each rule, checked, with the shop's own figures in their place.

How far a rule may go depends on where its limit comes from (`prov`, words of the facts tables):
`seen` (read in the named source), `derived` (arithmetic on such), `geometry` (it cannot be otherwise) and `shop` (the
shop's own file says so) may be errors; `judgement` (ours, dated, with its reason) at most a warning; `memory` (named,
but not read) a note.
"""

import tomllib
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Literal, get_args

import numpy as np

from analyzers.errors import SettingsError
from analyzers.model.arrays import Bools, Floats
from analyzers.model.feature import Feature
from analyzers.model.finding import LEVELS, Change, Finding, Level
from analyzers.rules._prints import fingerprint, marks_of
from analyzers.settings import LimitOverride
from analyzers.tolerance import LIMIT_SLACK

FOLDER = Path(__file__).parent

Prov = Literal["seen", "derived", "geometry", "shop", "judgement", "memory"]
Sense = Literal["at_most", "at_least"]
HIGHEST_LEVEL: Mapping[Prov, Level] = {
    "seen": "error",
    "derived": "error",
    "geometry": "error",
    "shop": "error",
    "judgement": "warning",
    "memory": "note",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One number that decides: a measured value on the wrong side of it is reported at `level`."""

    name: str
    value: float
    unit: str
    level: Level
    source: str
    prov: Prov
    sense: Sense = "at_most"
    off: bool = False  # the shop does not want to hear of it

    def broken_by(self, measured: float) -> bool:
        """Return True where the number is past the limit; exactly at it is allowed, and so is all when it is off."""
        if self.off:
            return False
        past: bool = self._past(measured)
        return past

    def broken_by_each(self, measured: Floats) -> Bools:
        """Return (N,) the same for many numbers at once."""
        if self.off:
            return np.zeros(len(measured), dtype=bool)
        past: Bools = self._past(measured)
        return past

    def _past(self, measured: Any) -> Any:
        """Return whether a number, or each of an array, is past the limit by more than the slack."""
        slack = LIMIT_SLACK * max(abs(self.value), LIMIT_SLACK)
        return measured > self.value + slack if self.sense == "at_most" else measured < self.value - slack

    def excess(self, measured: float) -> float:
        """Return how far past the limit a number is, as a share of the limit; 0 = within."""
        past = measured - self.value if self.sense == "at_most" else self.value - measured
        return max(past, 0.0) / max(abs(self.value), LIMIT_SLACK)


@dataclass(frozen=True, slots=True)
class Way:
    """A way to clear a finding: `field` of its features, or of the place at its faces, moves to `value`."""

    field: str
    value: float | str
    stops: tuple[float, ...] = ()  # the values worth trying, in order; empty = any between, the smallest change wins
    was: float | str | None = None  # None = as the first feature has it
    on: tuple[Feature, ...] | None = None  # None = those of the finding


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The limits of one rule, by name, as its TOML and the shop give them."""

    rule: str
    by_name: Mapping[str, Limit]
    gives_way: bool = False

    def __getitem__(self, name: str) -> Limit:
        """Return the limit of that name; KeyError where the TOML has none."""
        return self.by_name[name]

    def __iter__(self) -> Iterator[Limit]:
        """Yield the limits in the order of the TOML."""
        return iter(self.by_name.values())

    def strictest_broken(self, measured: float, *names: str) -> Limit | None:
        """Return the broken limit of the highest level, of equal ones the farthest out; None where all are kept.

        `names`: only among these; none given = among all.
        """
        asked = [self.by_name[name] for name in names] if names else list(self)
        broken = [limit for limit in asked if limit.broken_by(measured)]
        return min(broken, key=lambda limit: (LEVELS.index(limit.level), limit.excess(measured)), default=None)

    def to_aim_at(self, limit: Limit) -> float:
        """Return the value that leaves no warning either: the strictest of this unit that is a warning or worse."""
        like = [each for each in self if (each.unit, each.sense) == (limit.unit, limit.sense) and not each.off]
        values = [each.value for each in like if LEVELS.index(each.level) < LEVELS.index("note")]
        strictest = min if limit.sense == "at_most" else max
        return limit.value if limit.level == "note" else strictest([limit.value, *values])

    def finding(
        self,
        limit: Limit,
        *,
        message: str,
        suggestion: str,
        on: tuple[Feature, ...] = (),
        faces: tuple[int, ...] | None = None,
        measured: float | None = None,
        against: float | None = None,
        unit: str | None = None,
        basis: str = "",
        change: Way | tuple[str, float] | None = None,
        or_else: Iterable[Way] = (),
        effect: str = "",
        no_change: str = "",
        marks: tuple[float | str, ...] = (),
    ) -> Finding:
        """Return a finding of this rule.

        Parameters
        ----------
        limit : gives level, unit and basis
        on : the features it is about; equal ones share one finding
        faces : the faces to show; None = all faces of `on`
        against : what `measured` was compared with, where it is not the limit's own value (a cutter's radius, say)
        unit : of `measured` and `against`, where it is not the limit's own unit
        basis : added before the limit's source, where the number comes from the shop or the material
        change : field of `on` and the value that clears the finding
        or_else : other ways, in the order in which the customer would rather take them
        no_change : why nothing about the model clears it, where that is so
        marks : numbers and words that stay the same when the part is moved; they name the place in the features' stead
        """
        shown = tuple(sorted({face for each in on for face in each.faces})) if faces is None else faces
        first = Way(*change) if isinstance(change, tuple) else change
        ways = tuple(_change(each, on, shown) for each in ([] if first is None else [first, *or_else]))
        return Finding(
            rule=self.rule,
            level=limit.level,
            message=message,
            suggestion=suggestion,
            effect=effect,
            feature=on[0].id if on else None,
            features=tuple(each.id for each in on),
            faces=shown,
            measured=measured,
            limit=limit.value if against is None else against,
            unit=limit.unit if unit is None else unit,
            basis=f"{basis}; {limit.source}" if basis else limit.source,
            change=ways[0] if ways else None,
            alternatives=ways[1:],
            change_none_because=no_change,
            fingerprint=fingerprint(self.rule, *(marks or marks_of(on, measured))),
        )


def _change(way: Way, on: tuple[Feature, ...], faces: tuple[int, ...]) -> Change:
    moved = on if way.on is None else way.on
    was = getattr(moved[0], way.field, None) if moved and way.was is None else way.was
    ids = tuple(each.id for each in moved)
    return Change(features=ids, field=way.field, value=way.value, faces=faces, stops=way.stops, was=was)


@cache
def rule_names() -> tuple[str, ...]:
    """Return the names of all rules: the files of this folder that do not start with an underscore."""
    return tuple(sorted(path.stem for path in FOLDER.glob("*.py") if not path.stem.startswith("_")))


def load_limits(rule: str, overrides: Iterable[LimitOverride] = (), said_by: str = "shop file") -> Limits:
    """Return the limits of a rule, with the shop's own numbers and levels in place of ours.

    Raises
    ------
    SettingsError : the shop names a limit that the rule does not have
    ValueError : the rule's TOML is wrong
    """
    return _with_overrides(rule, tuple(overrides), said_by)


@lru_cache(maxsize=1024)  # a rule is asked hundreds of times for one part, as `what_if` tries changes
def _with_overrides(rule: str, overrides: tuple[LimitOverride, ...], said_by: str) -> Limits:
    content = _read_toml(rule)
    limits = {name: _limit(rule, name, row) for name, row in content["limits"].items()}
    for each in overrides:
        if each.limit not in limits:
            known = ", ".join(limits)
            raise SettingsError(f"{said_by}: limits.{rule}.{each.limit}: no such limit; the rule {rule} has: {known}")
        own = limits[each.limit]
        limits[each.limit] = replace(
            own,
            value=own.value if each.value is None else each.value,
            level=own.level if each.level is None or each.level == "off" else each.level,
            off=each.level == "off",
            prov="shop",
            source=f"{said_by}: limits.{rule}.{each.limit}",
        )
    return Limits(rule=rule, by_name=limits, gives_way=bool(content.get("gives_way", False)))


def known_limits() -> Mapping[str, Collection[str]]:
    """Return the names of the limits of each rule, for checking a shop file."""
    return {rule: tuple(load_limits(rule).by_name) for rule in rule_names()}


@cache
def _read_toml(rule: str) -> dict[str, Any]:
    path = FOLDER / f"{rule}.toml"
    content = tomllib.loads(path.read_text(encoding="utf-8"))
    unknown = set(content) - {"limits", "gives_way"}
    if unknown or not content.get("limits"):
        raise ValueError(f"{path.name}: expected the tables [limits.NAME] and gives_way, found {sorted(content)}")
    return content


def _limit(rule: str, name: str, row: Mapping[str, Any]) -> Limit:
    where = f"{rule}.toml: limits.{name}"
    expected = {"value", "unit", "level", "source", "prov", "sense"}
    if missing := (expected - {"sense"}) - set(row):
        raise ValueError(f"{where}: {', '.join(sorted(missing))} missing")
    if unknown := set(row) - expected:
        raise ValueError(f"{where}: unknown {', '.join(sorted(unknown))}")
    limit = Limit(name=name, **{**row, "value": float(row["value"])})
    if limit.level not in LEVELS or limit.prov not in get_args(Prov) or limit.sense not in get_args(Sense):
        raise ValueError(f"{where}: level {limit.level!r}, prov {limit.prov!r} or sense {limit.sense!r} is unknown")
    if not limit.source.strip() or not limit.unit.strip():
        raise ValueError(f"{where}: source and unit must not be empty")
    if LEVELS.index(limit.level) < LEVELS.index(HIGHEST_LEVEL[limit.prov]):
        raise ValueError(f"{where}: a limit whose source is {limit.prov} may be {HIGHEST_LEVEL[limit.prov]} at most")
    return limit
