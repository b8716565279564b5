"""Number of inside corners without a radius that no rotating cutter makes."""

from collections.abc import Iterator

from analyzers.measures._corners import sharp_corners
from analyzers.measures._survey import survey_of
from analyzers.model.arrays import vec
from analyzers.model.geometry import Geometry
from analyzers.model.measure import Measure
from analyzers.model.report import Facts


def measure(facts: Facts, geometry: Geometry) -> Iterator[Measure]:
    """Yield how many sharp edges lie between two walls of their feature, seen from where the feature is cut.

    A rectangular pocket without corner radii has four; the edges round its floor do not count, an end mill leaves
    those sharp. Located at the longest; `faces` are those of all corners.
    """
    part, corners = facts.part, sharp_corners(facts, geometry)
    if not len(corners.edges):
        yield Measure(name="sharp_internal_corners", value=0.0)
        return
    longest = int(corners.edges[0])
    yield Measure(
        name="sharp_internal_corners",
        value=float(len(corners.edges)),
        point_mm=vec(part.edge_mid_mm[longest]),
        faces=tuple(sorted({int(face) for face in part.edge_faces[corners.edges].ravel()})),
        feature=survey_of(facts, geometry).owners.first_of(part.edge_faces[longest].tolist()),
    )
