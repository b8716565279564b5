"""Part of an unlikely size.

What: the largest dimension of the part, against what a machine shop usually holds in its hands.
Why: a part of half a millimetre or of twenty metres is more often a slip of units than an order.
Instead: the unit of the export checked, one dimension named in words.
"""

from collections.abc import Iterator

from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way
from analyzers.units import MM_PER_INCH

SCALES = {
    "small": (10.0, MM_PER_INCH, 100.0, 1000.0),
    "large": (0.1, 1.0 / MM_PER_INCH, 0.01, 0.001),
}
"""By how much a model grows or shrinks when a length unit is mistaken: centimetres, inches, metres, micrometres."""


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for a part that is too small or too large to be believed."""
    diagonal = case.facts.part.diagonal_mm
    if limit := limits.strictest_broken(diagonal):
        small = limit.name == "small"
        yield limits.finding(
            limit,
            measured=diagonal,
            message=f"The part is {mm_text(round(diagonal, 2))} mm from corner to corner: "
            f"{'tiny' if small else 'huge'}.",
            suggestion=f"Confirm the unit: in inches it would be {mm_text(round(diagonal * MM_PER_INCH, 1))} mm."
            if small
            else f"Confirm the unit: a factor 25.4 less would be {mm_text(round(diagonal / MM_PER_INCH, 1))} mm.",
            change=Way("scale", MM_PER_INCH if small else 1.0 / MM_PER_INCH, SCALES[limit.name], was=1.0),
            marks=("whole part",),
        )
