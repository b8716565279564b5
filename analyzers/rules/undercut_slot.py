"""Slot that is wider below than at its opening.

What: a T-slot or a dovetail slot: its lips hide part of its walls from every cutter that comes straight in.
Why: it takes a cutter of its own, after a plain slot has been milled; head, neck and reach must all fit, and chips
have no way out. No such cutter on the shelf, and the slot stays unmade.
Instead: a plain slot with a strip screwed over it, the size of a standard T-slot, or an opening at the end where
the head comes in.
"""

from collections.abc import Iterator

from analyzers.data.cutter_tables import TSlot
from analyzers.data.rows import rows
from analyzers.features.slot import Slot
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._say import subject, verb

HEADS = ("slot",)


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal slots: that no cutter makes it, or which does in a pass of its own."""
    heads = {each.id for each in case.settings.shop.cutters if each.kind in HEADS}
    used = {(feature, use.cutter) for use in case.plan.tools if use.cutter in heads for feature in use.features}
    wide = tuple(each for each in case.features(Slot) if each.undercut_width_mm)
    for slots in alike(wide, key=lambda each: (each.callout(), each.undercut_width_mm)):
        mine = sorted({cutter for feature, cutter in used if feature == slots[0].id})
        nearest = _nearest(slots[0].width_mm or 0.0)
        below = f"{subject(slots)} {verb(slots, 'widens', 'widen')} to {mm_text(slots[0].undercut_width_mm)} mm below"
        if limits["cutters"].broken_by(len(mine)):
            yield limits.finding(
                limits["cutters"],
                on=slots,
                measured=len(mine),
                message=f"{below}; no slot cutter on the shelf goes in under its lips.",
                suggestion=f"Without {verb(slots, 'it', 'them')}, or as a T-slot of {mm_text(nearest.slot_width_mm)} "
                f"mm for a cutter ⌀{mm_text(nearest.cutter_diameter_mm)} × {mm_text(nearest.cutter_width_mm)}, "
                "which is bought for it.",
                change=Way("count", 0.0, (0.0,), was=float(len(slots))),
            )
        elif limits["undercuts"].broken_by(len(slots)):
            yield limits.finding(
                limits["undercuts"],
                on=slots,
                measured=len(slots),
                message=f"{below}: after the plain slot the {' and the '.join(mine)} goes in under its lips.",
                suggestion=f"{len(slots)} plain {'slot' if len(slots) == 1 else 'slots'} with a strip screwed over, "
                "where nothing but a nut has to slide.",
            )


def _nearest(width_mm: float) -> TSlot:
    """Return the standard T-slot with the nearest opening."""
    return min(rows(TSlot), key=lambda row: abs(row.slot_width_mm - width_mm))
