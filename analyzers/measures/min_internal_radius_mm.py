"""Smallest inside radius: the cutter that finishes the part must be rounder than this."""

from collections.abc import Iterator

import numpy as np

from analyzers.measures._survey import survey_of
from analyzers.model.arrays import Floats, vec
from analyzers.model.geometry import Geometry
from analyzers.model.measure import Measure
from analyzers.model.part import Part, Surface
from analyzers.model.report import Facts
from analyzers.tolerance import SAME_PLACE_MM


def measure(facts: Facts, geometry: Geometry) -> Iterator[Measure]:
    """Yield the smallest radius of the hollow faces: corners of pockets, fillets, ball corners, free surfaces.

    Faces of holes do not count: a drill makes them. A corner without a radius is no radius of 0: it is counted by
    sharp_internal_corners. The radius of a free surface is its smallest radius of curvature on the hollow side, from a
    grid over the face.
    """
    radius = hollow_radii_mm(facts.part)
    radius[np.array(facts.face_class, dtype=object) == "hole"] = np.inf
    if not len(radius) or not np.isfinite(radius.min()):
        why = "no face outside the holes is hollow"
        yield Measure(name="min_internal_radius_mm", value=None, applies=False, why_none=why)
        return
    face = int(np.argmin(radius))
    yield Measure(
        name="min_internal_radius_mm",
        value=float(radius[face]),
        point_mm=vec(facts.part.face_point_mm[face]),
        faces=(face,),
        feature=survey_of(facts, geometry).owners.first_of((face,)),
    )


def hollow_radii_mm(part: Part) -> Floats:
    """Return (F,) the smallest radius of curvature on the hollow side of each face; inf where it is nowhere hollow.

    A cylinder's is its radius, a sphere's too, a torus's that of its tube, a cone's that at its narrow end (inf where
    it runs to a tip).
    """
    radius = np.full(part.n_faces, np.inf)
    hollow, kind = part.face_concave, part.face_surface
    round_faces = hollow & ((kind == Surface.CYLINDER) | (kind == Surface.SPHERE))
    radius[round_faces] = part.face_radius_mm[round_faces]
    tubes = hollow & (kind == Surface.TORUS)
    radius[tubes] = part.face_tube_radius_mm[tubes]
    cones = hollow & (kind == Surface.CONE)
    narrow = part.face_along_mm[cones, 0] * np.tan(np.radians(part.face_half_angle_deg[cones]))
    radius[cones] = np.where(narrow > SAME_PLACE_MM, narrow, np.inf)
    free = kind > Surface.TORUS
    radius[free] = np.nan_to_num(part.face_min_radius_mm[free], nan=np.inf, posinf=np.inf)
    return radius
