"""Body that is not closed.

What: edges with only one face: the surface has holes, so it bounds no solid.
Why: without an inside there is no volume, no wall and nothing to cut; a programmer would have to guess the
missing faces.
Instead: the gaps closed and the part exported as a solid.
"""

from collections.abc import Iterator

import numpy as np

from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way
from analyzers.rules._say import plural


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all free edges of the body."""
    part = case.facts.part
    free = (part.edge_faces < 0).any(axis=1)
    count = int(np.count_nonzero(free))
    if part.closed or not limits["free_edges"].broken_by(count):
        return
    length = float(part.edge_length_mm[free].sum())
    beside = part.edge_faces[free]
    yield limits.finding(
        limits["free_edges"],
        faces=tuple(sorted({int(face) for face in beside[beside >= 0]})),
        measured=count,
        message=f"The body is not closed: {count} {plural('edge', count)}, {mm_text(round(length, 1))} mm in all, "
        f"{'has' if count == 1 else 'have'} a face on one side only.",
        suggestion=f"Close the gap along these {mm_text(round(length, 1))} mm and export a solid.",
        change=Way("open_edges", 0.0, (0.0,), was=float(count)),
        marks=(float(count), length),
    )
