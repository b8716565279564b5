"""The shop's own figures for the limits of rules: `[limits.hole_depth_ratio]` with one line per limit."""

from collections.abc import Collection, Iterator, Mapping
from math import isfinite
from typing import Any, Final, get_args

from analyzers.model.finding import Level
from analyzers.settings.mistakes import Mistake, shown, unknown
from analyzers.settings.shop import LimitOverride
from analyzers.settings.toml_lines import Where, line_of

KnownLimits = Mapping[str, Collection[str]]
"""The limits' names of each rule; the settings know no rule, so whoever knows them hands this in."""

LEVELS: Final = (*get_args(Level), "off")


def split_limits(
    raw: object, known: KnownLimits | None, lines: dict[Where, int]
) -> tuple[list[LimitOverride], list[Mistake]]:
    """Return the overrides of the table `limits` and what is wrong with it."""
    overrides: list[LimitOverride] = []
    mistakes: list[Mistake] = []
    for where, value in _entries(raw, known):
        if isinstance(value, LimitOverride):
            overrides.append(value)
        else:
            mistakes.append(Mistake(where, value, line_of(lines, where)))
    return overrides, mistakes


def _entries(raw: object, known: KnownLimits | None) -> Iterator[tuple[Where, LimitOverride | str]]:
    """Yield each limit of the table as an override, or as what is wrong with it."""
    if not isinstance(raw, dict):
        yield ("limits",), f"found {shown(raw)}, expected a table with one table for each rule"
        return
    for rule, limits in raw.items():
        if known is not None and rule not in known:
            yield ("limits", rule), unknown(rule, known, "rule")
        elif not isinstance(limits, dict):
            yield ("limits", rule), f"found {shown(limits)}, expected a table with one key for each limit"
        else:
            for limit, value in limits.items():
                where = ("limits", rule, limit)
                if known is not None and limit not in known[rule]:
                    yield where, unknown(limit, known[rule], "limit", f' of rule "{rule}"')
                else:
                    yield where, _override(rule, limit, value)


def _override(rule: str, limit: str, given: Any) -> LimitOverride | str:
    """Return one override: a number, a level, or a table with both; or what is wrong with it."""
    table = given if isinstance(given, dict) else {"level" if isinstance(given, str) else "value": given}
    value, level = table.get("value"), table.get("level")
    if odd := [key for key in table if key not in ("value", "level")]:
        return unknown(odd[0], ("value", "level"))
    if not table:
        return "found an empty table, expected value, level or both"
    if value is not None and not _finite(value):
        return f"found {shown(value)}, expected a number in the rule's unit"
    if level is not None and level not in LEVELS:
        return f"found {shown(level)}, expected one of {', '.join(LEVELS)}"
    return LimitOverride(rule=rule, limit=limit, value=None if value is None else float(value), level=level)


def _finite(value: Any) -> bool:
    """Return True for a number that a float can hold."""
    try:
        return not isinstance(value, bool) and isinstance(value, int | float) and isfinite(value)
    except OverflowError:
        return False
