"""Points spread evenly over faces: the same part gives the same points, in every run."""

from dataclasses import dataclass, fields

import numpy as np

from analyzers.model.arrays import Bools, Floats, Ints, triangle_normals, unit
from analyzers.model.part import Mesh, Part, Surface
from analyzers.tolerance import (
    CORNER_INSET_RATIO,
    CORNER_SAMPLES_MOST,
    SAME_PLACE_MM,
    SAMPLES_MOST,
    SAMPLES_PER_FACE,
    SAMPLES_SMALL_FACE,
)

_STEP = (0.7548776662466927, 0.5698402909980532)  # 1/p and 1/p^2 of the plastic number: Roberts' R2 sequence


@dataclass(frozen=True, slots=True)
class Samples:
    """N points on the shared mesh."""

    point_mm: Floats  # (N, 3)
    normal: Floats  # (N, 3) outward, of the triangle
    face: Ints  # (N,)
    area_mm2: Floats  # (N,) how much of the face each point stands for


def spread(part: Part) -> Samples:
    """Return samples of the whole part: every face has some, large faces have more, flat ones also in their corners."""
    wanted = int(np.clip(SAMPLES_PER_FACE * part.n_faces, SAMPLES_PER_FACE * 30, SAMPLES_MOST))
    share = wanted * part.face_area_mm2 / max(float(part.face_area_mm2.sum()), 1e-300)
    even = spread_over(part.mesh, np.maximum(np.ceil(share).astype(np.int64), SAMPLES_SMALL_FACE))
    corners = _flat_corners(part)
    return joined(even, corners)


def joined(first: Samples, second: Samples) -> Samples:
    """Return both."""
    return Samples(*(np.concatenate([getattr(first, each.name), getattr(second, each.name)]) for each in fields(first)))


def _flat_corners(part: Part) -> Samples:
    """Return samples just inside the corners of plane faces' triangles.

    Where two plane faces lie opposite by a sliver only, that sliver has a corner of one of them.
    """
    samples, _ = inner_corners(part.mesh, part.face_surface == Surface.PLANE, CORNER_SAMPLES_MOST)
    return samples


def inner_corners(mesh: Mesh, wanted: Bools, most: int) -> tuple[Samples, Floats]:
    """Return samples just inside the corners of the wanted (F,) faces' triangles, and (N, 3) those corners themselves.

    They stand for no area. Of more than `most` corners every second, third, ... is taken.
    """
    cross = _crosses(mesh)
    wide = np.linalg.norm(cross, axis=1) > SAME_PLACE_MM**2  # a sliver's normal is chance
    chosen = np.flatnonzero(wanted[mesh.triangle_face] & wide)
    corner = mesh.point_mm[mesh.triangle[chosen]]  # (t, 3, 3)
    inner = corner + CORNER_INSET_RATIO * (corner.mean(axis=1, keepdims=True) - corner)
    pick = np.arange(0, 3 * len(chosen), max(3 * len(chosen) // most, 1))
    triangle = chosen[pick // 3]
    samples = Samples(
        point_mm=inner.reshape(-1, 3)[pick],
        normal=unit(cross[triangle]),
        face=mesh.triangle_face[triangle],
        area_mm2=np.zeros(len(pick)),
    )
    return samples, corner.reshape(-1, 3)[pick]


def spread_over(mesh: Mesh, count: Ints) -> Samples:
    """Return `count[i]` samples of face i, in even steps over its triangles' areas.

    Within a triangle they follow the R2 sequence (M. Roberts, "The Unreasonable Effectiveness of Quasirandom
    Sequences", 2018), folded into the triangle; a face without triangles gets none.
    """
    cross = _crosses(mesh)
    size = 0.5 * np.linalg.norm(cross, axis=1)
    total = np.bincount(mesh.triangle_face, weights=size, minlength=len(count))
    order = np.argsort(mesh.triangle_face, kind="stable")
    owner = mesh.triangle_face[order]
    share = np.divide(size[order], total[owner], out=np.zeros(len(order)), where=total[owner] > 0)
    filled = np.where(total > 0, count, 0)
    upto = np.cumsum(share * filled[owner])
    n = int(filled.sum())
    triangle = order[np.minimum(np.searchsorted(upto, np.arange(n) + 0.5), len(order) - 1)]

    index = np.arange(1, n + 1)
    u, v = (np.mod(0.5 + step * index, 1.0) for step in _STEP)
    folded = u + v > 1.0
    u, v = np.where(folded, 1.0 - u, u), np.where(folded, 1.0 - v, v)
    a, b, c = (mesh.point_mm[mesh.triangle[triangle, k]] for k in range(3))
    face = mesh.triangle_face[triangle]
    return Samples(
        point_mm=a + u[:, None] * (b - a) + v[:, None] * (c - a),
        normal=unit(cross[triangle]),
        face=face,
        area_mm2=total[face] / np.maximum(np.bincount(face, minlength=len(count))[face], 1),
    )


def _crosses(mesh: Mesh) -> Floats:
    """Return (T, 3) outward vectors of twice each triangle's area."""
    corner = mesh.point_mm[mesh.triangle]
    cross: Floats = triangle_normals(corner)
    return cross
