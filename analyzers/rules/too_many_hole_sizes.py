"""Many different hole sizes.

What: the number of different drilled diameters in one part.
Why: each size is another drill in the magazine, another change, another chance to take the wrong one.
Instead: sizes brought together where no fit keeps them apart.
"""

from collections import Counter
from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits
from analyzers.rules._say import plural


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for the whole body; it names the sizes that occur once."""
    holes = case.features(Hole)
    sizes = Counter(round(hole.diameter_mm, 3) for hole in holes)
    if limits["sizes"].broken_by(len(sizes)):
        once = sorted(size for size, count in sizes.items() if count == 1)
        named = ", ".join(f"⌀{mm_text(each)}" for each in once[:6])
        spare = len(sizes) - int(limits["sizes"].value)
        yield limits.finding(
            limits["sizes"],
            on=tuple(hole for hole in holes if round(hole.diameter_mm, 3) in once) or holes,
            measured=len(sizes),
            message=f"{len(sizes)} different hole sizes in {len(holes)} holes"
            + (f"; once only: {named}." if once else "."),
            suggestion=f"{spare} {plural('size', spare)} less, brought together with {'their' if spare > 1 else 'its'} "
            "next neighbours where no fit keeps them apart.",
            marks=("whole part",),
        )
