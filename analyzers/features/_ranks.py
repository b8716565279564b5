"""An order among equal features that does not depend on how the part lies, nor on the order of its faces.

Equal features are told apart by where they stand, in steps; each settles only what the ones before left open:

1. how far they are from the flat sides of the outline, nearest first: what a drawing would dimension them from, and
   what stays when something inside the part changes;
2. how far they are from one another, then from all features of other names; repeated with what has been told apart
   (the refinement of colours of Weisfeiler and Leman, 1968, on exact distances);
3. on which side they stand: mirror twins have all their distances in common, but the tetrahedra that they span with
   three points of the whole part are turned the other way round.

What then is still equal is exchanged by a turn of the part onto itself, or cannot be told apart by distances.
Values are compared with one another within a tolerance, never rounded, so that no value lies on a border.
"""

from itertools import combinations

import numpy as np
from scipy.spatial import cKDTree

from analyzers.features._view import View
from analyzers.model.arrays import Floats, Ints
from analyzers.model.part import Part
from analyzers.tolerance import PARALLEL_COS, TWIN_PLACE_MM

_SIDES = 3  # flat sides of the outline that count, the nearest: a corner of the part
_NO_SIDE_MM = 1e9
_NEIGHBOURS = 48  # features that count, of each name the nearest
_LANDMARKS = 1000  # features that all others are measured to: three would do, were it not for symmetric ones
_ROUNDS = 4  # a chain of features that tell one another apart was at most three long
_HEIGHT_RATIO = 1e-4  # a tetrahedron flatter than this share of the part's surface to the power 3/2 has no side


def ranked(view: View, names: list[str], middle_mm: Floats) -> Ints:
    """Return (N,) the features in order: by name, then by place.

    Parameters
    ----------
    view : the body they are on
    names : N names; only equal ones need telling apart
    middle_mm : (N, 3) where they are
    """
    _, colour = np.unique(names, return_inverse=True)
    colour = colour.astype(np.int64)
    if len(np.unique(colour)) < len(colour):
        colour = _told_apart(colour, _from_sides(view, middle_mm))
        colour = _by_neighbours(colour, middle_mm)
    if len(np.unique(colour)) < len(colour):
        colour = _by_neighbours(_by_hand(view.part, colour, middle_mm), middle_mm)
    order: Ints = np.argsort(colour, kind="stable")
    return order


def _told_apart(colour: Ints, columns: Floats) -> Ints:
    """Return (N,) numbers that keep the order of the colours and split equal ones by (N, K) columns, first ones first.

    Within a colour, values are apart where a gap of TWIN_PLACE_MM lies between them.
    """
    order = np.argsort(colour, kind="stable")
    ahead = np.split(order, np.flatnonzero(np.diff(colour[order])) + 1)[::-1]  # the first ones last
    told = np.empty(len(colour), dtype=np.int64)
    number = 0
    while ahead:
        rows = ahead.pop()
        pieces = _pieces(rows, columns) if len(rows) > 1 else [rows]
        if len(pieces) > 1:
            ahead.extend(reversed(pieces))
            continue
        told[rows] = number
        number += 1
    return told


def _pieces(rows: Ints, columns: Floats) -> list[Ints]:
    """Return rows split by the first of their (N, K) columns that has a gap between them, lowest values first."""
    values = columns[rows]
    gaps = np.diff(np.sort(values, axis=0), axis=0) > TWIN_PLACE_MM  # (rows - 1, K)
    apart = np.asarray(gaps.any(axis=0))
    first = int(np.argmax(apart))
    if not apart[first]:
        return [rows]
    order = np.argsort(values[:, first], kind="stable")
    return np.split(rows[order], np.flatnonzero(gaps[:, first]) + 1)


def _from_sides(view: View, middle_mm: Floats) -> Floats:
    """Return (N, 3) distances from the nearest flat sides of the outline, a very large one where it has fewer."""
    part = view.part
    plane = np.flatnonzero(view.supporting)
    normal = part.face_axis[plane]
    offset = np.einsum("ij,ij->i", normal, part.face_origin_mm[plane])
    alike = (normal @ normal.T > PARALLEL_COS) & np.tri(len(normal), k=-1, dtype=bool)
    once = ~alike.any(axis=1)  # one side, not its pieces
    away = np.sort(offset[once] - middle_mm @ normal[once].T, axis=1)[:, :_SIDES]
    return np.pad(away, ((0, 0), (0, _SIDES - away.shape[1])), constant_values=_NO_SIDE_MM)


def _by_neighbours(colour: Ints, middle_mm: Floats) -> Ints:
    """Return colours refined by the distances to the members of each colour, until nothing more is told apart."""
    for _ in range(_ROUNDS):
        marks = _landmarks(colour)
        rank = np.zeros_like(colour)
        order = np.argsort(colour, kind="stable")
        for rows in np.split(order, np.flatnonzero(np.diff(colour[order])) + 1):
            if len(rows) == 1:
                continue
            own, _ = cKDTree(middle_mm[rows]).query(middle_mm[rows], k=range(1, min(_NEIGHBOURS, len(rows)) + 1))
            columns = np.concatenate([own, _gaps(middle_mm, rows, marks, colour)], axis=1)
            rank[rows] = _told_apart(np.zeros(len(rows), dtype=np.int64), columns)
        if not rank.any():
            break
        _, colour = np.unique(colour * (rank.max() + 1) + rank, return_inverse=True)
    return colour


def _landmarks(colour: Ints) -> Ints:
    """Return the features that distances are taken to: those of the rarest colours, in the order of the colours."""
    sizes = np.bincount(colour)
    rarest = np.argsort(sizes, kind="stable")
    few = rarest[np.cumsum(sizes[rarest]) <= _LANDMARKS]
    marks = np.flatnonzero(np.isin(colour, few))
    return marks[np.argsort(colour[marks], kind="stable")]


def _gaps(middle_mm: Floats, rows: Ints, marks: Ints, colour: Ints) -> Floats:
    """Return (rows, K) distances to landmarks, within each colour from the nearest on, up to _NEIGHBOURS of each."""
    gap = np.linalg.norm(middle_mm[rows][:, None] - middle_mm[None, marks], axis=2)
    kind = colour[marks]
    near = np.take_along_axis(gap, np.lexsort((gap, np.broadcast_to(kind, gap.shape)), axis=1), axis=1)
    place = np.arange(len(kind)) - np.searchsorted(kind, kind)
    return near[:, place < _NEIGHBOURS]


def _by_hand(part: Part, colour: Ints, middle_mm: Floats) -> Ints:
    """Return the colours with mirror twins told apart by the sense in which they see three points of the whole part."""
    real = part.face_area_mm2 > 0
    skin = np.average(part.face_centroid_mm[real], axis=0, weights=part.face_area_mm2[real])
    groups = [middle_mm[colour == each].mean(axis=0) for each in np.unique(colour)[:6]]
    points = [np.array(part.centroid_mm), skin, *groups]
    least = _HEIGHT_RATIO * part.area_mm2**1.5
    for three in combinations(points, 3):
        arms = np.stack(three)[None] - middle_mm[:, None]  # (N, 3, 3)
        volume = np.linalg.det(arms)
        side = np.where(np.abs(volume) > least, np.sign(volume), 0.0)
        colour = _told_apart(colour, side[:, None])
        if colour.max() == len(colour) - 1:  # each has its own
            break
    return colour
