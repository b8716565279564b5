"""How cutters come to each cavity from its setup: what enters, what leaves nothing, how far they must stick out.

From the height map of the setup's direction, so to its resolution; corner radii and depths of the plan itself come from
the B-rep. What only the map shows: passages between walls and islands, and what stands taller than a cavity's own mouth
beside it, where the holder would touch.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.ndimage import distance_transform_edt, label

from analyzers.features.boss import Boss
from analyzers.features.hole import Hole
from analyzers.features.pocket import Pocket
from analyzers.features.region import Region
from analyzers.features.slot import Slot
from analyzers.features.step import Step
from analyzers.model.arrays import Bools, Floats, Ints, among, triangle_normals, unit
from analyzers.model.feature import Feature
from analyzers.model.part import Part, Surface
from analyzers.plan.frame import same_way
from analyzers.plan.heightmap import HeightMap, Place, height_map
from analyzers.plan.rolling import entering_mm, finishing_mm, holding, left_by_disc, resolution_mm, room_mm
from analyzers.tolerance import SAME_PLACE_MM, SMOOTH_DEG

MOST_LEVELS: Final = 4
"""Floors of one cavity at different heights that are looked at: those with most cells."""

SAME_LEVEL_MM: Final = 0.02
"""Cells this little above a floor are free for a cutter at its level: ten times the least chord of the triangulation,
below any step that is drawn."""

HOLDER_STEP_MM: Final = 0.5
"""What stands around a cavity is kept by distance in steps of this."""

Cavity = Pocket | Slot | Step


@dataclass(frozen=True, eq=False)
class Level:
    """One floor of a cavity as seen from above, in a window of the height map."""

    place: Place  # of the window in the map: the floor and a largest cutter's diameter around it
    height_mm: float
    wanted: Bools  # (u, v) the floor itself, with the rounds along its walls
    room_mm: Floats  # (u, v) distance to the nearest material above that height; 0 in it


@dataclass(frozen=True, slots=True)
class Around:
    """What the map shows of one cavity or boss from one direction.

    `above_mm[k]`: how far the highest material within k * HOLDER_STEP_MM of it stands above its own upper rim.
    `flats_mm`: of flats beside a hole, how far each lies from its wall, and how far above its rim: exactly, for a
    holder that just clears a wall must do so however the part lies on the map.
    """

    feature: str
    enters_mm: float | None  # largest flat end mill that comes down to the floor somewhere; None = no flat floor seen
    finishes_mm: float | None  # largest that leaves nothing on the floor: the corners' own where the map agrees
    resolution_mm: float  # of these two, where they come from the map
    above_mm: tuple[float, ...] = ()
    levels: tuple[Level, ...] = ()
    flats_mm: tuple[tuple[float, float], ...] = ()

    def above(self, distance_mm: float) -> float:
        """Return how far the highest material within a distance stands above the rim; 0 where nothing does.

        What a holder just touches is not within.
        """
        if distance_mm <= 0.0 or not self.above_mm:
            return 0.0
        flat = max((above for off, above in self.flats_mm if off < distance_mm - SAME_PLACE_MM), default=0.0)
        return max(flat, self.above_mm[min(int(np.ceil(distance_mm / HOLDER_STEP_MM)), len(self.above_mm) - 1)])


@dataclass(frozen=True, eq=False)
class View:
    """The part as one approach sees it."""

    direction: Floats  # (3,)
    chart: HeightMap
    around: dict[str, Around]  # by feature


def view_from(
    part: Part, features: Iterable[Feature], direction: Floats, axes: Floats, most_mm: float, holder_mm: float
) -> View | None:
    """Return what the map shows of the features that are made from a direction; None where it would show nothing.

    Holes count where something of the part stands higher than their mouth.

    Parameters
    ----------
    most_mm : diameter of the largest cutter that is asked for
    holder_mm : diameter of the widest holder
    """
    top = float((part.mesh.point_mm @ direction).max())
    holes = [
        each for each in features if isinstance(each, Hole) and _rim_mm(part, each, direction) < top - SAME_PLACE_MM
    ]
    wanted = [each for each in features if isinstance(each, Pocket | Slot | Step | Boss | Region)]
    if not wanted and not holes:
        return None
    chart = height_map(part, direction, axes, margin_mm=most_mm / 2.0)
    around = {each.id: around_hole(part, chart, each, holder_mm / 2.0) for each in holes}
    for each in wanted:
        if isinstance(each, Boss) and len(part.mesh.corners_mm(each.faces)):
            around[each.id] = around_boss(part, chart, each, most_mm + holder_mm / 2.0)
        elif isinstance(each, Pocket | Slot | Step):
            around[each.id] = around_cavity(part, chart, each, most_mm, holder_mm / 2.0)
    return View(direction, chart, around)


def _rim_mm(part: Part, feature: Feature, direction: Floats) -> float:
    """Return the highest place of a feature along a direction."""
    along = part.mesh.corners_mm(feature.faces) @ direction
    return float(along.max()) if len(along) else np.inf


def around_cavity(part: Part, chart: HeightMap, feature: Cavity, most_mm: float, beside_mm: float) -> Around:
    """Return what the map shows of a cavity, and what stands beside it up to a distance.

    A cutter of the corners' own radius is tried first; the search for a smaller one costs ten times as much. What
    stands beside it is known as far as a largest cutter's diameter, at most.
    """
    found = tuple(levels(part, chart, feature, most_mm))
    fineness = resolution_mm(chart.cell_mm, part.mesh.chord_mm)
    above = _above(part, chart, feature, [(each.place, each.wanted) for each in found], beside_mm)
    if not found:
        return Around(feature.id, None, None, fineness, above)
    cell = chart.cell_mm
    enters = max(entering_mm(each.room_mm, each.wanted, most_mm) for each in found)
    radius = feature.corner_radius_mm if same_way(chart.axes[2], np.array(feature.direction)) else None
    limit = most_mm if radius is None else min(2.0 * radius, most_mm)
    if not any(left_by_disc(each.room_mm, each.wanted, limit / 2.0, cell).any() for each in found):
        return Around(feature.id, max(enters, limit), limit, fineness, above, found)
    finishes = min(finishing_mm(each.room_mm, each.wanted, cell, limit) for each in found)
    return Around(feature.id, enters, finishes, fineness, above, found)


def around_hole(part: Part, chart: HeightMap, hole: Hole, beside_mm: float) -> Around:
    """Return what stands beside a hole up to a distance from its wall, higher than its mouth."""
    own = np.zeros(chart.face.shape, dtype=bool)
    row, column = chart.cells(np.array([hole.position_mm]))[0].tolist()
    own[row, column] = True
    rows, columns = chart.around(own, beside_mm + hole.diameter_mm / 2.0)
    u, v = np.ogrid[rows, columns]
    off_wall = np.hypot(u - row, v - column) * chart.cell_mm - hole.diameter_mm / 2.0
    rim = _rim_mm(part, hole, chart.axes[2])
    flat = np.flatnonzero((part.face_surface == Surface.PLANE) & same_way(part.face_normal, chart.axes[2]))
    top = np.where(among(chart.face[rows, columns], flat), -np.inf, chart.top_mm[rows, columns])
    above = _risen(chart, top, off_wall, rim, beside_mm)
    flats = tuple(_flats_beside(part, chart.axes, hole, rim, flat, beside_mm))
    fineness = resolution_mm(chart.cell_mm, part.mesh.chord_mm)
    return Around(hole.id, None, None, fineness, above, flats_mm=flats)


def _flats_beside(
    part: Part, axes: Floats, hole: Hole, rim_mm: float, flats: Ints, beside_mm: float
) -> Iterator[tuple[float, float]]:
    """Yield of each flat within a distance of a hole's wall how far off it is, and how far above the hole's rim."""
    place = np.array(hole.position_mm) @ axes.T
    for face in flats[part.face_point_mm[flats] @ axes[2] > rim_mm + SAME_PLACE_MM].tolist():
        corner = part.mesh.corners_mm((face,)).reshape(-1, 3, 3) @ axes.T
        off = float(off_triangles_mm(place[:2], corner[:, :, :2]).min(initial=np.inf)) - hole.diameter_mm / 2.0
        if off <= beside_mm:
            yield max(off, 0.0), float(corner[0, 0, 2]) - rim_mm


def off_triangles_mm(point: Floats, corner: Floats) -> Floats:
    """Return (N,) how far a point (2,) lies from each of N triangles (N, 3, 2) in its plane; 0 = within.

    Examples
    --------
    >>> off_triangles_mm(np.array([2.0, 0.5]), np.array([[[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]]))
    array([1.11803399])
    """
    side = np.roll(corner, -1, axis=1) - corner
    to = point - corner
    length = np.maximum((side**2).sum(axis=2), np.finfo(float).tiny)
    foot = ((to * side).sum(axis=2) / length).clip(0.0, 1.0)
    off = np.linalg.norm(to - foot[:, :, None] * side, axis=2).min(axis=1)
    turn = side[:, :, 0] * to[:, :, 1] - side[:, :, 1] * to[:, :, 0]
    within = (turn >= 0.0).all(axis=1) | (turn <= 0.0).all(axis=1)
    return np.where(within, 0.0, off)


def around_boss(part: Part, chart: HeightMap, boss: Boss, beside_mm: float) -> Around:
    """Return what stands beside a boss up to a distance, higher than the boss itself."""
    own = _cells_of(part, chart, boss.faces)
    own = own if own.any() else _box(part, chart, boss)
    place = chart.around(own, beside_mm)
    above = _above(part, chart, boss, [(place, own[place])], beside_mm)
    return Around(boss.id, None, None, resolution_mm(chart.cell_mm, part.mesh.chord_mm), above)


def levels(part: Part, chart: HeightMap, feature: Cavity, most_mm: float) -> Iterator[Level]:
    """Yield the flat floors of a cavity, the largest first; a through one has the lower end of its walls for a floor.

    A floor with rounds along its walls is looked at from just above those: there the corners have their full radius. A
    hollow of round or slanted faces alone has none.
    """
    faces = np.array(feature.faces, dtype=np.int64)
    floors = faces[(part.face_surface[faces] == Surface.PLANE) & same_way(part.face_normal[faces], chart.axes[2])]
    floors.sort()
    low, high = extent_mm(part, feature, chart)
    rise = getattr(feature, "floor_radius_mm", None) or 0.0
    if not len(floors) and not _all_upright(part, feature, chart.axes[2]):
        return
    if len(floors):
        heights = np.unique(np.round(part.face_point_mm[floors] @ chart.axes[2], 2))[:MOST_LEVELS].tolist()
    else:
        heights = [low]
    window = _window(part, chart, floors.tolist() if len(floors) else feature.faces)
    own = among(chart.face[window], floors) if len(floors) else np.ones(chart.face[window].shape, dtype=bool)
    for height in heights:
        level = min(height + rise, high)
        if not level < high - SAME_PLACE_MM:
            continue
        if len(floors):
            wanted = own & (np.abs(chart.top_mm[window] - height) <= SAME_LEVEL_MM)
        else:
            wanted = _largest(own & (chart.top_mm[window] <= level + SAME_LEVEL_MM))
        place = window
        if len(floors) and rise:
            free = chart.top_mm <= level + SAME_LEVEL_MM
            place = chart.whole
            wanted = holding(free & (chart.top_mm >= height - SAME_LEVEL_MM), chart.filled(wanted, window))
        if wanted.any():
            around = chart.around(wanted, most_mm, place)
            room = room_mm(chart.top_mm[around] <= level + SAME_LEVEL_MM, chart.cell_mm)
            yield Level(around, level, chart.filled(wanted, place)[around], room)


def _all_upright(part: Part, feature: Feature, direction: Floats) -> bool:
    """Return whether a feature has walls alone, as what goes right through."""
    corner = part.mesh.corners_mm(feature.faces).reshape(-1, 3, 3)
    normal = unit(triangle_normals(corner))
    return bool((np.abs(normal @ direction) <= np.sin(np.radians(SMOOTH_DEG))).all())


def extent_mm(part: Part, feature: Feature, chart: HeightMap) -> tuple[float, float]:
    """Return lowest and highest place of a feature along the spindle."""
    along = part.mesh.corners_mm(feature.faces) @ chart.axes[2]
    return (float(along.min()), float(along.max())) if len(along) else (0.0, 0.0)


def _box(part: Part, chart: HeightMap, feature: Feature) -> Bools:
    """Return (U, V) the cells of the box around a feature, as seen from above."""
    box = np.zeros(chart.face.shape, dtype=bool)
    box[_window(part, chart, feature.faces)] = True
    return box


def _cells_of(part: Part, chart: HeightMap, faces: Iterable[int]) -> Bools:
    """Return (U, V) the cells at which some faces are the highest: looked for in the box around them alone."""
    own = np.zeros(chart.face.shape, dtype=bool)
    place = _window(part, chart, faces)
    own[place] = among(chart.face[place], np.array(sorted(faces), dtype=np.int64))
    return own


def _window(part: Part, chart: HeightMap, faces: Iterable[int]) -> Place:
    """Return the rows and columns of the cells that the corners of some faces' triangles lie over."""
    corner = chart.cells(part.mesh.corners_mm(faces))
    if not len(corner):  # none of the faces could be triangulated
        return slice(0, 0), slice(0, 0)
    (first, left), (last, right) = corner.min(axis=0).tolist(), corner.max(axis=0).tolist()
    return slice(first, last + 1), slice(left, right + 1)


def _largest(cells: Bools) -> Bools:
    """Return the largest connected patch."""
    if not cells.any():
        return np.zeros_like(cells)
    patch, _ = label(cells)
    largest: Bools = patch == int(np.argmax(np.bincount(patch.ravel())[1:])) + 1
    return largest


def _above(
    part: Part, chart: HeightMap, feature: Feature, places: list[tuple[Place, Bools]], beside_mm: float
) -> tuple[float, ...]:
    """Return how far what stands around some cells rises above the feature's upper rim, by distance from them."""
    _, rim = extent_mm(part, feature, chart)
    found = [
        _risen(chart, chart.top_mm[place], distance_transform_edt(~cells) * chart.cell_mm, rim, beside_mm)
        if chart.top_mm[place].max() - rim > chart.cell_mm
        else _nothing_risen(beside_mm)
        for place, cells in places
    ]
    return tuple(max(each) for each in zip(*found, strict=True))


def _nothing_risen(beside_mm: float) -> tuple[float, ...]:
    """Return what `_risen` does where nothing stands higher, without the distances."""
    return (0.0,) * (int(np.ceil(beside_mm / HOLDER_STEP_MM)) + 1)


def _risen(chart: HeightMap, top_mm: Floats, off_mm: Floats, rim_mm: float, beside_mm: float) -> tuple[float, ...]:
    """Return how far the heights of a window rise above a rim, by their distance from it."""
    steps = len(_nothing_risen(beside_mm))
    ring = np.maximum(np.ceil(off_mm / HOLDER_STEP_MM), 0.0).astype(np.int64)
    near = ring < steps
    highest = np.zeros(steps)
    np.maximum.at(highest, ring[near], top_mm[near] - rim_mm)
    risen = np.maximum.accumulate(highest)
    risen[risen <= chart.cell_mm] = 0.0  # slopes of its own rim
    return tuple(np.round(risen, 3).tolist())
