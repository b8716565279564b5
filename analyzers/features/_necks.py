"""The neck of an undercut slot: the two walls that the cutter's shank passes between, above the wider part."""

from dataclasses import replace

from analyzers.features._hollows import Hollow
from analyzers.features._view import View
from analyzers.model.arrays import Floats
from analyzers.model.part import Surface

_SQUARE = 0.1  # cosine: walls of a neck stand square to the ceiling within 6 degrees
_FACING = -0.99
_SOME = 0.02  # share of lookouts


def with_neck(view: View, hollow: Hollow) -> tuple[Hollow, Floats | None]:
    """Return the hollow with its neck's walls and the way up through the neck; unchanged and None where it has none.

    A neck is two free planes that face one another and meet ceilings of the hollow in outside corners.
    """
    part = view.part
    for ceiling in hollow.faces:
        if part.face_surface[ceiling] != Surface.PLANE:
            continue
        up = -part.face_axis[ceiling]
        if not _blocked_below_open_above(hollow, up):
            continue
        walls = _walls_above(view, hollow, up)
        for i, first in enumerate(walls):
            for second in walls[i + 1 :]:
                if float(part.face_axis[first] @ part.face_axis[second]) < _FACING and _ahead(view, first, second):
                    faces = tuple(sorted({*hollow.faces, first, second}))
                    return replace(hollow, faces=faces), up
    return hollow, None


def _blocked_below_open_above(hollow: Hollow, up: Floats) -> bool:
    """Return whether some of the hollow sees out along `up`, and hardly any against it: `up` is then no way down."""
    shares = {number: float(hollow.way(number) @ up) for number in range(6)}
    above = next((n for n, along in shares.items() if along > -_FACING), None)
    return above is not None and hollow.open_share[above] > _SOME and hollow.open_share[above ^ 1] < _SOME


def _walls_above(view: View, hollow: Hollow, up: Floats) -> list[int]:
    """Return the free planes, square to `up`, that stand on ceilings of the hollow which look down."""
    part = view.part
    found: dict[int, None] = {}
    for face in hollow.faces:
        if part.face_surface[face] != Surface.PLANE or float(part.face_axis[face] @ up) > _FACING:
            continue
        for edge in view.around[face]:
            beside = view.across(edge, face)
            if not view.convex[edge] or beside in hollow.faces or not view.free[beside] or view.supporting[beside]:
                continue
            if any(view.concave[e] for e in view.around[beside]):
                continue  # a wall of another hollow that crosses this one
            if part.face_surface[beside] == Surface.PLANE and abs(float(part.face_axis[beside] @ up)) < _SQUARE:
                found[beside] = None
    return list(found)


def _ahead(view: View, first: int, second: int) -> bool:
    """Return whether the second wall lies on the air side of the first."""
    part = view.part
    return float((part.face_origin_mm[second] - part.face_origin_mm[first]) @ part.face_axis[first]) > 0
