"""Bosses: material that stands up from a floor or an outer face (ISO 10303-224 `boss`)."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from analyzers.features._plan_box import plan_box
from analyzers.features._reach import reach
from analyzers.features._view import View
from analyzers.model.arrays import Floats, vec
from analyzers.model.feature import FaceClass, Feature, mm_text
from analyzers.model.part import Surface
from analyzers.tolerance import PARALLEL_COS, SAME_PLACE_MM

RANK = 45


@dataclass(frozen=True, slots=True, kw_only=True)
class Boss(Feature):
    """`direction` points from its foot to its top."""

    kind: ClassVar[str] = "boss"
    face_class: ClassVar[FaceClass] = "boss"

    height_mm: float
    length_mm: float  # longer side of the smallest plan box; a round one: its diameter
    width_mm: float
    diameter_mm: float | None = None  # None = not round

    def callout(self) -> str:
        """Return for example "BOSS ⌀20 ↥6" or "BOSS 20 × 10 ↥6"."""
        plan = (
            f"⌀{mm_text(self.diameter_mm)}"
            if self.diameter_mm
            else f"{mm_text(self.length_mm)} × {mm_text(self.width_mm)}"
        )
        return f"BOSS {plan} ↥{mm_text(self.height_mm)}"


def propose(view: View) -> Iterator[Boss]:
    """Yield what stands on the inner borders of flat faces: walls, top and all that is on them."""
    part = view.part
    for base in np.flatnonzero(part.face_surface == Surface.PLANE).tolist():
        for loop in _standing_loops(view, base):
            boss = _boss(view, base, loop)
            if boss is not None:
                yield boss


def _standing_loops(view: View, base: int) -> Iterator[list[int]]:
    """Yield the edges of each inner border of a face on which material stands, sharp or filleted."""
    part = view.part
    mine = (part.coedge_face == base) & (part.coedge_loop > 0)
    for loop in np.unique(part.coedge_loop[mine]).tolist():
        edges = part.coedge_edge[mine & (part.coedge_loop == loop)].tolist()
        if all(view.concave[e] or _fillet_beside(view, e, base) is not None for e in edges):
            yield edges


def _fillet_beside(view: View, edge: int, base: int) -> int | None:
    beside = view.across(edge, base)
    is_fillet = view.smooth[edge] and view.blends.is_blend[beside] and view.blends.concave[beside]
    return beside if is_fillet else None


def _boss(view: View, base: int, edges: list[int]) -> Boss | None:
    """Return the boss inside one border: its walls and the face on top, as far as no other feature owns them."""
    part = view.part
    up = part.face_axis[base]
    walls: dict[int, None] = {}
    for edge in edges:
        fillet = _fillet_beside(view, edge, base)
        beside = [view.across(edge, base)] if fillet is None else view.beyond(fillet, base)
        walls.update(dict.fromkeys(f for f in beside if view.free[f]))
    if not walls:
        return None
    whole = [*walls, *_tops(view, list(walls), base)]
    foot_height = float(part.face_origin_mm[base] @ up)
    height = reach(view, whole, up)[1] - foot_height
    if height <= SAME_PLACE_MM or height >= _wall_height(view, base, up) - SAME_PLACE_MM:
        return None
    length, width = plan_box(view, walls, up)
    round_ = all(part.face_surface[f] == Surface.CYLINDER and not part.face_concave[f] for f in walls)
    diameter = None
    if round_ and len({int(view.surface[f]) for f in walls}) == 1:
        length = width = diameter = 2 * float(part.face_radius_mm[next(iter(walls))])
    middle = view.points_of(list(walls)).mean(axis=0)
    foot = middle - ((middle - part.face_origin_mm[base]) @ up) * up
    return Boss(
        faces=tuple(sorted(f for f in whole if view.free[f])),
        direction=vec(up),
        position_mm=vec(foot),
        height_mm=height,
        length_mm=length,
        width_mm=width,
        diameter_mm=diameter,
        why="stands on an inner border of a flat face",
    )


def _wall_height(view: View, base: int, up: Floats) -> float:
    """Return how high the walls around the base stand over it: what reaches up to them is an island, no boss."""
    part = view.part
    border = part.coedge_edge[(part.coedge_face == base) & (part.coedge_loop == 0)].tolist()
    walls = [view.across(edge, base) for edge in border if view.concave[edge]]
    if not walls:
        return math.inf
    return reach(view, walls, up)[1] - float(part.face_origin_mm[base] @ up)


def _tops(view: View, walls: list[int], base: int) -> list[int]:
    """Return the flat faces that the walls carry, directly or over a rounded or chamfered rim."""
    part, found = view.part, dict[int, None]()
    up = part.face_axis[base]
    for wall in walls:
        for edge in view.around[wall]:
            if view.concave[edge]:
                continue
            beside = view.across(edge, wall)
            for face in [beside] if view.free[beside] else view.beyond(beside, wall):
                if part.face_surface[face] == Surface.PLANE and float(part.face_axis[face] @ up) > PARALLEL_COS:
                    found[face] = None
    return [face for face in found if view.free[face] and view.surface[face] != view.surface[base]]
