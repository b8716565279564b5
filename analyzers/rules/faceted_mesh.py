"""Mesh saved as a solid.

What: a body of very many faces, most of them plane triangles.
Why: rounds and holes are gone: nothing in it has a diameter or an axis, so nothing can be drilled or
programmed from it.
Instead: the solid from the system that drew it, before it was turned into triangles.
"""

from collections.abc import Iterator

import numpy as np

from analyzers.model.finding import Finding
from analyzers.model.part import Surface
from analyzers.rules._base import Case, Limits


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for the whole body."""
    part = case.facts.part
    edges = np.bincount(part.coedge_face, minlength=part.n_faces)
    triangles = int(np.count_nonzero((part.face_surface == Surface.PLANE) & (edges == 3)))
    if limits["triangles"].broken_by(triangles) and limits["share"].broken_by(triangles / part.n_faces):
        yield limits.finding(
            limits["share"],
            measured=triangles / part.n_faces,
            message=f"{triangles} of {part.n_faces} faces are plane triangles: a mesh saved as STEP, without true "
            "rounds.",
            suggestion=f"Export the solid itself instead of its {triangles} triangles.",
            no_change="the true surfaces are not in the file: only the system that drew it has them",
            marks=("whole part",),
        )
