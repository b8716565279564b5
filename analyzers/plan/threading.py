"""Threads in holes: tapped where the model names the thread; where only the size suggests one, a remark."""

from collections import Counter
from typing import Final

from analyzers.data.hole_sizes import uses_in_model
from analyzers.data.thread_names import NamedThread, find_thread
from analyzers.features.hole import Hole
from analyzers.model.report import Facts
from analyzers.plan.bench import Bench, Operation
from analyzers.plan.drawn_units import drawn_in
from analyzers.settings import Cutter, Shop
from analyzers.tolerance import SAME_LENGTH_MM

SUGGESTED: Final = ("tap_drill", "thread_minor")
"""Uses of a hole's size that are a thread's."""


def thread_of(facts: Facts, hole: Hole) -> NamedThread | None:
    """Return the thread that the model names for a hole; None where it names none whose size and pitch are known."""
    named = (find_thread(note.thread) for note in facts.notes_of(hole) if note.thread)
    return next((each for each in named if each and each.major_mm and each.pitch_mm), None)


def tap_for(shop: Shop, thread: NamedThread) -> Cutter | None:
    """Return the shop's tap for a thread, the one that reaches deepest."""
    taps = [each for each in shop.cutters if each.kind == "tap" and _cuts(each, thread)]
    return max(taps, key=lambda each: each.reach_mm, default=None)


def _cuts(tap: Cutter, thread: NamedThread) -> bool:
    """Return whether a tap cuts a thread: same outside diameter, same pitch."""
    if tap.pitch_mm is None or thread.pitch_mm is None or thread.major_mm is None:
        return False
    return max(abs(tap.diameter_mm - thread.major_mm), abs(tap.pitch_mm - thread.pitch_mm)) <= SAME_LENGTH_MM


def thread_depth_mm(hole: Hole) -> float | None:
    """Return how far down the thread of a hole goes: as modelled, else the whole hole; None = not measured."""
    return hole.modelled_thread.length_mm if hole.modelled_thread else hole.depth_mm


def tapping(facts: Facts, hole: Hole, bench: Bench) -> tuple[Operation, ...]:
    """Return the tapping of a hole; a tap that the shop has not is taken to be bought."""
    thread, depth = thread_of(facts, hole), thread_depth_mm(hole)
    if thread is None or thread.major_mm is None or thread.pitch_mm is None or depth is None:
        return ()
    tap = tap_for(bench.shop, thread)
    minutes = bench.rates.tapping_minutes(thread.major_mm, thread.pitch_mm, depth)
    return (Operation("tap", tap.id if tap else f"tap {thread.designation}", minutes, hole.id),)


def threads_not_timed(facts: Facts) -> tuple[str, ...]:
    """Return a remark on holes whose size, and nothing else, says that a thread is cut in them."""
    units = drawn_in(facts, None)
    sizes: Counter[str] = Counter()
    for hole in facts.features:
        if isinstance(hole, Hole):
            use = uses_in_model(hole.diameter_mm, hole.depth_mm, hole.through, units, facts.notes_of(hole))[0]
            if use.use in SUGGESTED:
                sizes[use.fastener] += 1
    if not sizes:
        return ()
    said = ", ".join(f"{number} × {thread}" for thread, number in sizes.items())
    return (f"Holes that look like tap drills ({said}) are drilled only: tapping is not in the minutes.",)
