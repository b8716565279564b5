"""Slot deep for its width.

What: a slot whose depth is many times its width, out of reach of the end mills that go in, or narrower than
all of them.
Why: the cutter fills the slot, chips do not get out, and a thin long cutter bends and breaks.
Instead: a wider slot, a shallower one, or one open at an end, so that a side-and-face cutter or a saw can
come in from the side.
"""

from collections.abc import Iterator

from analyzers.features.slot import Slot
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._cavities import cavities
from analyzers.rules._say import cutter_text, subject, verb
from analyzers.rules._shelf import end_mills, fits, reaches, width_stops_mm
from analyzers.rules._units import drawn_down, drawn_up
from analyzers.tolerance import SAME_PLACE_MM


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal slots: too narrow, out of reach, or slender, in this order."""
    along = (each for each in cavities(case) if isinstance(each, Slot))
    measured = tuple(each for each in along if each.depth_mm and (each.width_mm or 0.0) > SAME_PLACE_MM)
    for slots in alike(measured, key=lambda each: (each.callout(),)):
        depth, width = slots[0].depth_mm or 0.0, slots[0].width_mm or 0.0
        finding = _no_cutter(case, limits, slots, depth, width) or _slender(case, limits, slots, depth, width)
        if finding:
            yield finding


def _no_cutter(case: Case, limits: Limits, slots: tuple[Slot, ...], depth: float, width: float) -> Finding | None:
    """Return a finding where no end mill goes in, or none of those that do comes down to the floor."""
    mills = end_mills(case)
    if not mills:
        return None
    enough = next((each for each in mills if reaches(each, depth)), None)
    wider = (
        f"{mm_text(drawn_up(case, enough.diameter_mm))} mm wide, the {cutter_text(enough)} does it" if enough else ""
    )
    change = Way("width_mm", enough.diameter_mm, width_stops_mm(case, depth, enough.diameter_mm)) if enough else None
    inside = [each for each in mills if fits(each, width / 2.0)]
    if limits["thinnest"].broken_by(width / mills[0].diameter_mm):
        return limits.finding(
            limits["thinnest"],
            on=slots,
            measured=width,
            against=mills[0].diameter_mm,
            unit="mm",
            message=f"{subject(slots)} {verb(slots)} narrower than the thinnest cutter on the shelf, "
            f"{cutter_text(mills[0])}.",
            suggestion=f"{wider or f'At least {mm_text(mills[0].diameter_mm)} mm of width'}.",
            change=change or Way("width_mm", mills[0].diameter_mm),
        )
    longest = max(inside, key=lambda each: each.reach_mm, default=None)
    if longest is None or not limits["reach"].broken_by(depth / longest.reach_mm):
        return None
    most = drawn_down(case, longest.reach_mm)
    return limits.finding(
        limits["reach"],
        on=slots,
        measured=depth,
        against=longest.reach_mm,
        unit="mm",
        message=f"{subject(slots)}: of the end mills that go in, the longest, {cutter_text(longest)}, "
        f"reaches {mm_text(longest.reach_mm)} mm.",
        suggestion=f"{f'{wider}; or make it' if wider else 'Make it'} no deeper than {mm_text(most)} mm.",
        change=change or Way("depth_mm", most),
        or_else=(Way("depth_mm", most),) if change else (),
    )


def _slender(case: Case, limits: Limits, slots: tuple[Slot, ...], depth: float, width: float) -> Finding | None:
    """Return a finding where the depth is many widths."""
    limit = limits.strictest_broken(depth / width, "comfortable", "hard")
    if limit is None:
        return None
    wider = drawn_up(case, depth / limit.value)
    return limits.finding(
        limit,
        on=slots,
        measured=depth / width,
        message=f"{subject(slots)} {verb(slots)} {depth / width:.1f} times as deep as wide; the cutter chatters and "
        f"chips jam beyond {limit.value:g}.",
        suggestion=f"{mm_text(wider)} mm wide, or {mm_text(drawn_down(case, width * limit.value))} mm deep.",
        change=Way("width_mm", drawn_up(case, depth / limits.to_aim_at(limit))),
        or_else=(Way("depth_mm", drawn_down(case, width * limits.to_aim_at(limit))),),
    )
