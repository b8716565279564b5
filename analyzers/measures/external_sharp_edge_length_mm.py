"""Length of the outside edges that are left sharp: what has to be broken or deburred."""

from collections.abc import Iterator

import numpy as np

from analyzers.measures._survey import survey_of
from analyzers.model.arrays import Bools, vec
from analyzers.model.facegraph import convex_edges
from analyzers.model.geometry import Geometry
from analyzers.model.measure import Measure
from analyzers.model.report import Facts
from analyzers.tolerance import SAME_ANGLE_DEG, SHARP_EDGE_DEG


def measure(facts: Facts, geometry: Geometry) -> Iterator[Measure]:
    """Yield the total length of convex edges of at most SHARP_EDGE_DEG through the material, located at the longest.

    The rims of chamfers and edge rounds do not count: those faces are the broken edge. A body without sharp edges has
    a length of 0.
    """
    part = facts.part
    if not part.closed:
        why = "the shell is open: its edges cannot be told from its borders"
        yield Measure(name="external_sharp_edge_length_mm", value=None, why_none=why)
        return
    sharp = np.flatnonzero(sharp_edges(facts))
    if not len(sharp):
        yield Measure(name="external_sharp_edge_length_mm", value=0.0)
        return
    longest = int(sharp[np.argmax(part.edge_length_mm[sharp])])
    faces = tuple(part.edge_faces[longest].tolist())
    yield Measure(
        name="external_sharp_edge_length_mm",
        value=float(part.edge_length_mm[sharp].sum()),
        point_mm=vec(part.edge_mid_mm[longest]),
        faces=faces,
        feature=survey_of(facts, geometry).owners.first_of(faces),
    )


def sharp_edges(facts: Facts) -> Bools:
    """Return (E,) True for outside edges that nothing has broken."""
    part = facts.part
    breaks = np.isin(np.array(facts.face_class, dtype=object), ["chamfer", "edge_round"])
    broken = breaks[part.edge_faces].any(axis=1)
    with np.errstate(invalid="ignore"):
        acute = part.edge_angle_deg <= SHARP_EDGE_DEG + SAME_ANGLE_DEG
    sharp: Bools = convex_edges(part) & acute & ~broken
    return sharp
