"""Mirrorings and turns that carry most of a body onto itself, and what they leave over.

Pairs of equal pieces of the skin vote for the plane or the half turn that would exchange them, after N. J. Mitra,
L. J. Guibas, M. Pauly: Partial and approximate symmetry detection for 3D geometry, ACM Transactions on Graphics 25(3),
2006. Here the pieces are exact faces instead of surface samples, so a plane with a handful of votes can be tried out
on all faces, and what has no copy is known face by face.
"""

from dataclasses import dataclass

import numpy as np

from analyzers.features._families import labels, line_numbers, numbered
from analyzers.features._skin import Move, Skin
from analyzers.model.arrays import Bools, Floats, Ints, cross_product, unit
from analyzers.model.part import Surface
from analyzers.tolerance import TWIN_PLACE_MM, TWIN_TURN

REST_SHARE = 0.3
"""Judgement: at least this share of the pieces must have their exact copy. All others must lie on the surface of their
copy and touch what is missing, so that nothing else differs anywhere; small parts have few faces that a lost fillet
does not touch (8 of 15 have their copy on an upside-down T with four holes)."""

LEFT_OVER_MOST = 60
LEFT_OVER_FEW = 24
LEFT_OVER_SHARE = 0.35
"""Judgement: so many pieces without copy at most, and on a larger body no more than this share of all: two pockets of
four rounded corners that differ in depth are 18 pieces."""

OFF_CENTRE_RATIO = 0.05
"""Judgement: the centroid lies this near (of the diagonal) to the plane or axis; what is missing is small."""

Pairs = tuple[Ints, Ints]

_VOTES_RATIO = 0.15  # of the votes of the most popular plane or axis
_PLANES_MOST = 6
_AXES_MOST = 3
_PAIRS_MOST = 3000
_CLASS_MOST = 12
_TRIED = 48  # largest pieces, before all are
_SMALL = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Near:
    """A move that carries the body onto itself but for one place at most.

    `copy`: (P,) where each piece goes, -1 for pieces that go nowhere or are slivers; `onto`: the same, and where no
    copy is, a piece of the same surface. `lost`: pieces whose surface is not there, moved.
    """

    move: Move
    copy: Ints
    onto: Ints
    lost: Ints
    share: float  # of the pieces that have their copy


def mirrorings(skin: Skin, pairs: Pairs) -> list[Move]:
    """Return the mirrorings that exchange most pieces, most first."""
    one, other = pairs
    step = skin.centre_mm[other] - skin.centre_mm[one]
    length = np.sqrt(_dot(step, step))
    good = length > 10 * TWIN_PLACE_MM
    one, other, length = one[good], other[good], length[good]
    normal = step[good] / length[:, None]
    mirrored = skin.axis[one] - 2.0 * _dot(skin.axis[one], normal)[:, None] * normal
    offset = 0.5 * _dot(skin.centre_mm[one] + skin.centre_mm[other], normal)
    away = np.abs(offset - normal @ skin.centroid_mm)
    good = _keeps_axis(skin, one, other, mirrored) & (away <= OFF_CENTRE_RATIO * skin.view.part.diagonal_mm)
    one, normal, offset, length = one[good], normal[good], offset[good], length[good]
    rows = np.concatenate([line_numbers(normal), offset[:, None] * normal], axis=1)
    found = _elected(rows, skin.area_mm2[one], length, _PLANES_MOST)
    return [mirror_at(normal[row], float(offset[row])) for row in found]


def half_turns(skin: Skin, pairs: Pairs) -> list[Move]:
    """Return the half turns that exchange most pieces, most first."""
    one, other = pairs
    step = skin.centre_mm[other] - skin.centre_mm[one]
    length = np.sqrt(_dot(step, step))
    a, b = skin.axis[one], skin.axis[other]
    flat = skin.kind[one] == Surface.PLANE
    opposed = flat & (_dot(a, b) < -1.0 + TWIN_TURN)
    way = np.where(flat[:, None], a + b, a)
    way[opposed] = cross_product(a[opposed], step[opposed])
    way = unit(way)
    good = (np.abs(_dot(way, step)) <= TWIN_PLACE_MM) & (_dot(way, way) > 0.5) & (length > 10 * TWIN_PLACE_MM)
    turned = 2.0 * _dot(a, way)[:, None] * way - a
    middle = 0.5 * (skin.centre_mm[one] + skin.centre_mm[other])
    foot = middle - _dot(middle, way)[:, None] * way
    offset = skin.centroid_mm - foot
    aside = offset - _dot(offset, way)[:, None] * way
    away = np.sqrt(_dot(aside, aside))
    good &= _keeps_axis(skin, one, other, turned) & (away <= OFF_CENTRE_RATIO * skin.view.part.diagonal_mm)
    one, way, foot, length = one[good], way[good], foot[good], length[good]
    rows = np.concatenate([line_numbers(way), foot], axis=1)
    return [turn_about(way[row], foot[row], 2) for row in _elected(rows, skin.area_mm2[one], length, _AXES_MOST)]


def mirror_at(normal: Floats, offset_mm: float) -> Move:
    """Return the mirroring in the plane at a distance from the origin along its unit normal."""
    turn = np.eye(3) - 2.0 * normal[:, None] * normal
    return Move(turn, 2.0 * offset_mm * normal, normal, 2, mirrors=True)


def turn_about(way: Floats, foot_mm: Floats, order: int) -> Move:
    """Return the turn by a full turn divided by `order` about the line through `foot_mm` (Rodrigues' formula)."""
    angle = 2.0 * np.pi / order
    x, y, z = way
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turn = np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * cross @ cross
    return Move(turn, foot_mm - turn @ foot_mm, way, order, mirrors=False)


def nearly_kept(skin: Skin, moves: list[Move]) -> list[Near]:
    """Return what those moves carry where that nearly keep the body, in their order."""
    drawn = skin.drawn
    if len(drawn) > 2 * _TRIED:
        largest = drawn[np.argsort(-np.round(skin.area_mm2[drawn], 3), kind="stable")[:_TRIED]]
        kept = (skin.copies(moves, largest) >= 0).mean(axis=1) >= REST_SHARE
        moves = [move for move, each in zip(moves, kept.tolist(), strict=True) if each]
    found = []
    copies = skin.copies(moves, drawn)
    most = min(LEFT_OVER_MOST, max(LEFT_OVER_FEW, LEFT_OVER_SHARE * len(drawn)), (1.0 - REST_SHARE) * len(drawn))
    few = np.count_nonzero(copies < 0, axis=1) <= most
    for row in np.flatnonzero(few).tolist():
        near = _near(skin, moves[row], copies[row])
        if near is not None:
            found.append(near)
    return found


def _near(skin: Skin, move: Move, went: Ints) -> Near | None:
    """Return what a move carries where; None where the body is not nearly kept, or differs in several places."""
    drawn = skin.drawn
    alone = drawn[went < 0]
    copy = np.full(len(skin.area_mm2), -1)
    copy[drawn] = went
    if not len(alone):
        return Near(move, copy, copy, alone, 1.0)
    reached = np.zeros(len(copy), dtype=bool)
    reached[went[went >= 0]] = True
    orphan = drawn[~reached[drawn]]
    gap = skin.apart_mm(move, alone, orphan)
    same = skin.same_surface(move, alone, orphan, gap)
    known = same.any(axis=1)
    lost, extra = alone[~known], orphan[~same.any(axis=0)]
    onto = copy.copy()
    if known.any():
        nearest = orphan[np.where(same, gap, np.inf).argmin(axis=1)]
        onto[alone] = np.where(known, nearest, -1)
    if not _explained(skin, alone[known], onto, np.concatenate([lost, extra])):
        return None
    return Near(move, copy, onto, lost, 1.0 - len(alone) / len(drawn))


def _explained(skin: Skin, rest: Ints, onto: Ints, differs: Ints) -> bool:
    """Return whether each piece that only its extent tells from its copy touches what differs, or its copy does."""
    beside = np.zeros(len(onto), dtype=bool)
    beside[differs] = True
    pairs, _ = skin.touching
    touches = pairs[beside[pairs[:, 0]], 1]
    beside[touches] = True
    return bool((beside[rest] | beside[onto[rest]]).all())


def equal_pieces(skin: Skin) -> Pairs:
    """Return pairs of pieces of one form, rare forms first: a pair of a kind says more than two of a hundred fins."""
    form = skin.form[skin.drawn]
    order = np.argsort(form, kind="stable")
    _, start, count = np.unique(form[order], return_index=True, return_counts=True)
    several = np.flatnonzero(count > 1)
    several = several[np.argsort(count[several], kind="stable")]
    if len(several) and (count[several] <= _CLASS_MOST).any():
        several = several[count[several] <= _CLASS_MOST]
    one: list[Ints] = [np.empty(0, dtype=np.int64)]
    other: list[Ints] = [np.empty(0, dtype=np.int64)]
    total = 0
    for size in np.unique(count[several]).tolist():
        a, b = np.triu_indices(size, 1)
        members = skin.drawn[order[start[several[count[several] == size]][:, None] + np.arange(size)]]
        one.append(members[:, a].ravel())
        other.append(members[:, b].ravel())
        total += one[-1].size
        if total > _PAIRS_MOST:
            break
    return np.concatenate(one), np.concatenate(other)


def _keeps_axis(skin: Skin, one: Ints, other: Ints, moved: Floats) -> Bools:
    """Return whether moved normals and axes are those of the other pieces; free surfaces have none."""
    along = _dot(moved, skin.axis[other])
    flat = skin.kind[one] == Surface.PLANE
    keeps: Bools = (np.where(flat, along, np.abs(along)) > 1.0 - TWIN_TURN) | (skin.kind[one] > Surface.CONE)
    return keeps


def _dot(one: Floats, other: Floats) -> Floats:
    product: Floats = np.einsum("ij,ij->i", one, other)
    return product


def _elected(rows: Floats, area_mm2: Floats, reach_mm: Floats, most: int) -> list[int]:
    """Return the row of farthest reach of each of the largest groups of equal rows."""
    if not len(rows):
        return []
    apart = np.array([TWIN_TURN] * 6 + [TWIN_PLACE_MM] * 3)
    group = numbered(labels(rows, apart))
    count = np.bincount(group)
    surface = np.round(np.bincount(group, weights=area_mm2), 3)
    best = []
    for each in np.lexsort((-surface, -count))[:most].tolist():
        if count[each] >= _VOTES_RATIO * count.max():
            members = np.flatnonzero(group == each)
            best.append(int(members[np.argmax(np.round(reach_mm[members], 6))]))
    return best
