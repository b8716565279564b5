"""Engraving modelled in the solid.

What: many narrow shallow recesses, as letters and numbers make.
Why: each stroke is cut with a thin cutter or a graver, and its corners are sharper than any; it costs more
than holes and pockets.
Instead: the text as a note with height and font, for a laser, stamps or a single-line graver; or stroke width
and depth to suit.
"""

from collections.abc import Iterator

from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits
from analyzers.rules._cavities import cavities


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all shallow narrow recesses together."""
    strokes = tuple(
        each
        for each in cavities(case)
        if each.depth_mm is not None
        and each.width_mm is not None
        and not limits["shallow"].broken_by(each.depth_mm)
        and not limits["narrow"].broken_by(each.width_mm)
    )
    if limits["strokes"].broken_by(len(strokes)):
        deepest = max(each.depth_mm or 0.0 for each in strokes)
        yield limits.finding(
            limits["strokes"],
            on=strokes,
            measured=len(strokes),
            message=f"{len(strokes)} shallow recesses, up to {mm_text(deepest)} mm deep: engraving, as it seems.",
            suggestion=f"Leave these {len(strokes)} recesses out of the model and give the text, its height and a "
            f"depth of 0.2 to {mm_text(max(deepest, 0.3))} mm in a note.",
        )
