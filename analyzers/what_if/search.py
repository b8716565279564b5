"""The smallest value that clears a finding, for each way that its rule knows."""

import logging
import math
from collections.abc import Iterator
from dataclasses import replace

from analyzers.model.finding import Change, Finding
from analyzers.model.source import Problem
from analyzers.plan import Layout
from analyzers.rules import Case, grid_mm
from analyzers.tolerance import LIMIT_SLACK
from analyzers.what_if.bench import Bench, Verdict
from analyzers.what_if.words import change_text, effect_text

_log = logging.getLogger(__name__)

FARTHER = (1.6, 3.0)
"""Multiples of the step that a rule proposes: tried where the step itself only trades one warning for another."""

MOST_STOPS = 4

ALTERNATIVES_UP_TO = 10
"""Trials on one body up to which a second way is tried where the first one clears a finding."""

NO_WAY = "no single dimension of the model clears it"
SPENT = "the number of trials for one body is used up: settle the findings above first"


def try_changes(
    case: Case, layout: Layout, findings: tuple[Finding, ...]
) -> tuple[tuple[Finding, ...], tuple[Problem, ...]]:
    """Return the findings with the changes that clear them, tried on this case, and a problem for each failed trial.

    Errors and warnings get the first of their rule's ways that clears them, at its smallest value, as `change`, the
    others that do as `alternatives`; where none does, `change_none_because`. Notes keep their rule's proposal untried.

    Parameters
    ----------
    case : as the findings were judged
    layout : that of the case's plan
    findings : in the order of the report; trials are spent on the first ones first
    """
    if all(each.level == "note" for each in findings):
        return findings, ()
    bench = Bench(case, layout)
    step = grid_mm(case)
    told: list[Finding] = []
    problems: list[Problem] = []
    for finding in findings:
        try:
            told.append(finding if finding.level == "note" else _tried(bench, finding, step, case))
        except MemoryError:  # the sandbox must be able to say so
            raise
        except Exception as error:  # noqa: BLE001 - a trial that fails costs itself, not the report
            _log.exception("no change could be tried for %s", finding.rule)
            why = f"the trial failed: {type(error).__name__}: {error}"
            told.append(replace(finding, change=None, alternatives=(), change_none_because=why))
            problems.append(Problem("what_if", f"No change could be tried for {finding.rule}: {why}"))
    return tuple(told), tuple(problems)


def _tried(bench: Bench, finding: Finding, step_mm: float, case: Case) -> Finding:
    """Return one finding with what clears it; of an error with no other way, leaving its features out."""
    ways = [each for each in (finding.change, *finding.alternatives) if each is not None]
    clear: list[Change] = []
    failed: list[str] = []
    for way in ways:
        if clear and bench.trials >= ALTERNATIVES_UP_TO:
            break
        found = _smallest(bench, finding, way, step_mm)
        clear += [found] if isinstance(found, Change) else []
        failed += [found] if isinstance(found, str) else []
    if not clear and finding.level == "error" and finding.features and all(each.field != "count" for each in ways):
        count = float(len(finding.features))
        left_out = Change(features=finding.features, field="count", value=0.0, was=count, stops=(0.0,))
        last = _smallest(bench, finding, left_out, step_mm)
        clear += [last] if isinstance(last, Change) else []
    if not clear:
        tried = f"{NO_WAY}: {'; '.join(failed)}" if failed else NO_WAY
        why = finding.change_none_because or (SPENT if bench.spent else tried)
        return replace(finding, change=None, alternatives=(), change_none_because=why)
    clear.sort(key=lambda each: bool(each.outcome and each.outcome.raises))  # stable: the rule's order decides else
    return replace(
        finding,
        change=clear[0],
        alternatives=tuple(clear[1:]),
        change_none_because="",
        effect=effect_text(clear[0], case),
    )


def _smallest(bench: Bench, finding: Finding, way: Change, step_mm: float) -> Change | str:
    """Return a way at the smallest value that clears the finding, with its outcome; or why none does.

    Where every value that clears it brings a warning of its own, the mildest such is better than an error.
    """
    second_best: Change | None = None
    failed: list[str] = []
    last: float | None = _as_number(way.was)
    for change in _candidates(bench, finding, way, step_mm):
        if bench.spent:
            break
        verdict = bench.judge(finding, change)
        if verdict is not None and verdict.clean:
            return _closer(bench, finding, way, step_mm, last, (change, verdict))
        if verdict is not None and second_best is None and verdict.better_than_before(finding.level):
            second_best = replace(change, outcome=bench.outcome(change, verdict))
        failed.append(f"{change_text(change, bench.unit)}: {_why_not(verdict)}")
        last = _as_number(change.value)
    return second_best or (failed[0] if failed else NO_WAY)


def _why_not(verdict: Verdict | None) -> str:
    """Return why a change does not help."""
    if verdict is None:
        return "there is no room for it"
    if verdict.stays:
        return "the finding stays"
    brought = dict.fromkeys(each.rule for each in verdict.raises)
    return f"brings {', '.join(brought)}" if brought else f"leaves a {verdict.leaves}"


def _candidates(bench: Bench, finding: Finding, way: Change, step_mm: float) -> Iterator[Change]:
    """Yield the values to try, the nearest first."""
    was, value = _as_number(way.was), _as_number(way.value)
    if way.stops:
        yield from (replace(way, value=each) for each in way.stops[:MOST_STOPS])
        return
    if was is None or value is None:
        yield way
        return
    far = next(
        (each for each in (1.0, *FARTHER) if bench.silences(finding, replace(way, value=was + each * (value - was)))),
        None,
    )
    if far is None:  # the rule reads the plan, or something else stands in the way: only whole trials tell
        yield from (replace(way, value=_rounded(was, was + each * (value - was), step_mm)) for each in (1.0, *FARTHER))
        return
    least = was + far * (value - was)
    low, high = 0, _steps(was, least, step_mm)  # `low` steps from `was` do not clear it, `high` do
    while high - low > 1:
        middle = (low + high) // 2
        silent = bench.silences(finding, replace(way, value=_at_step(was, least, middle, step_mm)))
        low, high = (low, middle) if silent else (middle, high)
    nearest = _at_step(was, least, high, step_mm)
    yield replace(way, value=nearest)
    yield from (replace(way, value=_rounded(was, was + each * (nearest - was), step_mm)) for each in FARTHER)


def _closer(
    bench: Bench, finding: Finding, way: Change, step_mm: float, last: float | None, found: tuple[Change, Verdict]
) -> Change:
    """Return what clears it between the last value that did not and the one that did, by whole trials."""
    value = _as_number(found[0].value)
    searched = not way.stops and last is not None and value is not None and last != _as_number(way.was)
    low, high = 0, _steps(last, value, step_mm) if searched and last is not None and value is not None else 0
    while last is not None and value is not None and high - low > 1 and not bench.spent:
        middle = (low + high) // 2
        change = replace(way, value=_at_step(last, value, middle, step_mm))
        verdict = bench.judge(finding, change)
        if verdict is not None and verdict.clean:
            high, found = middle, (change, verdict)
        else:
            low = middle
    return replace(found[0], outcome=bench.outcome(*found))


def _as_number(value: float | str | None) -> float | None:
    return float(value) if isinstance(value, float | int) else None


def _steps(was: float, value: float, step_mm: float) -> int:
    """Return how many round values lie from one value to another, the last counted even where it is not round."""
    return max(math.ceil(abs(value - _first(was, value, step_mm)) / step_mm - LIMIT_SLACK), 0) + 1


def _first(was: float, value: float, step_mm: float) -> float:
    """Return the first round value beyond one value on the way to another."""
    if value > was:
        return (math.floor(was / step_mm + LIMIT_SLACK) + 1) * step_mm
    return (math.ceil(was / step_mm - LIMIT_SLACK) - 1) * step_mm


def _at_step(was: float, value: float, number: int, step_mm: float) -> float:
    """Return the round value that many steps (from 1) on the way; never beyond the end."""
    if number >= _steps(was, value, step_mm):
        return _rounded(was, value, step_mm)
    away = (number - 1) * step_mm
    return round(_first(was, value, step_mm) + (away if value > was else -away), 6)


def _rounded(was: float, value: float, step_mm: float) -> float:
    """Return a value rounded away from where it comes from; one that would leave the positive stays as it is."""
    away = math.ceil if value > was else math.floor
    slack = -LIMIT_SLACK if value > was else LIMIT_SLACK
    rounded = round(away(value / step_mm + slack) * step_mm, 6)
    return rounded if rounded > 0.0 else value
