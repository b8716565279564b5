"""Faces too narrow to be meant.

What: faces whose width (twice the area over the outline's length) is below what models for manufacturing
should hold.
Why: they are cracks between features that were meant to meet; a cutter cannot leave them and a toolpath trips
over them.
Instead: the features moved so that they meet, or the model healed.
"""

from collections.abc import Iterator

import numpy as np

from analyzers.model.arrays import Floats
from analyzers.model.finding import Finding
from analyzers.model.part import Part
from analyzers.rules._base import Case, Limits, Way
from analyzers.rules._say import plural, verb


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all such faces."""
    width = face_width_mm(case.facts.part)
    known = np.flatnonzero(np.isfinite(width))
    narrow = known[limits["width"].broken_by_each(width[known])].tolist()
    if narrow:
        least = float(width[narrow].min())
        yield limits.finding(
            limits["width"],
            faces=tuple(narrow),
            measured=least,
            message=f"{len(narrow)} {plural('face', len(narrow))} {verb(tuple(narrow))} narrower than "
            f"{limits['width'].value:g} mm, the narrowest {least:.2g} mm.",
            suggestion=f"Heal the model so that no face stays narrower than {limits['width'].value:g} mm.",
            change=Way("narrow_faces", 0.0, (0.0,), was=float(len(narrow))),
            marks=(float(len(narrow)),),
        )


def face_width_mm(part: Part) -> Floats:
    """Return (F,) twice the area over the length of the outline: the width of a long strip; nan without an outline."""
    around = np.bincount(part.coedge_face, part.edge_length_mm[part.coedge_edge], part.n_faces)
    width: Floats = np.full(part.n_faces, np.nan)
    np.divide(2.0 * part.face_area_mm2, around, out=width, where=around > 0.0)
    return width
