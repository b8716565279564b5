"""Sizes of a hollow: its rim, its mouth, its inside radii and its islands, all in millimetres."""

from collections.abc import Iterable

import numpy as np

from analyzers.features._hollows import Hollow
from analyzers.features._reach import reach
from analyzers.features._view import View
from analyzers.model.arrays import Floats, cross_product
from analyzers.model.part import Surface
from analyzers.tolerance import PARALLEL_COS, SAME_PLACE_MM

_WALL = 0.1  # the normal of a slot's wall has at least this part across the slot, shallow V slots included
UPRIGHT = float(np.sin(np.radians(10.0)))  # a wall leans less than this; drafts are 1 to 5 degrees
_STEEP = 0.5  # an edge within 60 degrees of the cutter's axis is an upright corner, also between drafted walls


def rim_faces(view: View, faces: Iterable[int]) -> list[int]:
    """Return the faces and the chamfers and edge rounds on their rim, which continue the walls upwards."""
    rim = set(faces)
    for face in sorted(rim):
        for edge in view.around[face]:
            beside = view.across(edge, face)
            if beside < 0 or view.concave[edge] or view.part.face_surface[beside] == Surface.CONE:
                continue  # a chamfered shaft end goes all round: its far side is no part of this rim
            if view.claimed_by[beside] in ("chamfer", "edge_round") and _runs_along(view, edge, beside):
                rim.add(beside)
    return sorted(rim)


def _runs_along(view: View, edge: int, strip: int) -> bool:
    """Return whether an edge is a side of a strip rather than one of its ends, with which it only meets a wall."""
    lengths = view.part.edge_length_mm
    return bool(lengths[edge] >= 0.5 * max(lengths[each] for each in view.around[strip]))


def mouth(view: View, faces: tuple[int, ...], direction: Floats, side: Floats) -> float | None:
    """Return the width of a slot at its top: between the tops of its two walls, measured along `side`.

    None where it has no wall on one of the sides.
    """
    part = view.part
    looks = {face: float(part.face_normal[face] @ side) for face in faces}
    left = [face for face, look in looks.items() if look > _WALL]
    right = [face for face, look in looks.items() if look < -_WALL]
    if not left or not right:
        return None
    near, far = _top_places(view, left, direction, side), _top_places(view, right, direction, side)
    return float(far.min() - near.max())


def _top_places(view: View, walls: list[int], direction: Floats, side: Floats) -> Floats:
    """Return where along `side` the highest corners of some walls lie."""
    points = view.points_of(walls)
    height = points @ direction
    return np.asarray(points[height > height.max() - SAME_PLACE_MM] @ side)


def corner_radius(view: View, walls: list[int], direction: Floats) -> float | None:
    """Return the smallest upright inside corner: 0 = sharp, None = none at all."""
    part = view.part
    members = set(walls)
    upright = np.abs(part.face_axis @ direction) > PARALLEL_COS
    rounds = [f for f in walls if part.face_surface[f] == Surface.CYLINDER and part.face_concave[f] and upright[f]]
    radii = [float(part.face_radius_mm[f]) for f in rounds]
    sharp = [e for f in walls for e in view.around[f] if view.concave[e] and view.across(e, f) in members]
    radii += [0.0 for e in sharp if abs(float(part.edge_tangent[e] @ direction)) > _STEEP]
    radii += [
        radius
        for blend, radius in _fillets_between(view, members, members)
        if abs(float(part.face_axis[blend] @ direction)) > _STEEP
    ]
    return min(radii, default=None)


def floor_radius(view: View, walls: list[int], floors: tuple[int, ...]) -> float | None:
    """Return the smallest radius between a wall and the floor: 0 = sharp, None = no floor."""
    if not floors:
        return None
    wall_set = set(walls)
    sharp = any(view.concave[e] and view.across(e, f) in wall_set for f in floors for e in view.around[f])
    radii = [radius for _, radius in _fillets_between(view, set(floors), wall_set)]
    return 0.0 if sharp else min(radii, default=0.0)


def _fillets_between(view: View, first: set[int], second: set[int]) -> list[tuple[int, float]]:
    """Return the fillets of known radius that join a face of one set with a face of the other."""
    blends = view.blends
    found = []
    for join in sorted({join for face in first for join in view.joins[face]}):
        left, right = blends.joins[join].tolist()
        blend = int(blends.join_blend[join])
        joins = (left in first and right in second) or (left in second and right in first)
        if joins and blends.concave[blend] and np.isfinite(blends.radius_mm[blend]):
            found.append((blend, float(blends.radius_mm[blend])))
    return found


def islands(view: View, floors: tuple[int, ...]) -> int:
    """Return how many inner borders of the floors have material standing on them."""
    part = view.part
    found: set[tuple[int, int]] = set()
    for floor in floors:
        for row in view.coedges[floor]:
            if part.coedge_loop[row] == 0:
                continue
            edge = int(part.coedge_edge[row])
            fillet = view.smooth[edge] and view.blends.concave[view.across(edge, floor)]
            if view.concave[edge] or fillet:
                found.add((floor, int(part.coedge_loop[row])))
    return len(found)


def slot_box(
    view: View, hollow: Hollow, direction: Floats, fallback: tuple[float, float]
) -> tuple[float, float, float | None]:
    """Return length along the slot, width at its mouth, and its largest width where that is more (an undercut)."""
    ends = [hollow.way(w) for w in hollow.open_ways if abs(float(hollow.way(w) @ direction)) < UPRIGHT]
    if not ends:
        return (*fallback, None)
    path, side = ends[0], cross_product(direction, ends[0])
    walls = [face for face in hollow.faces if face not in hollow.floors]  # a shared floor reaches into the others
    sides = [face for face in walls if float(view.part.face_normal[face] @ direction) < PARALLEL_COS]
    length, widest = (float(np.ptp(reach(view, *each))) for each in ((walls, path), (sides or walls, side)))
    width = mouth(view, hollow.faces, direction, side)
    if width is None or width <= SAME_PLACE_MM or not leans_over(view, hollow, direction):
        return length, widest, None
    return length, width, widest if widest > width + SAME_PLACE_MM else None


def leans_over(view: View, hollow: Hollow, direction: Floats) -> bool:
    """Return whether a face of the slot looks away from the cutter: what lies under it is an undercut."""
    looks = view.part.face_normal[list(hollow.faces)] @ direction
    return bool(looks.min() < -UPRIGHT)


def step_width(view: View, hollow: Hollow, rims: list[int], direction: Floats, fallback: float) -> float:
    """Return how far a step reaches in from its open side; one that runs round several sides, where it is narrowest."""
    part, ways = view.part, hollow.open_ways
    if len(ways) > 4:
        walls = [f for f in hollow.faces if abs(float(part.face_normal[f] @ direction)) < UPRIGHT]
        looks = [(f, part.face_normal[f]) for f in walls if part.face_surface[f] == Surface.PLANE]
        return min((reach(view, rims, look)[1] - reach(view, (f,), look)[0] for f, look in looks), default=fallback)
    sides = [hollow.way(w) for w in ways if w ^ 1 not in ways and abs(float(hollow.way(w) @ direction)) < UPRIGHT]
    widths = [reach(view, rims, side)[1] - reach(view, hollow.faces, side)[0] for side in sides]
    return min(widths, default=fallback)
