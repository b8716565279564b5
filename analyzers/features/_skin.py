"""The skin of a body as pieces that can be told apart wherever the body lies: what its symmetries are looked for in."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.spatial import cKDTree

from analyzers.features._families import labels, numbered
from analyzers.features._view import View
from analyzers.model.arrays import Bools, Floats, Ints
from analyzers.model.facegraph import groups
from analyzers.model.part import Surface
from analyzers.tolerance import SLIVER_MM, TWIN_AREA_RATIO, TWIN_PLACE_MM, TWIN_SIZE_MM, TWIN_TURN

_APART = 1e3  # what tells pieces of different form apart in one list of coordinates, in diagonals of the body
_PLACE_SHARE = 0.5  # of a piece's size (root of its area) by which what it lost or gained may shift its middle
_FREE_SHARE = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Move:
    """A mirroring, or a turn about an axis, in coordinates counted from the middle of the body's box.

    `turn`: (3, 3); `shift_mm`: (3,); `way`: (3,) normal of the mirror, or axis; `order`: how often it must be done to
    come back, 2 for mirrorings and half turns.
    """

    turn: Floats
    shift_mm: Floats
    way: Floats
    order: int
    mirrors: bool

    def points(self, place_mm: Floats) -> Floats:
        """Return (N, 3) moved points."""
        moved: Floats = place_mm @ self.turn.T + self.shift_mm
        return moved

    def vectors(self, way: Floats) -> Floats:
        """Return (N, 3) moved directions."""
        moved: Floats = way @ self.turn.T
        return moved

    def back(self) -> "Move":
        """Return the move that undoes this one."""
        return Move(self.turn.T, -self.shift_mm @ self.turn, self.way, self.order, self.mirrors)


@dataclass(frozen=True, eq=False)
class Skin:
    """Connected faces of one surface taken together: P pieces, which do not depend on how an exporter split them.

    Coordinates are counted from the middle of the body's box.
    """

    view: View
    piece: Ints  # (F,) the piece of each face
    first: Ints  # (P,) a face of each piece
    area_mm2: Floats  # (P,)
    centre_mm: Floats  # (P, 3) middle of the area
    origin_mm: Floats  # (P, 3) as `Part.face_origin_mm`
    form: Ints  # (P,) equal for pieces that could be copies of one another
    drawn: Ints  # pieces that are no slivers

    @cached_property
    def kind(self) -> Ints:
        """(P,) Surface."""
        return self.view.part.face_surface[self.first]

    @cached_property
    def side(self) -> Floats:
        """(P,) one number for kind of surface and side of the material."""
        part = self.view.part
        return np.asarray(part.face_surface[self.first] + 0.5 * part.face_concave[self.first])

    @cached_property
    def sizes(self) -> Floats:
        """(P, 3) radius, tube radius, half angle; nan where there is none."""
        part = self.view.part
        columns = (part.face_radius_mm, part.face_tube_radius_mm, part.face_half_angle_deg)
        return np.array([column[self.first] for column in columns]).T

    @cached_property
    def axis(self) -> Floats:
        """(P, 3) outward normal of a plane, axis of a round piece."""
        return self.view.part.face_axis[self.first]

    @cached_property
    def centroid_mm(self) -> Floats:
        """(3,) of the body."""
        part = self.view.part
        centroid: Floats = np.array(part.centroid_mm) - part.box_mm.mean(axis=0)
        return centroid

    @cached_property
    def _far(self) -> Floats:
        """(P,) a fourth coordinate that keeps pieces of different form apart."""
        return self.form.astype(float) * (_APART * self.view.part.diagonal_mm)

    @cached_property
    def _tree(self) -> cKDTree:
        return cKDTree(np.concatenate([self.centre_mm, self._far[:, None]], axis=1))

    def copies(self, moves: Sequence[Move], pieces: Ints) -> Ints:
        """Return (K, N) the piece that is the copy of each of N pieces under each of K moves; -1 = none."""
        turn = np.array([each.turn for each in moves]).reshape(-1, 3, 3)
        shift = np.array([each.shift_mm for each in moves]).reshape(-1, 1, 3)
        spot = self.centre_mm[pieces] @ turn.transpose(0, 2, 1) + shift  # (K, N, 3)
        rows = np.concatenate([spot, np.broadcast_to(self._far[pieces, None], (*spot.shape[:2], 1))], axis=2)
        away, found = self._tree.query(rows, distance_upper_bound=TWIN_PLACE_MM)
        near = np.isfinite(away)
        other = np.where(near, found, 0)
        along = np.einsum("knj,knj->kn", self.axis[pieces] @ turn.transpose(0, 2, 1), self.axis[other])
        kind = self.kind[pieces]
        turned = np.where(kind == Surface.PLANE, along, np.abs(along)) < 1.0 - TWIN_TURN
        copies: Ints = np.where(near & ~(turned & (kind <= Surface.TORUS) & (kind != Surface.SPHERE)), found, -1)
        return copies

    def apart_mm(self, move: Move, one: Ints, other: Ints) -> Floats:
        """Return (N, M) how far the middle of a piece, moved, is from that of another one."""
        step = move.points(self.centre_mm[one])[:, None, :] - self.centre_mm[other]
        apart: Floats = np.sqrt(np.einsum("ijk,ijk->ij", step, step))
        return apart

    def same_surface(self, move: Move, one: Ints, other: Ints, gap: Floats) -> Bools:
        """Return (N, M) whether a piece, moved, would be another one but for how far each of them reaches.

        Both lie on one surface, and about one place: two pocket floors can be one plane. Free surfaces have no numbers
        to compare, so their place must agree better. `gap`: (N, M) how far apart their middles are, mm.
        """
        size = np.sqrt(np.maximum(self.area_mm2[one][:, None], self.area_mm2[other]))
        alike = (self.side[one][:, None] == self.side[other]) & (gap <= _PLACE_SHARE * size)
        rows, columns = np.nonzero(alike)
        a, b = one[rows], other[columns]
        kind = self.kind[a]
        sized = ~(np.abs(self.sizes[a] - self.sizes[b]) > TWIN_SIZE_MM).any(axis=1)  # where there is none: nan, not >
        lean = np.einsum("ij,ij->i", move.vectors(self.axis[a]), self.axis[b])
        offset = move.points(self.origin_mm[a]) - self.origin_mm[b]
        along = np.einsum("ij,ij->i", offset, self.axis[b])
        apart = np.einsum("ij,ij->i", offset, offset)
        away = np.where(kind == Surface.PLANE, along**2, np.where(kind == Surface.CYLINDER, apart - along**2, apart))
        turned = np.where((kind == Surface.PLANE) | (kind == Surface.CONE), lean, np.abs(lean)) <= 1.0 - TWIN_TURN
        near = sized & (away <= TWIN_PLACE_MM**2) & ((kind == Surface.SPHERE) | ~turned)
        free = kind > Surface.TORUS
        near[free] = (gap[rows, columns] <= _FREE_SHARE * size[rows, columns])[free]
        found = np.zeros(alike.shape, dtype=bool)
        found[rows[near], columns[near]] = True
        return found

    @cached_property
    def touching(self) -> tuple[Ints, Ints]:
        """Pairs of pieces that share an edge, both ways round, and that edge; -1 nowhere."""
        part = self.view.part
        left, right = self.piece[part.edge_faces[:, 0]], self.piece[part.edge_faces[:, 1]]
        edge = np.flatnonzero((part.edge_faces >= 0).all(axis=1) & (left != right))
        pairs = np.array([left[edge], right[edge]]).T
        return np.concatenate([pairs, pairs[:, ::-1]]), np.concatenate([edge, edge])


def skin_of(view: View) -> Skin:
    """Return the pieces of a body's skin."""
    part = view.part
    left, right = part.edge_faces.T
    joined = (left >= 0) & (right >= 0) & (left != right)
    joined[joined] = view.surface[left[joined]] == view.surface[right[joined]]
    piece = groups(part.n_faces, part.edge_faces[joined]) if joined.any() else np.arange(part.n_faces)
    count = int(piece.max()) + 1
    first = np.full(count, part.n_faces)
    np.minimum.at(first, piece, np.arange(part.n_faces))
    area = np.bincount(piece, weights=part.face_area_mm2).astype(float)
    middle = part.box_mm.mean(axis=0)
    weighted = (part.face_centroid_mm - middle) * part.face_area_mm2[:, None]
    moment = np.array([np.bincount(piece, weights=column) for column in weighted.T]).T
    border = np.bincount(
        piece[part.coedge_face], weights=part.edge_length_mm[part.coedge_edge], minlength=count
    ).astype(float)
    return Skin(
        view=view,
        piece=piece,
        first=first,
        area_mm2=area,
        centre_mm=moment / np.maximum(area, 1e-12)[:, None],
        origin_mm=part.face_origin_mm[first] - middle,
        form=_forms(view, first, area, border),
        drawn=np.flatnonzero(2.0 * area > SLIVER_MM * border),
    )


def _forms(view: View, first: Ints, area: Floats, border: Floats) -> Ints:
    """Return (P,) a number for each piece, equal for pieces of one kind, side and size."""
    part = view.part
    numbers = np.empty((len(first), 5))
    numbers[:, 0] = area
    columns = (part.face_radius_mm, part.face_tube_radius_mm, part.face_half_angle_deg)
    for each, column in enumerate(columns, start=1):
        numbers[:, each] = column[first]
    numbers[:, 4] = part.face_surface[first] + 0.5 * part.face_concave[first]
    numbers[np.isnan(numbers)] = 0.0
    apart = np.full(numbers.shape, TWIN_SIZE_MM)
    apart[:, 0] = TWIN_AREA_RATIO * area + TWIN_SIZE_MM * border
    apart[:, 4] = 0.1
    return numbered(labels(numbers, apart))
