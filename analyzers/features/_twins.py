"""What a body that is nearly symmetric lacks in one place: a copy that lost its fillet, a hole of another size."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations

import numpy as np

from analyzers.features._families import BLENDS, PATTERNED, same_size
from analyzers.features._gaps import SIZE_RATIO
from analyzers.features._skin import Move, Skin
from analyzers.features._symmetry import Near
from analyzers.features._view import View
from analyzers.features.hole import Hole
from analyzers.model.arrays import Floats, Ints
from analyzers.model.feature import NOTHING, SHARP_EDGE, Feature
from analyzers.tolerance import TWIN_PLACE_MM, TWIN_TURN

OUTSIDE_PAIRS = 3
"""Judgement: one broken outside edge without its copy is a mark or a lead-in more often than a slip; after three pairs
of the same size that have theirs it is a slip. An inside corner without its fillet is asked about at once, because the
cutter leaves one there anyway."""

_FILLED_SHARE = 0.95  # of the points of an absent feature that must lie in material where its copy would be
_SAMPLES_MOST = 64  # points of a feature that are looked up; evenly taken where it has more triangles
_NEAR_RATIO = 0.25  # recesses whose middles differ by less than this share of their size stand in one place


@dataclass(frozen=True, slots=True, eq=False)
class Lack:
    """One place at which the copy of `like` was expected. Features are rows of the part's list."""

    like: int
    instead: int | None  # what is there
    place_mm: Floats  # (3,)
    found: str  # in words, where `instead` is None
    move: Move
    sure: bool  # on the strength of this one move; else only when another move expects the same
    likes: tuple[int, ...] = ()  # all whose copy is expected there


@dataclass(frozen=True, eq=False)
class Body:
    """A body under comparison with itself."""

    view: View
    skin: Skin
    features: tuple[Feature, ...]
    middle_mm: Floats  # (N, 3) of each feature, counted from the middle of the box
    area_mm2: Floats  # (N,) of the faces of each feature
    owner: Ints  # (P,) the feature of each piece, -1 = the body's own outline
    orders: tuple[Ints, ...] = ()  # members of its rows, grids and circles

    def keeps_outline(self, near: Near) -> bool:
        """Return whether only features are lost, nothing of the body's own outline."""
        return bool((self.owner[near.lost] >= 0).all())

    @cached_property
    def direction(self) -> Floats:
        """(N, 3) of each feature."""
        return np.array([each.direction for each in self.features])

    @cached_property
    def centre_mm(self) -> Floats:
        """(3,) middle of the box, from which places are counted."""
        return np.asarray(self.view.part.box_mm.mean(axis=0))

    @cached_property
    def drawn(self) -> Ints:
        """Pieces of features that are no slivers."""
        return self.skin.drawn[self.owner[self.skin.drawn] >= 0]

    def twins(self, near: Near) -> Ints:
        """Return (N,) the feature that is the exact copy of each; -1 where there is none."""
        pieces = self.drawn
        went = np.where(near.copy[pieces] >= 0, self.owner[near.copy[pieces]], -1)
        count = len(self.features)
        low, high = np.full(count, count), np.full(count, -2)
        np.minimum.at(low, self.owner[pieces], went)
        np.maximum.at(high, self.owner[pieces], went)
        twins: Ints = np.where(low == high, high, -1)
        return twins


def owners(skin: Skin, features: Sequence[Feature]) -> Ints:
    """Return (P,) the feature each piece belongs to; -1 for the outline, which is never copied."""
    owner = np.full(len(skin.piece), -1)
    for row, feature in enumerate(features):
        if feature.face_class in PATTERNED:
            owner[list(feature.faces)] = row
    return owner[skin.first]


def lacks(body: Body, near: Near) -> list[Lack]:
    """Return what the move expects and does not find; nothing where that is more than one place, or the outline."""
    rows = np.unique(body.owner[near.lost])
    if not len(rows) or not body.keeps_outline(near):
        return []
    blends = [row for row in rows.tolist() if body.features[row].face_class in BLENDS]
    mains = [row for row in rows.tolist() if row not in blends]
    if not mains:
        return _lost_blends(body, near, blends)
    beside = {int(row) for main in mains for row in _beside(body, main)}
    return _lost_recesses(body, near, mains) if beside.issuperset(blends) else []


def _beside(body: Body, row: int) -> Ints:
    """Return the features that touch a feature."""
    pairs, _ = body.skin.touching
    touched: Ints = np.unique(body.owner[pairs[body.owner[pairs[:, 0]] == row, 1]])
    return touched


# --- holes, pockets, slots, steps, bosses, grooves ---


def _lost_recesses(body: Body, near: Near, rows: list[int]) -> list[Lack]:
    most = 1 if near.move.order == 2 else 2  # places; one is shared by two rows at most
    if len(rows) > 2 * most or any(_faces_itself(body, near, row) for row in rows):
        return []
    there = {row: _standing_there(body, near, row) for row in rows}
    if any(other == row or (other is not None and not _comparable(body, row, other)) for row, other in there.items()):
        return []
    if len({frozenset({row, other}) for row, other in there.items()}) > most:
        return []
    found = []
    for row, other in there.items():
        place = near.move.points(_position(body, row))
        if other is None and not _is_filled(body, near, row):
            continue
        sure = other is not None or _completes_order(body, near, row)
        found.append(Lack(row, other, place + body.centre_mm, NOTHING, near.move, sure))
    return found


def _standing_there(body: Body, near: Near, row: int) -> int | None:
    """Return the feature of the same class that stands where the copy of a feature is expected."""
    feature = body.features[row]
    same = np.array([each.face_class == feature.face_class for each in body.features])
    gap = body.middle_mm - near.move.points(body.middle_mm[row])
    away = np.sqrt(np.einsum("ij,ij->i", gap, gap))
    if isinstance(feature, Hole):
        depth = np.array([getattr(each, "depth_mm", None) or 0.0 for each in body.features])
        height = np.einsum("ij,ij->i", gap, body.direction)
        along = np.abs(body.direction @ near.move.vectors(body.direction[row])) >= 1.0 - TWIN_TURN
        same &= along & (away**2 - height**2 <= TWIN_PLACE_MM**2) & (away < 2.0 * depth)
    else:
        same &= away < _NEAR_RATIO * float(body.area_mm2[row]) ** 0.5
    nearest = int(np.argmin(np.where(same, away, np.inf)))
    return nearest if same[nearest] else None


def _comparable(body: Body, row: int, other: int) -> bool:
    """Return whether one may be a slip of the other: a port among screw holes is not."""
    area = body.area_mm2[[row, other]]
    return bool(area.max() <= SIZE_RATIO * area.min())


def _faces_itself(body: Body, near: Near, row: int) -> bool:
    """Return whether the copy would lie in line with the feature: two ends of one bore, two sides of one web."""
    way = body.direction[row]
    step = near.move.points(body.middle_mm[row]) - body.middle_mm[row]
    in_line = float(np.linalg.norm(step - (step @ way) * way)) <= TWIN_PLACE_MM
    return in_line and abs(float(near.move.vectors(way) @ way)) > 1.0 - TWIN_TURN


def _is_filled(body: Body, near: Near, row: int) -> bool:
    """Return whether material fills the place where the copy of a recess is expected (a boss: air)."""
    part = body.view.part
    own = np.zeros(part.n_faces, dtype=bool)
    own[list(body.features[row].faces)] = True
    rows = np.flatnonzero(own[part.mesh.triangle_face])
    rows = rows[:: -(-len(rows) // _SAMPLES_MOST)]
    point = part.mesh.point_mm[part.mesh.triangle[rows]].mean(axis=1) - body.centre_mm
    inside = body.view.geometry.inside(near.move.points(point) + body.centre_mm)
    share = float(inside.mean())
    return (1.0 - share if body.features[row].face_class == "boss" else share) >= _FILLED_SHARE


def _completes_order(body: Body, near: Near, row: int) -> bool:
    """Return whether the feature stands in a row, grid or circle of which all other members have their copies."""
    twins = body.twins(near)
    for members in body.orders:
        if row in members:
            others = twins[members[members != row]]
            return bool((others >= 0).all()) and set(others.tolist()).isdisjoint(members.tolist())
    return False


# --- fillets, edge rounds, chamfers ---


@dataclass(frozen=True, slots=True, eq=False)
class _Ridge:
    """Two pieces that a blend joins, moved, and the longest sharp edge between them; -1 where they do not meet."""

    pieces: tuple[int, int]
    edge: int


def _lost_blends(body: Body, near: Near, rows: list[int]) -> list[Lack]:
    found = []
    for row in rows:
        ridges = list(_ridges(body, near, row))
        sharp = [each for each in ridges if each.edge >= 0]
        part = body.view.part
        if sharp:
            longest = max(sharp, key=lambda each: float(part.edge_length_mm[each.edge]))
            place, other, words = part.edge_mid_mm[longest.edge], None, SHARP_EDGE
        else:
            other = _blend_between(body, near, rows, row, ridges)
            if other is None:
                return []
            place, words = body.middle_mm[other] + body.centre_mm, ""
        sure = body.features[row].kind == "fillet" or _pairs_like(body, near, row) >= OUTSIDE_PAIRS
        found.append(Lack(row, other, place, words, near.move, sure))
    return found if _one_place(body, near, found) else []


def _one_place(body: Body, near: Near, found: list[Lack]) -> bool:
    """Return whether all that is lost or differs belongs to one copy: on one side of the mirror, and connected."""
    pairs = {frozenset({each.like, each.instead}) for each in found if each.instead is not None}
    lost = [each.like for each in found if each.instead is None]
    if len(pairs) + len(lost) == 1:
        return True
    if not near.move.mirrors or (pairs and lost):
        return False
    height = body.middle_mm @ near.move.way - 0.5 * float(near.move.shift_mm @ near.move.way)
    if lost and np.ptp(np.sign(height[lost])) > 0:
        return False
    side = lost or [max(pair, key=lambda row: float(height[row])) for pair in pairs if None not in pair]
    return _connected(body, side)


def _connected(body: Body, rows: list[int]) -> bool:
    """Return whether features hang together by pieces of the skin that they touch."""
    pairs, _ = body.skin.touching
    touched = [set(pairs[body.owner[pairs[:, 0]] == row, 1].tolist()) for row in rows]
    reached, waiting = touched[0], touched[1:]
    while near := [each for each in waiting if each & reached]:
        reached = reached.union(*near)
        waiting = [each for each in waiting if not each & reached]
    return not waiting


def _ridges(body: Body, near: Near, row: int) -> Iterator[_Ridge]:
    """Yield the pairs of pieces that a lost blend joins, where the move puts them."""
    skin, part = body.skin, body.view.part
    pairs, edges = skin.touching
    inside = body.features[row].kind == "fillet"
    wanted = body.view.concave if inside else body.view.convex
    for piece in near.lost[body.owner[near.lost] == row].tolist():
        beside = np.unique(pairs[pairs[:, 0] == piece, 1])
        for one, other in combinations(beside[body.owner[beside] != row].tolist(), 2):
            if ((pairs[:, 0] == one) & (pairs[:, 1] == other)).any():
                continue
            a, b = int(near.onto[one]), int(near.onto[other])
            if a < 0 or b < 0:
                continue
            between = edges[(pairs[:, 0] == a) & (pairs[:, 1] == b)]
            between = between[wanted[between]]
            longest = int(between[np.argmax(part.edge_length_mm[between])]) if len(between) else -1
            yield _Ridge((a, b), longest)


def _blend_between(body: Body, near: Near, rows: list[int], row: int, ridges: list[_Ridge]) -> int | None:
    """Return the other blend without copy that joins one of the pairs of pieces, nearest to where one is expected."""
    pairs, _ = body.skin.touching
    spot = near.move.points(body.middle_mm[row])
    for other in sorted(rows, key=lambda each: float(np.linalg.norm(body.middle_mm[each] - spot))):
        touched = set(pairs[body.owner[pairs[:, 0]] == other, 1].tolist())
        if other != row and any(touched.issuperset(each.pieces) for each in ridges):
            return other
    return None


def _pairs_like(body: Body, near: Near, row: int) -> int:
    """Return how many pairs of features of the same kind and size the move exchanges."""
    twins = body.twins(near)
    moved = np.flatnonzero((twins >= 0) & (twins != np.arange(len(twins))))
    like = [each for each in moved.tolist() if _same_radius(body, row, each)]
    return len(like) // 2


def _same_radius(body: Body, row: int, other: int) -> bool:
    """Return whether two blends have one size, however long they are."""
    one, two = body.features[row], body.features[other]
    return one.kind == two.kind and one.callout() == two.callout()


def _position(body: Body, row: int) -> Floats:
    return np.array(body.features[row].position_mm) - body.centre_mm


# --- what all moves say together ---


def agreed(body: Body, found: list[Lack]) -> list[Lack]:
    """Return one lack for each place, from what all moves expect.

    Of four corners with three holes, two moves and more expect the fourth at one place, each for another hole: it is
    missing. Of four corners with one hole, they expect its copy at several places: the one is extra, and nothing is
    missing; the same goes for two of eight. The odd one of several copies differs from more than one.
    """
    kept: list[Lack] = []
    for each in found:
        if each.instead is None:
            same = {other.like for other in found if other.instead is None and _at(other, each)}
            spots = [other for other in found if other.like in same and other.instead is None]
            wanted = (len(same) > 1 or each.sure) and all(_at(other, each) for other in spots)
        else:
            mine, its = _partners(found, each.like), _partners(found, each.instead)
            wanted = its > mine or (its == mine == 1 and _is_odd(body, each.instead, each.like))
        if wanted and not any(_at(other, each) for other in kept):
            likes = {other.like for other in found if _at(other, each) and other.instead == each.instead}
            kept.append(replace(each, likes=tuple(sorted(likes))))
    return kept


def _at(one: Lack, other: Lack) -> bool:
    if one.instead is not None and one.instead == other.instead:
        return True
    return float(np.linalg.norm(one.place_mm - other.place_mm)) <= 10 * TWIN_PLACE_MM


def _partners(found: list[Lack], row: int) -> int:
    """Return from how many others a feature differs."""
    pairs = {(each.like, each.instead) for each in found if each.instead is not None}
    return len({a if b == row else b for a, b in pairs if row in (a, b)})


def _is_odd(body: Body, row: int, other: int) -> bool:
    """Return whether the first of two is the odd one: fewer features are of its size; else it is the smaller one."""
    count = [sum(_same_size(body, each, third) for third in range(len(body.features))) for each in (row, other)]
    if count[0] != count[1]:
        return count[0] < count[1]
    return bool(body.area_mm2[row] < body.area_mm2[other])


def _same_size(body: Body, one: int, other: int) -> bool:
    areas = (float(body.area_mm2[one]), float(body.area_mm2[other]))
    return same_size(body.features[one], body.features[other], areas)
