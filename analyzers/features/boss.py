"""Bosses: material that stands up from a floor or an outer face (ISO 10303-224 `boss`)."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from analyzers.features._plan_box import plan_box
from analyzers.features._reach import reach
from analyzers.features._threads import ScrewThread, find_threads, shanks
from analyzers.features._view import View
from analyzers.model.arrays import Floats, vec
from analyzers.model.facegraph import groups, members
from analyzers.model.feature import FaceClass, Feature, Thread, mm_text
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
    modelled_thread: Thread | None = None  # where one is modelled

    def callout(self) -> str:
        """Return for example "BOSS ⌀20 ↥6" or "BOSS 20 × 10 ↥6"."""
        plan = (
            f"⌀{mm_text(self.diameter_mm)}"
            if self.diameter_mm
            else f"{mm_text(self.length_mm)} × {mm_text(self.width_mm)}"
        )
        thread = "" if self.modelled_thread is None else f" {self.modelled_thread.callout()}"
        return f"BOSS {plan} ↥{mm_text(self.height_mm)}{thread}"


def propose(view: View) -> Iterator[Boss]:
    """Yield what stands on the inner borders of flat faces: walls, top and all that is on them."""
    for base in _bases(view):
        for loop in base.inner:
            if all(view.concave[edge] or _fillet_beside(view, edge, face) is not None for edge, face in loop):
                boss = _boss(view, base, loop)
                if boss is not None:
                    yield boss
    for thread in find_threads(view):  # on a stud whose foot is no border of a flat face
        if thread.external and view.free[list(thread.faces)].all():
            yield _stud(view, thread)


@dataclass(frozen=True, slots=True)
class _Base:
    """One flat face, or touching pieces of one plane: border edges, each with the piece it bounds, in loops."""

    lead: int
    outer: list[tuple[int, int]]
    inner: list[list[tuple[int, int]]]


def _bases(view: View) -> Iterator[_Base]:
    """Yield the flat faces that have an inner border; touching pieces of one plane count as one face."""
    part = view.part
    plane = part.face_surface == Surface.PLANE
    left, right = part.edge_faces.T
    split = view.smooth & plane[left] & plane[right]
    split[split] = view.surface[left[split]] == view.surface[right[split]]
    for faces in members(groups(part.n_faces, part.edge_faces[split]), np.flatnonzero(plane).tolist()):
        border = [(edge, face) for face in faces for edge in view.around[face] if not split[edge]]
        loops = _loops(view, border)
        if len(loops) > 1:
            outer = max(loops, key=lambda loop: _extent(view, loop))  # all others lie inside of it
            yield _Base(faces[0], outer, [loop for loop in loops if loop is not outer])


def _loops(view: View, border: list[tuple[int, int]]) -> list[list[tuple[int, int]]]:
    """Return the border edges in loops: those that share a corner are one."""
    corner = view.part.edge_vertices
    first: dict[int, int] = {}
    pairs = [(first.setdefault(v, row), row) for row, (edge, _) in enumerate(border) for v in corner[edge].tolist()]
    label = groups(len(border), np.array(pairs, dtype=np.int64))
    return [[border[row] for row in rows] for rows in members(label)]


def _extent(view: View, loop: list[tuple[int, int]]) -> float:
    """Return the size of the box around a loop."""
    part, edges = view.part, [edge for edge, _ in loop]
    points = np.concatenate([part.vertex_mm[part.edge_vertices[edges].ravel()], part.edge_mid_mm[edges]])
    return float(np.linalg.norm(np.ptp(points, axis=0)))


def _fillet_beside(view: View, edge: int, base: int) -> int | None:
    beside = view.across(edge, base)
    is_fillet = view.smooth[edge] and view.blends.is_blend[beside] and view.blends.concave[beside]
    return beside if is_fillet else None


def _boss(view: View, base: _Base, loop: list[tuple[int, int]]) -> Boss | None:
    """Return the boss inside one border: its walls and the face on top, as far as no other feature owns them."""
    part = view.part
    up = part.face_axis[base.lead]
    walls: dict[int, None] = {}
    for edge, face in loop:
        fillet = _fillet_beside(view, edge, face)
        beside = [view.across(edge, face)] if fillet is None else view.beyond(fillet, face)
        walls.update(dict.fromkeys(f for f in beside if view.free[f] and view.surface[f] != view.surface[face]))
    if not walls:
        return None
    thread = _thread_on(view, walls)
    if thread is not None:
        walls.update(dict.fromkeys(face for face in (*thread.faces, *shanks(view, thread)) if view.free[face]))
    whole = [*walls, *_tops(view, list(walls), base.lead)]
    foot_height = float(part.face_origin_mm[base.lead] @ up)
    height = reach(view, whole, up)[1] - foot_height
    if height <= SAME_PLACE_MM or height >= _wall_height(view, base, up) - SAME_PLACE_MM:
        return None
    length, width = plan_box(view, walls, up)
    round_ = all(part.face_surface[f] == Surface.CYLINDER and not part.face_concave[f] for f in walls)
    diameter = None
    if round_ and len({int(view.surface[f]) for f in walls}) == 1:
        length = width = diameter = 2 * float(part.face_radius_mm[next(iter(walls))])
    if thread is not None:
        length = width = diameter = thread.form.major_mm
    middle = view.points_of(list(walls)).mean(axis=0)
    foot = middle - ((middle - part.face_origin_mm[base.lead]) @ up) * up
    return Boss(
        faces=tuple(sorted(f for f in whole if view.free[f])),
        direction=vec(up),
        position_mm=vec(foot),
        height_mm=height,
        length_mm=length,
        width_mm=width,
        diameter_mm=diameter,
        modelled_thread=None if thread is None else thread.form,
        why="stands on an inner border of a flat face",
    )


def _stud(view: View, thread: ScrewThread) -> Boss:
    """Return a threaded stud from its thread alone; it points to the end that stands freer."""
    faces = tuple(sorted({*thread.faces, *(face for face in shanks(view, thread) if view.free[face])}))
    low, high = reach(view, faces, thread.axis)
    ends = [thread.point_mm + place * thread.axis for place in (thread.low_mm, thread.high_mm)]
    ways = np.stack([-thread.axis, thread.axis])
    distance, _ = view.geometry.first_hits(np.stack(ends), ways)  # out of the material, or through more of it
    up = ways[int(np.argmin(distance))]
    foot = ends[1 - int(np.argmin(distance))]
    return Boss(
        faces=faces,
        direction=vec(up),
        position_mm=vec(foot),
        height_mm=high - low,
        length_mm=thread.form.major_mm,
        width_mm=thread.form.major_mm,
        diameter_mm=thread.form.major_mm,
        modelled_thread=thread.form,
        why="helical flanks with a thread's proportions, on no turned body",
    )


def _thread_on(view: View, walls: dict[int, None]) -> ScrewThread | None:
    """Return the thread on a round stud: one that its walls are part of, or run into."""
    for thread in find_threads(view):
        if not thread.external:
            continue
        if set(walls) & {*thread.faces, *shanks(view, thread)}:
            return thread
    return None


def _wall_height(view: View, base: _Base, up: Floats) -> float:
    """Return how high the walls around the base stand over it: what reaches up to them is an island, no boss."""
    walls = [view.across(edge, face) for edge, face in base.outer if view.concave[edge]]
    if not walls:
        return math.inf
    return reach(view, walls, up)[1] - float(view.part.face_origin_mm[base.lead] @ up)


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
