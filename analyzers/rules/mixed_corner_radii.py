"""Different corner radii in one pocket.

What: upright inside corners of one pocket with more than one radius.
Why: the smallest one decides the cutter, or one more cutter is fetched for a corner or two.
Instead: one radius for all corners, the largest of them.
"""

import math
from collections.abc import Iterator

import numpy as np

from analyzers.features.fillet import Fillet
from analyzers.features.pocket import Pocket
from analyzers.model.facegraph import smooth_edges
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.model.part import Part, Surface
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._say import subject, verb
from analyzers.tolerance import SMOOTH_DEG

CORNER_SPAN_DEG = 180.0  # a corner turns by less; a rounded end of the pocket by as much


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal pockets with several corner radii."""
    fillets = case.features(Fillet)
    radii = {each.id: corner_radii_mm(case.facts.part, each, fillets) for each in case.features(Pocket)}
    for pockets in alike(case.features(Pocket), key=lambda each: (each.kind, each.callout(), radii[each.id])):
        found = radii[pockets[0].id]
        if not limits["radii"].broken_by(len(found)):
            continue
        series = ", ".join(f"R{mm_text(each)}" for each in found)
        yield limits.finding(
            limits["radii"],
            on=pockets,
            measured=len(found),
            message=f"{subject(pockets)} {verb(pockets, 'has', 'have each')} corners of {series}: the smallest "
            "decides the cutter.",
            suggestion=f"R{mm_text(found[-1])} in all its corners: one end mill does them all.",
            change=("corner_radius_mm", found[-1]),
        )


def corner_radii_mm(part: Part, pocket: Pocket, fillets: tuple[Fillet, ...]) -> tuple[float, ...]:
    """Return the different radii of the upright corners, smallest first, to a micrometre.

    A corner is a concave cylinder along the cutter's axis that turns by less than half a turn, with a radius of at most
    half the pocket's width; it may stand in the pocket's own faces or in a fillet that runs smoothly into them.
    """
    around = part.edges_of(pocket.faces)
    beside = set(part.edge_faces[around[smooth_edges(part, around)]].ravel().tolist())
    near = [face for each in fillets if beside.intersection(each.faces) for face in each.faces]
    faces = np.array([*pocket.faces, *near], dtype=np.int64)
    upright = np.abs(part.face_axis[faces] @ np.array(pocket.direction)) >= math.cos(math.radians(SMOOTH_DEG))
    corner = (
        (part.face_surface[faces] == Surface.CYLINDER)
        & part.face_concave[faces]
        & upright
        & (part.face_span_deg[faces] < CORNER_SPAN_DEG - SMOOTH_DEG)
    )
    largest = pocket.width_mm / 2.0 if pocket.width_mm else math.inf
    return tuple(sorted({each for each in np.round(part.face_radius_mm[faces[corner]], 3).tolist() if each <= largest}))
