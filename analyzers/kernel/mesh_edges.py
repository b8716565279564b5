"""The edges of a body's triangles, each once: which are edges of the model, and which only lie within a face."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from analyzers.model.arrays import Bools, Floats, Ints, among, triangle_normals, unit
from analyzers.model.facegraph import smooth_pairs
from analyzers.model.part import Part
from analyzers.tolerance import WELD_STEPS

INNER, SMOOTH, SHARP = range(3)
"""Within one face; between two faces that run into one another; any other edge of the model."""
_LIKELY: Final = 0.382
"""Share of a step by which the lattice is off the body's corner: coordinates that lie on halves of steps are common."""


@dataclass(frozen=True, slots=True)
class MeshEdges:
    """N edges of a triangulation; those of the model lie along the borders of faces, one after the other."""

    ends_mm: Floats  # (N, 2, 3)
    point: Ints  # (N, 2) the ends' numbers; one place has one number
    triangle: Ints  # (N, 2) on either side; twice the same where the mesh ends
    kind: Ints  # (N,) INNER, SMOOTH, SHARP
    normal: Floats  # (T, 3) unit normal of each triangle of the mesh, 0 0 0 for one without area


def mesh_edges(part: Part) -> MeshEdges:
    """Return the edges of a body's triangles; faces share no points in the mesh, so places are compared."""
    mesh = part.mesh
    corner = _places(mesh.point_mm, part.box_mm)[mesh.triangle]
    first, second, third = corner.T
    row = np.flatnonzero((first != second) & (second != third) & (third != first))  # the others are lines
    own = mesh.triangle[row]
    begin, end, triangle = own.ravel(), np.roll(own, -1, axis=1).ravel(), np.repeat(row, 3)
    place, other_place = corner[row].ravel(), np.roll(corner[row], -1, axis=1).ravel()
    one, other, alone = _pairs(np.minimum(place, other_place) * len(mesh.point_mm) + np.maximum(place, other_place))
    face, other_face = mesh.triangle_face[triangle[one]], mesh.triangle_face[triangle[other]]
    kind = np.where(among(face * part.n_faces + other_face, smooth_pairs(part)), SMOOTH, SHARP)
    kind[face == other_face] = INNER
    kind[alone] = SHARP
    border = np.flatnonzero(kind != INNER)
    order = np.concatenate([border[in_chains(begin[one[border]], end[one[border]])], np.flatnonzero(kind == INNER)])
    one, other = one[order], other[order]
    return MeshEdges(
        ends_mm=mesh.point_mm[np.stack([begin[one], end[one]], axis=1)],
        point=np.stack([place[one], other_place[one]], axis=1),
        triangle=np.stack([triangle[one], triangle[other]], axis=1),
        kind=kind[order],
        normal=unit(triangle_normals(mesh.point_mm[mesh.triangle])),
    )


def _places(point_mm: Floats, box_mm: Floats) -> Ints:
    """Return (P,) a number for each point, the same for those that lie in one cell of a fine lattice."""
    step = float((box_mm[1] - box_mm[0]).max()) / WELD_STEPS or 1.0
    cell = np.floor((point_mm - point_mm.min(axis=0)) / step + _LIKELY).astype(np.int64)
    spans = cell.max(axis=0) + 1
    _, number = np.unique((cell[:, 0] * spans[1] + cell[:, 1]) * spans[2] + cell[:, 2], return_inverse=True)
    places: Ints = number.astype(np.int64)
    return places


def _pairs(key: Ints) -> tuple[Ints, Ints, Bools]:
    """Return for each different key the first two rows that have it, and whether it has not exactly two."""
    order = np.argsort(key)
    ordered = key[order]
    first = np.flatnonzero(np.diff(ordered, prepend=-1))
    count = np.diff(first, append=len(key))
    pair = order[np.stack([first, first + (count > 1)])]
    return pair.min(axis=0), pair.max(axis=0), count != 2


def in_chains(begin: Ints, end: Ints) -> Ints:
    """Return the order in which pieces follow one another, each beginning where the one before it ends, if any does.

    >>> in_chains(np.array([7, 5, 6]), np.array([9, 6, 7]))
    array([1, 2, 0])
    """
    begins, ends = begin.tolist(), end.tolist()
    after, known = dict(zip(begins, range(len(begins)), strict=True)), set(ends)
    entered, order = bytearray(len(ends)), []
    heads = (row for row, place in enumerate(begins) if place not in known)
    for head in (*heads, *range(len(ends))):
        at: int | None = head
        while at is not None and not entered[at]:
            entered[at] = 1
            order.append(at)
            at = after.get(ends[at])
    return np.array(order, dtype=np.int64)
