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

from analyzers.features._view import View
from analyzers.model.arrays import Floats, Ints
from analyzers.model.part import Part
from analyzers.tolerance import PARALLEL_COS, TWIN_PLACE_MM

_SIDES = 3  # flat sides of the outline that count, the nearest: a corner of the part
_NO_SIDE_MM = 1e9
_NEIGHBOURS = 48  # features that count, of each name the nearest
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
    for column in columns.T:
        if len(np.unique(colour)) == len(colour):
            break
        order = np.lexsort((column, colour))
        new = np.diff(colour[order]) > 0
        new |= np.diff(column[order]) > TWIN_PLACE_MM
        colour = colour.copy()
        colour[order] = np.concatenate([[0], np.cumsum(new)])
    return colour


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
        before, sizes = colour, np.bincount(colour)
        for mine in np.flatnonzero(sizes > 1).tolist():
            rows = np.flatnonzero(before == mine)
            columns = []
            for other in [mine, *np.flatnonzero(sizes).tolist()]:
                gap = np.linalg.norm(middle_mm[rows][:, None] - middle_mm[None, before == other], axis=2)
                columns.append(np.sort(gap, axis=1)[:, :_NEIGHBOURS])
            colour = _split(colour, rows, np.concatenate(columns, axis=1))
        if len(np.unique(colour)) == len(np.unique(before)):
            break
        _, colour = np.unique(colour, return_inverse=True)
    return colour


def _split(colour: Ints, rows: Ints, columns: Floats) -> Ints:
    """Return the colours with those of some rows, all of one colour, split by their columns; the others move up."""
    part = _told_apart(np.zeros(len(rows), dtype=np.int64), columns)
    if not part.any():
        return colour
    rank = np.zeros(len(colour), dtype=np.int64)
    rank[rows] = part
    number: Ints = np.unique(colour * (rank.max() + 1) + rank, return_inverse=True)[1].astype(np.int64)
    return number


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
    return colour
