"""Number of those sharp inside corners that another setup would make after all."""

from collections.abc import Iterator

import numpy as np

from analyzers.measures._corners import sharp_corners
from analyzers.measures._survey import survey_of
from analyzers.model.arrays import vec
from analyzers.model.geometry import Geometry
from analyzers.model.measure import Measure
from analyzers.model.report import Facts


def measure(facts: Facts, geometry: Geometry) -> Iterator[Measure]:
    """Yield how many of sharp_internal_corners lie open along the normal of one of their faces.

    From there the corner is the edge between a wall and a floor, which an end mill leaves sharp, if it reaches: the
    back corners of a pocket that is open at the front. Located at the longest; `faces` are those of all of them.
    """
    part, corners = facts.part, sharp_corners(facts, geometry)
    edges = corners.edges[np.flatnonzero(corners.from_aside)]
    if not len(edges):
        yield Measure(name="sharp_corners_open_aside", value=0.0)
        return
    longest = int(edges[0])
    yield Measure(
        name="sharp_corners_open_aside",
        value=float(len(edges)),
        point_mm=vec(part.edge_mid_mm[longest]),
        faces=tuple(sorted({int(face) for face in part.edge_faces[edges].ravel()})),
        feature=survey_of(facts, geometry).owners.first_of(part.edge_faces[longest].tolist()),
    )
