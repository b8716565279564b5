"""How thick the material is behind every triangle of the mesh, for pictures and distributions."""

import numpy as np

from analyzers.measures._sights import angle_deg, start_off
from analyzers.measures._surface import analytic, dot, feet, outward
from analyzers.model.arrays import Floats, frozen, triangle_normals, unit
from analyzers.model.geometry import Geometry
from analyzers.model.part import Part


def thickness_of_triangles(part: Part, geometry: Geometry) -> Floats:
    """Return (T,) diameter of the ball in the material that touches the middle of each triangle and the face opposite.

    Where the two faces are parallel that is their distance; where they meet at an angle it is less than the way
    straight across. nan: nothing opposite, or a face at a right angle or more. Exact for planes, and for concentric
    cylinders, cones, spheres and tori; where round faces bend differently as good as a ball between their tangent
    planes; a free face is as good as the mesh, and one opposite is taken to be parallel.

    A wedge of included angle 2a, x from its apex: straight across x tan(2a), by the ball 2 x tan(a); their ratio is
    1 - tan(a)^2, with 2a the angle between the faces.
    """
    mesh = part.mesh
    corner = mesh.point_mm[mesh.triangle]
    cross = triangle_normals(corner)
    off = start_off(part)
    middle = corner.mean(axis=1)
    known = analytic(part, mesh.triangle_face)[:, None]
    start = np.where(known, feet(part, mesh.triangle_face, middle), middle)
    normal = np.where(known, outward(part, mesh.triangle_face, start), unit(cross))
    distance, seen = geometry.first_hits(middle - off * normal, -normal)

    rows = np.flatnonzero((seen >= 0) & cross.any(axis=1))
    hit = middle[rows] - (off + distance[rows, None]) * normal[rows]
    across = dot(start[rows] - feet(part, seen[rows], hit), normal[rows])
    half = np.radians(0.5 * np.nan_to_num(angle_deg(normal[rows], -outward(part, seen[rows], hit))))
    thickness = np.full(len(middle), np.nan)
    thickness[rows] = np.where(half < np.pi / 4.0, np.maximum(across, 0.0) * (1.0 - np.tan(half) ** 2), np.nan)
    return frozen(thickness)
