"""From which directions each feature and each face can be cut: what the choice of setups has to cover.

A direction points out of the part towards the spindle. A place can be cut from a direction when its surface does not
turn away from it (normal · direction >= 0: zero is a wall cut with the cutter's side, more is a floor or a slope) and
nothing of the part stands above it. A wall must also be low enough for the longest end mill that fits. Holes are
drilled along their axis: blind ones from their opening, through ones from both ends. A sharp inside corner can only
be cut from a direction across it, as the edge between a floor and a wall.

The blank comes squared to the part's box: flat faces on that box are its own and ask for no setup. Nor do the two ends
of a bar.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from analyzers.features.boss import Boss
from analyzers.features.groove import Groove
from analyzers.features.hole import Hole
from analyzers.features.outer_round import OuterRound
from analyzers.features.pocket import Pocket
from analyzers.features.slot import Slot
from analyzers.features.step import Step
from analyzers.model.arrays import Bools, Floats, Ints, rows_of
from analyzers.model.facegraph import concave_edges
from analyzers.model.feature import Feature
from analyzers.model.part import Part
from analyzers.model.report import Facts
from analyzers.plan.frame import Frame, distinct, parallel, same_way
from analyzers.plan.samples import sample
from analyzers.plan.sight import Sight
from analyzers.plan.turning import turned_from_outside
from analyzers.tolerance import LIMIT_SLACK, SAME_LENGTH_MM, SQUARE_DEG

FACED_COS: Final = 0.1
"""A surface that leans less than this towards the spindle is cut with the cutter's side and counts by its height."""

MOST_DIRECTIONS: Final = 40
"""More candidates than this are not tried: the features' own come first, then those of the largest faces."""

STRAY_RATIO: Final = 0.05
"""A share of a face's samples below this is taken for the roughness of the triangulation, not for a hidden place."""


@dataclass(frozen=True, slots=True)
class Reaches:
    """How far down the shop's cutters come, in mm."""

    wall: Callable[[float | None], float]  # end mills in a gap of a width; None = in the open
    hole: Callable[[float], float]  # drills and end mills in a hole of a diameter


@dataclass(frozen=True, slots=True)
class Need:
    """One thing to be cut in one go, with the candidate directions that can."""

    feature: Feature | None  # None = a patch of outer faces, or the far end of a cavity
    faces: tuple[int, ...]
    reached: Bools  # (D,)
    area_mm2: float = 0.0  # of a patch
    far_end: bool = False  # of what is cut from both ends


@dataclass(frozen=True, slots=True)
class Coverage:
    """D candidate directions and everything that has to be cut."""

    directions: Floats  # (D, 3)
    needs: tuple[Need, ...]
    face_reached: Bools  # (F, D) nearly all of the face can be cut from the direction
    unreached_faces: tuple[int, ...]  # faces, wholly or partly, that no candidate direction reaches
    table: "Table"
    owned: Bools  # (F,) faces of the blank's box and of features that are made whole
    patches: tuple[Need, ...]  # those of `needs` that are loose faces
    by_feature: dict[int, tuple[Feature, tuple[Need, ...]]]  # by id(); the feature is kept: its id stays its own


@dataclass(frozen=True, slots=True)
class Table:
    """What each direction reaches, sample by sample."""

    part: Part
    face: Ints  # (N,) rising
    directions: Floats  # (D, 3)
    reached: Bools  # (N, D)
    reaches: Reaches
    turning: Floats | None
    clear: Bools  # (N, D) the direction sees it, however deep it lies

    def share(self, faces: tuple[int, ...]) -> Floats:
        """Return (D,) the share of some faces' samples that each direction reaches."""
        rows = rows_of(self.face, faces)
        share: Floats = self.reached[rows].mean(axis=0) if len(rows) else np.zeros(len(self.directions))
        return share


def cover(
    facts: Facts, frame: Frame, reaches: Reaches, turning: Floats | None = None, like: Coverage | None = None
) -> Coverage:
    """Return the candidate directions and what each of them reaches.

    Parameters
    ----------
    facts : features and faces of one body
    frame : its main directions
    reaches : how far down the shop's cutters come
    turning : (3,) axis of a part that goes into a lathe: it turns what looks to an end from that end, as a mill would
        face it, and from either end what lies between two larger diameters
    like : of the same faces, with features of other sizes: what its directions see is kept, not looked at again, and
        the faces of a feature that is left out need no cutting
    """
    table = _table(facts, frame, reaches, turning) if like is None else replace(like.table, part=facts.part)
    owned = frame.on_box(facts.part) if like is None else like.owned.copy()
    known = {} if like is None else like.by_feature
    by_feature = {
        id(feature): known[id(feature)] if id(feature) in known else (feature, tuple(_needs(feature, table)))
        for feature in facts.features
    }
    for feature, asked in by_feature.values():
        if id(feature) not in known and any(each.feature is feature for each in asked):
            owned[list(feature.faces)] = True
    if like is not None and np.array_equal(owned, like.owned):
        patches, unreached = like.patches, like.unreached_faces
    else:
        patches, unreached = _patches(table, owned)
    return Coverage(
        directions=table.directions,
        needs=(*(need for _, asked in by_feature.values() for need in asked), *patches),
        face_reached=_by_face(table) if like is None else like.face_reached,
        unreached_faces=unreached,
        table=table,
        owned=owned,
        patches=patches,
        by_feature=by_feature,
    )


def _needs(feature: Feature, table: "Table") -> Iterator[Need]:
    """Yield what has to be cut of a feature in one go; nothing where it is cut face by face, as blends are."""
    reached = _feature_reach(feature, table)
    far = same_way(table.directions, -np.array(feature.direction, dtype=float), SQUARE_DEG)
    if reached is not None and milled_from_both_ends(feature, table.reaches.wall) and (reached & far).any():
        aside = reached & ~far & ~same_way(table.directions, np.array(feature.direction, dtype=float), SQUARE_DEG)
        yield Need(feature=feature, faces=feature.faces, reached=reached & ~far)
        yield Need(feature=None, faces=feature.faces, reached=far | aside, far_end=True)
        return
    if reached is not None:
        yield Need(feature=feature, faces=feature.faces, reached=reached)
    if isinstance(feature, Hole) and from_both_ends(feature, table.reaches):
        yield Need(feature=None, faces=feature.faces, reached=far, far_end=True)


def _table(facts: Facts, frame: Frame, reaches: Reaches, turning: Floats | None) -> Table:
    """Return what the features' own directions and the six main ones reach, and others for what these leave over."""
    part, samples = facts.part, sample(facts.part)
    sight = Sight(part, samples)
    turned = np.zeros(len(samples.face), dtype=bool)
    if turning is not None:
        turned = turned_from_outside(part, samples, sight, turning)

    def columns(some: Floats) -> tuple[Bools, Bools]:
        found = np.array([column(each) for each in some], dtype=bool).reshape(len(some), 2, len(turned))
        return found[:, 0].T, found[:, 1].T

    def column(direction: Floats) -> tuple[Bools, Bools]:
        clear = sight.clear(direction)
        wall = np.abs(sight.facing(direction)) < FACED_COS
        height = samples.point_mm @ direction
        top = np.full(part.n_faces, -np.inf)
        np.fmax.at(top, samples.face, height)
        low = top[samples.face] - height <= reaches.wall(None)
        return clear & (~wall | low | turned), clear

    directions = distinct(np.concatenate([frame.six, _own_directions(facts)]), SQUARE_DEG)[:MOST_DIRECTIONS]
    reached, clear = columns(directions)
    if turning is not None:
        ends = parallel(directions, turning)
        reached &= ~turned[:, None] | ends
        reached |= (turned & ~reached.any(axis=1))[:, None] & ends
    holes = [face for each in facts.features if isinstance(each, Hole) for face in each.faces]
    left = ~reached.any(axis=1) & ~np.isin(samples.face, holes)
    for others in (_normals_of(part, samples.face[left]), frame.diagonals):
        if not left.any():
            break
        more = distinct(np.concatenate([directions, others]))[len(directions) : MOST_DIRECTIONS]
        further, seen = columns(more)
        useful = further[left].any(axis=0)
        directions = np.concatenate([directions, more[useful]])
        reached, clear = np.hstack([reached, further[:, useful]]), np.hstack([clear, seen[:, useful]])
        left &= ~reached.any(axis=1)
    return Table(part, samples.face, directions, reached, reaches, turning, clear)


def hidden_faces(coverage: Coverage, direction: Floats, faces: Iterable[int]) -> tuple[int, ...]:
    """Return which of some faces turn away from a direction, or lie under other material, wholly or partly."""
    table = coverage.table
    rows = np.flatnonzero(same_way(table.directions, direction))
    hidden = np.bincount(table.face, weights=~table.clear[:, rows].any(axis=1), minlength=table.part.n_faces)
    count = np.maximum(np.bincount(table.face, minlength=table.part.n_faces), 1)
    return tuple(face for face in faces if hidden[face] / count[face] > STRAY_RATIO)


def all_hidden(coverage: Coverage, direction: Floats, faces: tuple[int, ...]) -> bool:
    """Return whether nothing of some faces is seen along a direction: other material stands over all of it."""
    table = coverage.table
    rows = np.flatnonzero(same_way(table.directions, direction))
    clear = table.clear[rows_of(table.face, faces)][:, rows]
    return bool(clear.size) and float(clear.any(axis=1).mean()) <= STRAY_RATIO


def from_both_ends(hole: Hole, reaches: Reaches) -> bool:
    """Return whether a through hole is cut from both ends: too deep from one, or wider below a narrower length."""
    if not hole.through:
        return False
    reach = reaches.hole(hole.diameter_mm)
    too_deep = hole.depth_mm is not None and hole.depth_mm > reach >= hole.depth_mm / 2.0
    return too_deep or _widens_again(hole)


def milled_from_both_ends(feature: Feature, reach_mm: Callable[[float | None], float]) -> bool:
    """Return whether a cavity is cut half from either end: right through, and too deep for what goes into its corners.

    `reach_mm`: how far down the end mills come that go into a gap of a width.
    """
    if not open_below(feature) or not isinstance(feature, Pocket | Slot):
        return False
    depth, width, radius = feature.depth_mm, feature.width_mm, feature.corner_radius_mm
    if depth is None or width is None:
        return False
    reach = reach_mm(min(width, 2.0 * radius) if radius else width)
    return depth > reach * (1.0 + LIMIT_SLACK) and depth / 2.0 <= reach


def _widens_again(hole: Hole) -> bool:
    """Return whether a hole is wider below a narrower length."""
    narrowest = hole.diameter_mm
    widths = [max(each.diameter_mm, each.end_diameter_mm) for each in hole.segments]
    below = False
    for segment, width in zip(hole.segments, widths, strict=True):
        if below and width > narrowest + SAME_LENGTH_MM:
            return True
        below |= segment.end_diameter_mm <= narrowest + SAME_LENGTH_MM
    return False


def _own_directions(facts: Facts) -> Floats:
    """Return (N, 3) directions the features name, and the far ends of through holes."""
    found: list[Floats] = []
    for feature in facts.features:
        if isinstance(feature, OuterRound | Groove):  # they look sideways out of the bar, and are cut from its ends
            continue
        own = np.array(feature.direction, dtype=float)
        found.append(own)
        if isinstance(feature, Hole) and feature.through:
            found.append(-own)
    return np.array(found).reshape(-1, 3)


def _normals_of(part: Part, faces: Ints) -> Floats:
    """Return the normals of some faces, the largest face first."""
    some = np.unique(faces)
    order = np.argsort(-part.face_area_mm2[some], kind="stable")
    normals: Floats = part.face_normal[some[order]]
    return normals[np.isfinite(normals).all(axis=1)]


def _feature_reach(feature: Feature, table: Table) -> Bools | None:
    """Return (D,) directions that make a whole feature; None where it is cut face by face, as blends are."""
    direction = np.array(feature.direction, dtype=float)
    own, far = (same_way(table.directions, each, SQUARE_DEG) for each in (direction, -direction))
    if isinstance(feature, Hole):
        return own | far if feature.through and not from_both_ends(feature, table.reaches) else own
    if isinstance(feature, Groove) and feature.side != "face" and table.turning is not None:
        return parallel(table.directions, table.turning)
    if not isinstance(feature, Pocket | Slot | Step | Boss | Groove):
        return None
    if open_below(feature):  # either end is as good; which of them it was recognised from says nothing
        own = own | far
    whole = (table.share(feature.faces) >= 1.0 - STRAY_RATIO) & (own | _low_enough(feature, table))
    if table.turning is not None:  # a lathe's end is no side of what lies across its axis
        whole &= own | ~parallel(table.directions, table.turning)
    square = ~_along_sharp_corners(table.part, feature.faces, table.directions)
    if (whole & square).any():
        return whole & square
    return whole | own


def open_below(feature: Feature) -> bool:
    """Return whether a cavity goes right through the part; an open slot's `through` is along its length."""
    if isinstance(feature, Slot):
        return feature.through and feature.ends != "open"
    return isinstance(feature, Pocket) and feature.through


def _low_enough(feature: Feature, table: Table) -> Bools:
    """Return (D,) True where an end mill that fits into the feature reaches down its whole extent."""
    width = getattr(feature, "width_mm", None) if isinstance(feature, Pocket | Slot) else None
    corner = table.part.mesh.corners_mm(feature.faces)
    if not len(corner):  # none of its faces could be triangulated
        return np.zeros(len(table.directions), dtype=bool)
    along = corner @ table.directions.T
    low: Bools = np.ptp(along, axis=0) <= table.reaches.wall(width)
    return low


def _along_sharp_corners(part: Part, faces: tuple[int, ...], directions: Floats) -> Bools:
    """Return (D,) True where a sharp inside corner of the faces runs along the direction: no cutter leaves one."""
    inside = _sharp_corners(part, faces)
    if not len(inside):
        return np.zeros(len(directions), dtype=bool)
    along = parallel(directions[:, None, :], part.edge_tangent[inside][None, :, :])
    return np.asarray(along.any(axis=1))


def sharp_corners_along(part: Part, faces: tuple[int, ...], direction: Floats) -> Ints:
    """Return the edges of some faces that are sharp inside corners along a direction."""
    inside = _sharp_corners(part, faces)
    return inside[parallel(part.edge_tangent[inside], direction)]


def _sharp_corners(part: Part, faces: tuple[int, ...]) -> Ints:
    within = part.edges_within(faces)
    found: Ints = within[concave_edges(part, within)]
    return found


def _patches(table: Table, owned: Bools) -> tuple[tuple[Need, ...], tuple[int, ...]]:
    """Return the loose faces as patches of equal reach, and the faces that are partly out of all reach."""
    rows = np.flatnonzero(~owned[table.face])
    if not len(rows):
        return (), ()
    kinds, which = np.unique(table.reached[rows], axis=0, return_inverse=True)
    which = which.reshape(-1)
    per_face = np.zeros((table.part.n_faces, len(kinds)))
    np.add.at(per_face, (table.face[rows], which), 1.0)
    per_face /= np.maximum(per_face.sum(axis=1, keepdims=True), 1.0)
    patches: list[Need] = []
    unreached: set[int] = set()
    for k, kind in enumerate(kinds):
        faces = tuple(int(i) for i in np.flatnonzero(per_face[:, k] > STRAY_RATIO))
        if not kind.any():
            unreached.update(faces)
        elif faces:
            area = float(per_face[:, k] @ table.part.face_area_mm2)
            patches.append(Need(feature=None, faces=faces, reached=kind, area_mm2=area))
    return tuple(patches), tuple(sorted(unreached))


def _by_face(table: Table) -> Bools:
    """Return (F, D) True where nearly all samples of the face are reached."""
    count = np.bincount(table.face, minlength=table.part.n_faces)
    share = np.zeros((table.part.n_faces, len(table.directions)))
    np.add.at(share, table.face, table.reached.astype(float))
    by_face: Bools = share >= (1.0 - STRAY_RATIO) * np.maximum(count, 1)[:, None]
    return by_face
