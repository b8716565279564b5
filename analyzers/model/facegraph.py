"""Which faces meet, and how: neighbours of a face by kind of edge, and connected groups of faces."""

from collections.abc import Iterable
from typing import Final

import numpy as np

from analyzers.model.arrays import Bools, Ints
from analyzers.model.part import Part
from analyzers.tolerance import SMOOTH_DEG

Among = Ints | slice

ALL: Final = slice(None)


def two_sided(part: Part, among: Among = ALL) -> Bools:
    """Return (E,) True for edges between two different faces; `among`: only of these edges, in their order."""
    left, right = part.edge_faces[among].T
    sided: Bools = (left >= 0) & (right >= 0) & (left != right)
    return sided


def smooth_edges(part: Part, among: Among = ALL) -> Bools:
    """Return (E,) True where two faces run into one another without a corner; `among`: see `two_sided`."""
    with np.errstate(invalid="ignore"):
        smooth: Bools = two_sided(part, among) & (np.abs(part.edge_angle_deg[among] - 180.0) <= SMOOTH_DEG)
    return smooth


def smooth_pairs(part: Part) -> Ints:
    """Return a number for each pair of faces that run into one another, rising: the lower times `n_faces` + the other.

    A pair that meets along several edges stands there as often.
    """
    pairs = part.edge_faces[smooth_edges(part)]
    numbers: Ints = np.sort(pairs.min(axis=1, initial=part.n_faces) * part.n_faces + pairs.max(axis=1, initial=0))
    return numbers


def concave_edges(part: Part, among: Among = ALL) -> Bools:
    """Return (E,) True where the material fills more than a half turn: an inside corner; `among`: see `two_sided`."""
    with np.errstate(invalid="ignore"):
        concave: Bools = two_sided(part, among) & (part.edge_angle_deg[among] > 180.0 + SMOOTH_DEG)
    return concave


def convex_edges(part: Part) -> Bools:
    """Return (E,) True where the material fills less than a half turn: an outside corner."""
    with np.errstate(invalid="ignore"):
        convex: Bools = two_sided(part) & (part.edge_angle_deg < 180.0 - SMOOTH_DEG)
    return convex


def edges_of_faces(part: Part) -> list[list[int]]:
    """Return for each face the edges around it, each once, in the order of its loops."""
    around: list[dict[int, None]] = [{} for _ in range(part.n_faces)]
    for face, edge in zip(part.coedge_face.tolist(), part.coedge_edge.tolist(), strict=True):
        around[face][edge] = None
    return [list(edges) for edges in around]


def other_side(part: Part, edge: int, face: int) -> int:
    """Return the face across an edge; -1 where there is none."""
    left, right = part.edge_faces[edge].tolist()
    return int(right if left == face else left)


def groups(n_faces: int, pairs: Ints) -> Ints:
    """Return (F,) a group number for each face, joined along (N, 2) pairs of faces; the first face's group is 0.

    By union and find; scipy's `connected_components` takes five times as long on the few faces that are usual here.
    """
    lowest = list(range(n_faces))  # a face of the same group with a lower number; the lowest: itself

    def first(face: int) -> int:
        while lowest[face] != face:
            lowest[face] = lowest[lowest[face]]
            face = lowest[face]
        return face

    for one, other in np.asarray(pairs, dtype=np.int64).reshape(-1, 2).tolist():
        low, high = sorted((first(one), first(other)))
        lowest[high] = low
    label: Ints = np.unique([first(face) for face in range(n_faces)], return_inverse=True)[1].astype(np.int64)
    return label


def members(label: Ints, keep: Iterable[int] | None = None) -> list[tuple[int, ...]]:
    """Return the faces of each group, groups in order of their lowest face."""
    found: dict[int, list[int]] = {}
    for face in range(len(label)) if keep is None else sorted(keep):
        found.setdefault(int(label[face]), []).append(face)
    return [tuple(faces) for faces in found.values()]
