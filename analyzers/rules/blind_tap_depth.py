"""Blind hole too shallow for the thread it seems to be for.

What: a blind hole of a tap drill's size, whose depth less the tap's run-out leaves little full thread.
Why: a tap has a lead and needs room for chips below the last full thread; what is left may not carry the
screw.
Instead: the hole deeper by what is missing, or right through.
"""

from collections.abc import Iterator

from analyzers.data.hole_sizes import Use
from analyzers.data.hole_tables import MetricTapDrill, ThreadRunOut
from analyzers.data.rows import rows
from analyzers.data.thread_names import find_thread
from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._say import round_up, subject, verb
from analyzers.rules._units import drawn_in, named_uses, uses_of


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal blind holes whose first plausible use is a metric tap drill."""
    units = drawn_in(case)
    blind = tuple(hole for hole in case.features(Hole) if not hole.through and hole.depth_mm)
    for holes in alike(blind, key=lambda hole: (hole.kind, hole.callout(), *named_uses(case, hole))):
        depth = holes[0].depth_mm or 0.0
        use = uses_of(case, holes[0], units)[0]
        thread = _thread(use)
        run_out = None if thread is None else _run_out_mm(thread.pitch_mm)
        if thread is None or run_out is None:
            continue
        full = max(depth - run_out, 0.0) / thread.nominal_mm
        if limits["engaged"].broken_by(full):
            wanted = round_up(limits["engaged"].value * thread.nominal_mm + run_out, 0.5)
            yield limits.finding(
                limits["engaged"],
                on=holes,
                measured=full,
                message=f"{subject(holes)} {_thread_said(use, holes, thread)} the tap's "
                f"{mm_text(run_out)} mm run-out leaves {mm_text(round(full * thread.nominal_mm, 2))} mm of full "
                f"thread, {full:.1f} × d.",
                suggestion=f"Drill ↧{mm_text(wanted)} for {limits['engaged'].value:g} × d of full thread, or "
                "right through.",
                change=("depth_mm", wanted),
            )


def _thread_said(use: Use, holes: tuple[Hole, ...], thread: MetricTapDrill) -> str:
    """Return how sure the thread is: the model names it, or the size suggests it."""
    if use.use == "threaded":
        return f"{verb(holes, 'is', 'are')} named {use.fastener} in the model;"
    return f"{verb(holes, 'looks', 'look')} like the tap drill of {thread.thread}; if so,"


def _thread(use: Use) -> MetricTapDrill | None:
    """Return the thread that the model names, or of a tap drill.

    None for other uses, inch threads, and fine ones that only the size suggests (any size is one of those).
    """
    if use.use == "threaded":
        named = find_thread(use.fastener)
        size = None if named is None else (named.major_mm, named.pitch_mm)
        return next((row for row in rows(MetricTapDrill) if (row.nominal_mm, row.pitch_mm) == size), None)
    if use.use not in ("tap_drill", "thread_minor"):
        return None
    return next((row for row in rows(MetricTapDrill) if row.thread == use.fastener and row.series == "coarse"), None)


def _run_out_mm(pitch_mm: float) -> float | None:
    """Return how far the drill goes below the last full thread, DIN 76-2 normal; None where the pitch is not listed."""
    return next((row.normal_mm for row in rows(ThreadRunOut) if row.pitch_mm == pitch_mm), None)
