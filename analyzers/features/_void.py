"""Looks from faces into the air in front of them: what is open, and which faces see one another."""

import numpy as np

from analyzers.model.arrays import Bools, Floats, Ints, triangle_normals, unit
from analyzers.model.geometry import Geometry
from analyzers.model.part import Part

_PER_FACE = 24  # lookouts on each face
_GOLDEN = np.array([0.7548776662466927, 0.5698402909980532])  # the R2 sequence: even cover without chance


class Lookouts:
    """Points just off every face: row `first[f] : first[f + 1]` belong to face f."""

    def __init__(self, part: Part, geometry: Geometry) -> None:
        self._part, self._geometry = part, geometry
        self.lift_mm = part.mesh.chord_mm + 1e-4 * part.diagonal_mm  # clear of the mesh's own facets
        face, foot, normal = _spread(part)
        point = foot + self.lift_mm * normal
        clear = ~geometry.inside(point)  # in a sharp corner the lift can end inside the neighbour
        self.face, self.foot_mm, self.normal, self.point_mm = face[clear], foot[clear], normal[clear], point[clear]
        self.first = np.searchsorted(self.face, np.arange(part.n_faces + 1))

    def of(self, faces: tuple[int, ...]) -> Ints:
        """Return the rows of some faces."""
        rows = [np.arange(self.first[f], self.first[f + 1]) for f in faces]
        return np.concatenate(rows) if rows else np.empty(0, dtype=np.int64)

    def escapes(self, rows: Ints, directions: Floats) -> Bools:
        """Return (N, D) whether a straight line from lookout n in direction d leaves the part for good."""
        return self._first_faces(rows, directions) < 0

    def leaves(self, rows: Ints, directions: Floats, own: tuple[int, ...]) -> Bools:
        """Return (N, D) whether a straight line from lookout n in direction d meets none of the own faces first."""
        return ~np.isin(self._first_faces(rows, directions), own)

    def _first_faces(self, rows: Ints, directions: Floats) -> Ints:
        """Return (N, D) the face that a straight line from lookout n in direction d meets first; -1 = none."""
        origin = np.repeat(self.point_mm[rows], len(directions), axis=0)
        ahead = np.tile(directions, (len(rows), 1))
        _, face = self._geometry.first_hits(origin, ahead)
        return face.reshape(len(rows), len(directions))

    def see_one_another(self, first: int, second: int, tries: int = 8) -> bool:
        """Return whether some straight line joins lookouts of two faces through air."""
        a, b = self.point_mm[self.of((first,))], self.point_mm[self.of((second,))]
        if not len(a) or not len(b):
            return False
        gap = np.linalg.norm(a[:, None, :] - b[None, :, :], axis=2)
        nearest = np.argsort(gap, axis=None, kind="stable")[:: max(1, gap.size // (4 * tries))][:tries]
        start, end = a[nearest // len(b)], b[nearest % len(b)]
        length = np.linalg.norm(end - start, axis=1)
        distance, _ = self._geometry.first_hits(start, unit(end - start))
        return bool((distance >= length - 1e-9).any())


def _spread(part: Part) -> tuple[Ints, Floats, Floats]:
    """Return (N,) face, (N, 3) point and (N, 3) outward normal of points spread evenly over each face."""
    mesh = part.mesh
    corner = mesh.point_mm[mesh.triangle]
    cross = triangle_normals(corner)
    size = np.linalg.norm(cross, axis=1)
    first = np.searchsorted(mesh.triangle_face, np.arange(part.n_faces + 1))
    count = np.diff(first)
    faces = np.flatnonzero(count > 0)
    step = (np.arange(_PER_FACE) + 0.5) / _PER_FACE
    turn = np.modf(np.outer(np.arange(1, _PER_FACE + 1), _GOLDEN))[0]  # (K, 2)
    fold = turn.sum(axis=1) > 1.0
    turn[fold] = 1.0 - turn[fold]
    weight = np.c_[1.0 - turn.sum(axis=1), turn]  # (K, 3) barycentric
    owner, rows = np.repeat(faces, _PER_FACE), []
    for face in faces.tolist():
        share = np.cumsum(size[first[face] : first[face + 1]])
        rows.append(first[face] + np.searchsorted(share, step * share[-1]).clip(max=len(share) - 1))
    row = np.concatenate(rows)
    point = np.einsum("nk,nkj->nj", np.tile(weight, (len(faces), 1)), corner[row])
    return owner, point, unit(cross[row])
