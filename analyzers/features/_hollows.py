"""Hollows: groups of faces that bound one removed volume. Pockets, slots and steps are hollows of different openness.

Faces of one removed volume meet in inside corners; where two volumes cross, their faces meet in outside corners. So the
groups joined by inside corners (blends looked through) are the hollows, or pieces of them. Pieces that lie on a common
surface and see one another through air are one hollow that another feature cut apart.
"""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from analyzers.features._blends import GENTLE_SHARE
from analyzers.features._view import INNER_JOINS, View
from analyzers.model.arrays import Bools, Floats, Ints, cross_product, unit
from analyzers.model.facegraph import groups, members
from analyzers.model.part import Surface
from analyzers.tolerance import PARALLEL_COS, SAME_PLACE_MM, SMOOTH_DEG, SQUARE_SIN

_NEIGHBOURS = 6  # pieces of one surface that are tried for sight, nearest first
_RUN_OUT_SHARE = 0.1  # where a slanted wall blocks most lookouts but the border lies open
_ONE_WAY = 0.25  # length of the mean of a groove's normals; those of a closed wall cancel out
_TOUCH_SHARE = 0.05  # of the larger face's size: two faces that meet along less only just touch
_BEHIND_SHARE = 0.2  # of a wall that reaches behind a floor at least
_CHANNEL_SHARE = 0.6  # of the upright walls of a slot lie along it
_EATEN_SHARE = 0.5  # where another feature took the border away and walls that lean in block the rest
_MOST_WAYS = 4  # a hollow open more ways than this is none: slanting sight then counts no longer
_FACING = -0.9  # cosine between the normals of two places that look straight at one another
_BEND = 0.64  # ... that lean together: the air between them opens by less than 130 degrees
_STRAIGHT = 0.95  # cosine of the angle up to which a wall stands straight across a way
_SQUARE = -0.1  # ... that stand square to one another at most
OPEN_SHARE = 0.98  # lookouts that must leave the part for a direction to be open; the rest covers mesh facets


@dataclass(frozen=True, slots=True)
class Hollow:
    """One removed volume as far as its faces tell."""

    faces: tuple[int, ...]
    frame: Floats  # (3, 3) rows: directions in which it was looked at
    open_share: Floats  # (6,) share of lookouts that leave the part along +-each row: + row 0, - row 0, + row 1, ...
    bordered: Bools  # (6,) its border meets an outer face that looks that way
    walled_off: Bools  # (6,) some place of it looks straight against that way
    facing_cos: float  # between the normals of the two places that face one another most; -1 = straight, 0 = square
    floors: tuple[int, ...] = ()  # floors that it shares with others, of which only one has them among its faces

    @property
    def facing_walls(self) -> bool:
        """Two of its faces, or parts of one, look straight at one another."""
        return self.facing_cos < _FACING

    @property
    def walled(self) -> bool:
        """Two of its faces, or parts of one, lean towards one another more than an open bend does."""
        return self.facing_cos < _BEND

    @property
    def open_ways(self) -> tuple[int, ...]:
        """Numbers of the open directions, 2 i for + row i, 2 i + 1 for - row i."""
        some = self.open_share > _RUN_OUT_SHARE
        sure = (self.open_share >= OPEN_SHARE) | (self.bordered & some)
        slanted = ~self.walled_off & some & (self.facing_cos > _SQUARE)
        eaten = ~self.walled_off & (self.open_share > _EATEN_SHARE)
        ways = sure | slanted | eaten
        return tuple(int(i) for i in np.flatnonzero(ways if ways.sum() <= _MOST_WAYS else sure))

    def way(self, number: int) -> Floats:
        """Return the unit vector of one direction."""
        row = self.frame[number // 2]
        return np.asarray(row if number % 2 == 0 else -row)


def find_hollows(view: View) -> list[Hollow]:
    """Return the hollows among the free faces."""
    label, seeds = _pieces(view)
    label = _rejoined(view, label, seeds)
    found = []
    in_hollow = np.zeros(view.part.n_faces, dtype=bool)
    kept = {int(label[face]) for face in np.flatnonzero(seeds)}
    candidates = [face for face in np.flatnonzero(_usable(view)).tolist() if int(label[face]) in kept]
    in_hollow[candidates] = True
    for faces in members(label, candidates):
        frame = _frame_of(view, faces)
        ways = np.stack([frame[0], -frame[0], frame[1], -frame[1], frame[2], -frame[2]])
        rows = view.lookouts.of(faces)
        share = view.lookouts.leaves(rows, ways, enclosure(view, faces)).mean(axis=0) if len(rows) else np.zeros(6)
        found.append(
            Hollow(
                faces,
                frame,
                share,
                _bordered(view, faces, ways, in_hollow),
                _walled_off(view, faces, ways),
                _facing(view, faces),
            )
        )
    return found


def enclosure(view: View, faces: tuple[int, ...]) -> tuple[int, ...]:
    """Return the faces of a hollow with the fillets between and beside them: what a look out of it may meet."""
    found, pending = set(faces), list(faces)
    while pending:
        face = pending.pop()
        for edge in view.around[face]:
            beside = view.across(edge, face)
            if beside in found or not view.smooth[edge]:
                continue
            if view.blends.is_blend[beside] and view.blends.concave[beside]:
                found.add(beside)
                pending.append(beside)
    return tuple(sorted(found))


def _usable(view: View) -> Bools:
    return view.free & ~view.blends.is_blend


def _pieces(view: View) -> tuple[Ints, Bools]:
    """Return (F,) group numbers by inside corners and (F,) which faces have one, or are hollow themselves."""
    part = view.part
    usable = _usable(view)
    left, right = part.edge_faces.T
    both = (left >= 0) & (right >= 0)
    both[both] = usable[left[both]] & usable[right[both]]
    base = _boss_bases(view)
    with np.errstate(invalid="ignore"):
        knife = part.edge_angle_deg > 360.0 - SMOOTH_DEG  # tangent from opposite sides: which side is material is noise
    corner = both & view.concave & ~knife
    corner[corner] = ~(base[left[corner]] | base[right[corner]])
    with np.errstate(invalid="ignore"):
        gentle = part.face_radius_mm > GENTLE_SHARE * part.diagonal_mm
    hollow_face = part.face_concave & usable & ~gentle
    run_on = both & view.smooth
    run_on[run_on] = (
        hollow_face[left[run_on]]
        | hollow_face[right[run_on]]
        | (view.surface[left[run_on]] == view.surface[right[run_on]])
    )
    bevelled = view.remember(INNER_JOINS, lambda: list[tuple[int, int]]())
    joins = np.concatenate([_filleted(view), np.array(bevelled).reshape(-1, 2)])
    joins = joins.astype(np.int64)
    joins = joins[usable[joins].all(axis=1)] if len(joins) else joins
    if len(joins):
        joins = joins[~base[joins].any(axis=1)]
    edges = corner | run_on
    label = groups(part.n_faces, np.concatenate([np.c_[left[edges], right[edges]], joins]))
    seeds = hollow_face.copy()
    seeds[left[corner]] = True
    seeds[right[corner]] = True
    seeds[joins.ravel()] = True
    return label, seeds


def _filleted(view: View) -> Ints:
    """Return (N, 2) faces that meet across a fillet, but for walls of another hollow that a floor only just touches."""
    part, blends = view.part, view.blends
    found = []
    for pair, blend in zip(blends.joins.tolist(), blends.join_blend.tolist(), strict=True):
        if not blends.concave[blend]:
            continue
        touch = [sum(part.edge_length_mm[e] for e in view.around[blend] if view.across(e, blend) == f) for f in pair]
        just = min(touch) < _TOUCH_SHARE * float(part.face_area_mm2[pair].max()) ** 0.5
        if not (just and (_passes_by(view, *pair) or _passes_by(view, *pair[::-1]))):
            found.append(pair)
    return np.array(found, dtype=np.int64).reshape(-1, 2)


def _passes_by(view: View, floor: int, wall: int) -> bool:
    """Return whether a wall reaches to both sides of a floor's plane: the floor ends at it and did not make it."""
    part = view.part
    if part.face_surface[floor] != Surface.PLANE:
        return False
    height = (view.points_of((wall,)) - part.face_origin_mm[floor]) @ part.face_axis[floor]
    behind = -float(height.min()) / max(float(np.ptp(height)), SAME_PLACE_MM)
    return _BEHIND_SHARE < behind < 1.0 - _BEHIND_SHARE


def _boss_bases(view: View) -> Bools:
    """Return (F,) flat faces whose outer border is all outside corners: what stands on them is a boss."""
    part = view.part
    outer = part.coedge_loop == 0
    n = part.n_faces
    inner_corner = view.concave[part.coedge_edge]
    on_border = np.bincount(part.coedge_face[outer & inner_corner], minlength=n)
    inside = np.bincount(part.coedge_face[~outer & inner_corner], minlength=n)
    fillet_border = np.zeros(n, dtype=bool)
    blend_edge = view.smooth.copy()
    beside = part.edge_faces
    for side in (0, 1):
        other = beside[:, 1 - side]
        fillet = blend_edge & (other >= 0) & view.blends.is_blend[other] & view.blends.concave[other]
        on = np.isin(part.coedge_edge, np.flatnonzero(fillet)) & outer
        fillet_border[part.coedge_face[on]] = True
    base: Bools = (on_border == 0) & (inside > 0) & ~fillet_border & (part.face_surface == Surface.PLANE)
    return base


def _nearest(point_mm: Floats) -> Ints:
    """Return (N, up to _NEIGHBOURS) rows of the other points nearest to each, equally near ones by their number."""
    _, near = cKDTree(point_mm).query(point_mm, k=range(1, min(3 * _NEIGHBOURS, len(point_mm)) + 1))
    near = np.sort(near, axis=1)
    gap = np.linalg.norm(point_mm[:, None] - point_mm[near], axis=2)
    nearest = np.argsort(gap, axis=1, kind="stable")[:, 1 : _NEIGHBOURS + 1]
    return np.take_along_axis(near, nearest, axis=1)


def _rejoined(view: View, label: Ints, seeds: Bools) -> Ints:
    """Return the groups after joining pieces of one surface that see one another."""
    part = view.part
    usable = np.flatnonzero(_usable(view) & ~view.supporting)
    kept = {int(label[face]) for face in np.flatnonzero(seeds)}
    of_hollow = np.array([int(label[face]) in kept for face in range(part.n_faces)])
    order = np.argsort(view.surface[usable], kind="stable")
    pairs: list[tuple[int, int]] = []
    sorted_faces = usable[order]
    cuts = np.flatnonzero(np.diff(view.surface[sorted_faces])) + 1
    for faces in np.split(sorted_faces, cuts):
        if len(faces) < 2 or not of_hollow[faces].any():
            continue
        for i, near in enumerate(_nearest(part.face_centroid_mm[faces])):
            for j in near.tolist():
                first, second = int(faces[i]), int(faces[j])
                if label[first] == label[second] or not (of_hollow[first] or of_hollow[second]):
                    continue
                if view.lookouts.see_one_another(first, second) and not _back_to_back(view, label, first, second):
                    pairs.append((first, second))
    if not pairs:
        return label
    anchor: dict[int, int] = {}
    same = [(anchor.setdefault(int(label[face]), face), face) for face in range(part.n_faces)]
    return groups(part.n_faces, np.array(same + pairs))


def _back_to_back(view: View, label: Ints, first: int, second: int) -> bool:
    """Return whether two pieces open away from one another, with more body between them than either reaches."""
    part = view.part
    way = unit(part.face_centroid_mm[second] - part.face_centroid_mm[first])
    near, far = (np.flatnonzero(label == label[face]).tolist() for face in (first, second))
    away = (part.face_normal[near] @ way).min() < _FACING and (part.face_normal[far] @ way).max() > -_FACING
    if not away:
        return False
    one, other = (view.points_of(piece) @ way for piece in (near, far))
    return bool(other.min() - one.max() > max(np.ptp(one), np.ptp(other)))


def _frame_of(view: View, faces: tuple[int, ...]) -> Floats:
    """Return the part's own frame where the hollow follows one of its directions, else a frame of the hollow's own."""
    part = view.part
    axis = part.face_axis[list(faces)]
    known = np.isfinite(axis).all(axis=1)
    axis, area = axis[known], part.face_area_mm2[list(faces)][known]
    if not len(axis):
        return view.frame
    close = PARALLEL_COS
    along = np.abs(axis @ view.frame.T)  # (N, 3)
    if (along > close).any():
        own = _channel_frame(axis, area, view.frame)
        own = _prism_frame(view, faces) if own is None else own
        return view.frame if own is None else own
    for i in range(len(axis)):  # walls all round a common direction: the direction may be the part's though no wall is
        turned = cross_product(axis[i], axis)
        strong = np.linalg.norm(turned, axis=1) > 0.05
        if strong.any() and (np.abs(unit(turned[strong]) @ view.frame.T) > close).any():
            own = _prism_frame(view, faces)
            return view.frame if own is None else own
    first = axis[int(np.argmax(area))]
    lying = np.abs(axis @ first) < 0.1
    second = (
        axis[lying][int(np.argmax(area[lying]))] if lying.any() else view.frame[np.argmin(np.abs(view.frame @ first))]
    )
    second = unit(second - (second @ first) * first)
    return np.stack([first, second, cross_product(first, second)])


def _channel_frame(axis: Floats, area: Floats, frame: Floats) -> Floats | None:
    """Return the frame of a hollow between parallel walls that lies at a slant to the part; None for all others.

    `axis`: (N, 3) normals of its planes and axes of its round faces; `area`: (N,).
    """
    along = np.abs(axis @ frame.T)  # (N, 3)
    for row, up in enumerate(frame):
        upright = along[:, row] < SQUARE_SIN
        if (along[upright] > PARALLEL_COS).any() or upright.sum() < 2 or not (along[:, row] > PARALLEL_COS).any():
            continue
        wall, size = axis[upright], area[upright]
        first = wall[int(np.argmax(size))]
        against = wall @ first < -PARALLEL_COS
        own = np.stack([up, first, cross_product(up, first)])
        if (wall @ wall.T < -PARALLEL_COS).any() and (np.abs(wall @ own.T) > PARALLEL_COS).any(axis=1).all():
            return own  # square in itself, as a keyway at any angle of a shaft
        if against.any() and size[np.abs(wall @ first) > PARALLEL_COS].sum() > _CHANNEL_SHARE * size.sum():
            return own
    return None


def _prism_frame(view: View, faces: tuple[int, ...]) -> Floats | None:
    """Return the frame of a flat-sided groove along one of the part's directions that opens at a slant to the others.

    None for all else: where a flat wall follows another direction of the part, or the normals cancel out.
    """
    part, rows = view.part, list(faces)
    if (part.face_surface[rows] != Surface.PLANE).any():
        return None
    _, first = np.unique(view.surface[rows], return_index=True)  # each flank once: pieces of one may be cut away
    normal = part.face_axis[rows][first]
    for path in view.frame:
        if (np.abs(normal @ path) > SQUARE_SIN).any():
            continue
        mean = normal.mean(axis=0)
        follows = (np.abs(normal @ view.frame.T) > PARALLEL_COS).any()
        if follows or np.linalg.norm(mean) < _ONE_WAY or np.abs(view.frame @ unit(mean)).max() > PARALLEL_COS:
            return None
        return np.stack([path, unit(mean), cross_product(path, unit(mean))])
    return None


def _bordered(view: View, faces: tuple[int, ...], ways: Floats, in_hollow: Bools) -> Bools:
    """Return (6,) whether an outside corner joins the hollow to an outer plane that looks along each way."""
    part = view.part
    beside = {view.across(edge, face) for face in faces for edge in view.around[face] if view.convex[edge]}
    outer = [f for f in beside if f >= 0 and not in_hollow[f] and part.face_surface[f] == Surface.PLANE]
    if not outer:
        return np.zeros(6, dtype=bool)
    return np.asarray((part.face_axis[outer] @ ways.T > 0.9).any(axis=0))


def _walled_off(view: View, faces: tuple[int, ...], ways: Floats) -> Bools:
    """Return (6,) whether some place of the hollow looks straight against each way."""
    looks = view.lookouts.normal[view.lookouts.of(faces)] @ ways.T
    return np.asarray((looks < -_STRAIGHT).any(axis=0))


def _facing(view: View, faces: tuple[int, ...]) -> float:
    """Return the smallest cosine between the normals of two places that lie in front of one another; 1 = none do."""
    rows = view.lookouts.of(faces)
    if not len(rows):
        return 1.0
    normal, point = view.lookouts.normal[rows], view.lookouts.foot_mm[rows]
    height = normal @ (point - point.mean(axis=0)).T  # of each place, along the normal of each
    ahead = height > np.diag(height)[:, None] + view.lookouts.lift_mm
    return float(np.min(normal @ normal.T, where=ahead & ahead.T, initial=1.0))
