"""Small parts as real arrays; all numbers in millimetres.

Blocks with a pocket whose faces, edges, normals and angles follow from the sizes given.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from analyzers.model.arrays import Floats, Vec, vec
from analyzers.model.part import Curve, Mesh, Part, Surface

UP: Vec = (0.0, 0.0, 1.0)
TURN = np.array([[0.36, 0.48, -0.8], [-0.8, 0.6, 0.0], [0.48, 0.64, 0.6]])
"""A rotation about no axis of the frame (rows and columns of Pythagorean numbers, determinant 1)."""

LOW: Vec = (5.0, -7.0, 11.0)
"""The low corner of every part's box: off the origin, so that nothing rests on it."""


@dataclass(frozen=True)
class Face:
    """One row of the face arrays; a plane's `axis` is its outward normal."""

    surface: Surface
    axis: Vec
    point: Vec = (0.0, 0.0, 0.0)
    area: float = 100.0
    radius: float = float("nan")
    concave: bool = False
    span: float = 360.0
    along: tuple[float, float] = (0.0, 0.0)
    half_angle: float = float("nan")
    min_radius: float = float("inf")


@dataclass(frozen=True)
class Edge:
    """One row of the edge arrays; `angle` goes through the material."""

    faces: tuple[int, int]
    angle: float
    tangent: Vec
    length: float = 10.0
    curve: Curve = Curve.LINE
    mid: Vec = LOW  # a corner of the part: what is not placed lies on it


def plane(normal: Vec, point: Vec = (0.0, 0.0, 0.0), area: float = 100.0) -> Face:
    """Return a flat face."""
    return Face(Surface.PLANE, normal, point, area)


def cylinder(axis: Vec, radius: float, *, concave: bool, span: float = 360.0, area: float = 100.0) -> Face:
    """Return a round face; a corner of a pocket spans 90 degrees."""
    return Face(Surface.CYLINDER, axis, area=area, radius=radius, concave=concave, span=span)


def part_of(
    faces: Sequence[Face],
    edges: Sequence[Edge] = (),
    *,
    size: Vec = (60.0, 40.0, 20.0),
    valid: bool = True,
    closed: bool = True,
    volume: float | None = None,
    count: int = 1,
    vertices: Sequence[Vec] | None = None,
) -> Part:
    """Return a part with these faces and edges; its box has this size and stands off the origin.

    `vertices`: None = the corners of that box.
    """
    low = np.array(LOW)
    corners = np.array([[i & 1, i >> 1 & 1, i >> 2] for i in range(8)]) * np.array(size)
    n, m = len(faces), len(edges)
    axis = np.array([each.axis for each in faces], dtype=float).reshape(n, 3)
    point = np.array([each.point for each in faces], dtype=float).reshape(n, 3)
    flat = np.array([each.surface == Surface.PLANE for each in faces], dtype=bool)
    sides = np.array([each.faces for each in edges], dtype=np.int64).reshape(m, 2)
    area = np.array([each.area for each in faces], dtype=float)
    return Part(
        name="plate",
        count=count,
        valid=valid,
        closed=closed,
        volume_mm3=float(np.prod(size)) if volume is None else volume,
        area_mm2=float(area.sum()),
        centroid_mm=vec(low + np.array(size) / 2.0),
        box_mm=np.array([low, low + np.array(size)]),
        face_surface=np.array([each.surface for each in faces], dtype=np.int64),
        face_area_mm2=area,
        face_centroid_mm=point.copy(),
        face_point_mm=point.copy(),
        face_normal=np.where(flat[:, None], axis, np.array([1.0, 0.0, 0.0])),
        face_origin_mm=point.copy(),
        face_axis=axis,
        face_radius_mm=np.array([each.radius for each in faces], dtype=float),
        face_tube_radius_mm=np.full(n, np.nan),
        face_half_angle_deg=np.array([each.half_angle for each in faces], dtype=float),
        face_concave=np.array([each.concave for each in faces], dtype=bool),
        face_span_deg=np.array([each.span for each in faces], dtype=float),
        face_along_mm=np.array([each.along for each in faces], dtype=float).reshape(n, 2),
        face_min_radius_mm=np.array([each.min_radius for each in faces], dtype=float),
        face_ball_radius_mm=np.full((len(faces), 2), np.nan),
        edge_curve=np.array([each.curve for each in edges], dtype=np.int64),
        edge_length_mm=np.array([each.length for each in edges], dtype=float),
        edge_faces=sides,
        edge_angle_deg=np.array([each.angle for each in edges], dtype=float),
        edge_mid_mm=np.array([each.mid for each in edges], dtype=float).reshape(m, 3),
        edge_tangent=np.array([each.tangent for each in edges], dtype=float).reshape(m, 3),
        edge_vertices=np.zeros((m, 2), dtype=np.int64),
        edge_centre_mm=np.full((m, 3), np.nan),
        edge_axis=np.full((m, 3), np.nan),
        edge_radius_mm=np.full(m, np.nan),
        vertex_mm=low + corners if vertices is None else np.array(vertices, dtype=float),
        coedge_face=sides.ravel().copy(),
        coedge_edge=np.repeat(np.arange(m, dtype=np.int64), 2),
        coedge_loop=np.zeros(2 * m, dtype=np.int64),
        mesh=Mesh(
            point_mm=np.zeros((0, 3)),
            triangle=np.zeros((0, 3), dtype=np.int64),
            triangle_face=np.zeros(0, dtype=np.int64),
            chord_mm=0.01,
        ),
    )


SIDES: tuple[Vec, ...] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0), (0.0, -1.0, 0.0))
POCKET_FACES = tuple(range(6, 11))


def block(size: Vec = (60.0, 40.0, 20.0), **changes: Any) -> Part:
    """Return a plain block: faces 0 to 3 the sides, 4 the top, 5 the bottom; twelve sharp outside edges."""
    return part_of([*_block_faces(size), *_unused(6)], _block_edges(size), size=size, **changes)


def pocketed_block(
    depth: float = 12.0, radii: Sequence[float] = (), opening_deg: float = 90.0, size: Vec = (60.0, 40.0, 20.0)
) -> Part:
    """Return a block with a pocket in its top: faces 6 to 9 the walls, 10 the floor, 11 on its rounded corners.

    Without `radii` the four upright corners are sharp, of that opening angle.
    """
    floor = plane(UP, (30.0, 20.0, size[2] - depth))
    walls = [plane((-x, -y, -z), (30.0, 20.0, size[2] - depth / 2)) for x, y, z in SIDES]
    corners = [cylinder(UP, radius, concave=True, span=90.0) for radius in radii]
    across = [(-y, x, 0.0) for x, y, _ in SIDES]
    edges = [Edge((6 + i, 10), 270.0, across[i], 20.0) for i in range(4)]
    edges += [Edge((6 + i, 4), 90.0, across[i], 20.0) for i in range(4)]
    if not radii:
        edges += [Edge((6 + i, 6 + (i + 1) % 4), 360.0 - opening_deg, UP, depth) for i in range(4)]
    for i in range(len(radii)):
        edges += [Edge((6 + side % 4, 11 + i), 180.0, UP, depth) for side in (i, i + 1)]
    faces = [*_block_faces(size), *walls, floor, *corners]
    return part_of([*faces, *_unused(len(faces))], [*_block_edges(size), *edges], size=size)


def _unused(taken: int) -> list[Face]:
    """Return faces without area up to number 40, for features that a test places without shaping them."""
    return [Face(Surface.OTHER, UP, area=0.0) for _ in range(taken, 40)]


def _block_faces(size: Vec) -> list[Face]:
    x, y, z = size
    sides = [plane(normal, area=(y if normal[0] else x) * z) for normal in SIDES]
    return [*sides, plane(UP, (x / 2, y / 2, z), x * y), plane((0.0, 0.0, -1.0), (x / 2, y / 2, 0.0), x * y)]


def _block_edges(size: Vec) -> list[Edge]:
    x, y, z = size
    upright = [Edge((i, (i + 1) % 4), 90.0, UP, z) for i in range(4)]
    return upright + [
        Edge((i, cap), 90.0, (-ny, nx, 0.0), y if nx else x) for cap in (4, 5) for i, (nx, ny, _) in enumerate(SIDES)
    ]


def moved(part: Part, turn: Floats = TURN, shift: Vec = (101.0, -57.0, 33.0)) -> Part:
    """Return the same part turned and shifted."""
    points = ("face_centroid_mm", "face_point_mm", "face_origin_mm", "edge_mid_mm", "edge_centre_mm", "vertex_mm")
    directions = ("face_normal", "face_axis", "edge_tangent", "edge_axis")
    changes: dict[str, Any] = {name: getattr(part, name) @ turn.T + np.array(shift) for name in points}
    changes |= {name: getattr(part, name) @ turn.T for name in directions}
    return replace(part, **changes, centroid_mm=vec(np.array(part.centroid_mm) @ turn.T + np.array(shift)))
