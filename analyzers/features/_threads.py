"""Modelled threads: helical flanks about an axis, on a shaft or in a bore, and what they measure.

A surface that a screw motion moves along itself has normals n at points x with n . (m + a x x) = 0 for one axis a and
moment m: the normals belong to a linear line complex, whose axis and pitch follow from a least-squares fit
(Pottmann and Randrup, Rotational and helical surface approximation for reverse engineering, Computing 60, 1998; cited
from memory). No cylinder is needed for it, so sharp profiles are found as well as truncated ones.
"""

import math
from dataclasses import dataclass

import numpy as np

from analyzers.data.thread_sizes import nearest_thread
from analyzers.features._view import View
from analyzers.model.arrays import Bools, Floats, cross_product, unit
from analyzers.model.facegraph import groups, members
from analyzers.model.feature import Thread
from analyzers.model.part import Surface
from analyzers.tolerance import PARALLEL_COS, SAME_PLACE_MM

_FREE = (Surface.EXTRUSION, Surface.BSPLINE, Surface.OTHER)
_SAMPLES = 24  # exact normals on each face, some 0.1 ms each
_MOST_FACES = 400  # free faces in one group; a body of more is sculpted
_ROUGH, _EXACT = 0.2, 0.02  # sine between a normal and the square to the screw's way, on the mesh and on the surface
_LEAST_TURNS = 1.5
_DEPTH_RATIO = (0.25, 1.2)  # depth over pitch: ISO metric 0.61 outside and 0.54 inside, trapezoidal 0.5, sharp V 0.87
_STEEPEST_DEG = 30.0  # lead angle; beyond are flutes, gears and augers
_FLANK_SHARE = 0.5  # of the depth that a face covers at least to be a flank, and no crest or root


@dataclass(frozen=True, slots=True, eq=False)
class ScrewThread:
    """One modelled thread: its faces (flanks, crests, roots, run-outs), its axis and its numbers."""

    faces: tuple[int, ...]
    external: bool
    point_mm: Floats
    axis: Floats
    low_mm: float  # where it begins and ends along the axis, from point_mm
    high_mm: float
    form: Thread


@dataclass(frozen=True, slots=True, eq=False)
class _Screw:
    """A screw motion: axis and advance in millimetres per radian, positive where right-handed."""

    point_mm: Floats
    axis: Floats
    advance: float

    def cylindrical(self, points: Floats) -> tuple[Floats, Floats, Floats]:
        """Return (N,) radius, (N,) turn in radians and (N,) place along the axis."""
        side = unit(cross_product(self.axis, np.eye(3)[int(np.argmin(np.abs(self.axis)))]))
        offset = points - self.point_mm
        along = offset @ self.axis
        flat = offset - along[:, None] * self.axis
        turn = np.arctan2(flat @ cross_product(self.axis, side), flat @ side)
        return np.linalg.norm(flat, axis=1), turn, along

    def misses(self, points: Floats, normals: Floats) -> Floats:
        """Return (N,) how far normals are from square to the motion, as sines."""
        way = unit(cross_product(self.axis, points - self.point_mm) + self.advance * self.axis)
        sines: Floats = np.abs(np.einsum("ij,ij->i", way, normals))
        return sines


def find_threads(view: View) -> list[ScrewThread]:
    """Return the modelled threads of a part, found once for all recognisers that ask."""
    return view.remember("threads", lambda: _find(view))


def threaded(view: View) -> Bools:
    """Return (F,) the faces of modelled threads."""
    mask = np.zeros(view.part.n_faces, dtype=bool)
    for thread in find_threads(view):
        mask[list(thread.faces)] = True
    return mask


def shanks(view: View, thread: ScrewThread) -> list[int]:
    """Return the plain round faces about a thread's axis that its faces run into."""
    part = view.part
    beside = {view.across(edge, face) for face in thread.faces for edge in view.around[face]} - set(thread.faces) - {-1}
    found = []
    for face in sorted(beside):
        offset = part.face_origin_mm[face] - thread.point_mm
        off_axis = float(np.linalg.norm(offset - (offset @ thread.axis) * thread.axis))
        parallel = abs(float(part.face_axis[face] @ thread.axis)) > PARALLEL_COS
        if part.face_surface[face] == Surface.CYLINDER and parallel and off_axis <= 10 * SAME_PLACE_MM:
            found.append(face)
    return found


def _find(view: View) -> list[ScrewThread]:
    part = view.part
    free = np.isin(part.face_surface, _FREE)
    if not free.any():
        return []
    left, right = part.edge_faces.T
    round_ = free | (part.face_surface == Surface.CYLINDER)
    touch = (left >= 0) & (right >= 0) & (free[left] | free[right]) & round_[left] & round_[right]
    found = []
    for faces in members(groups(part.n_faces, part.edge_faces[touch]), np.flatnonzero(round_).tolist()):
        flanks = [face for face in faces if free[face]]
        if 1 < len(flanks) <= _MOST_FACES:
            found += _in_group(view, flanks)
    return found


def _in_group(view: View, faces: list[int]) -> list[ScrewThread]:
    """Return the thread that a connected group of free faces forms, if it forms one."""
    rows = view.lookouts.of(tuple(faces))
    rough = _fit(view.lookouts.foot_mm[rows], view.lookouts.normal[rows])
    if rough is None:
        return []
    foot = view.lookouts.foot_mm[rows]
    radius, _, along = rough.cylindrical(foot)
    winds = float(np.ptp(along)) > 0.5 * _LEAST_TURNS * 2 * math.pi * abs(rough.advance)
    steep = abs(rough.advance) > 2 * math.tan(math.radians(_STEEPEST_DEG)) * float(np.median(radius))
    if steep or not winds or np.median(rough.misses(foot, view.lookouts.normal[rows])) > _ROUGH:
        return []
    owner, points = _on_surface(view, faces)
    normals = view.geometry.normals(owner, points)
    good = np.isfinite(normals).all(axis=1)
    owner, points, normals = owner[good], points[good], normals[good]
    kept = np.ones(len(owner), dtype=bool)
    screw: _Screw | None = None
    for _ in range(4):  # run-outs and other free faces of the group are left out one after the other
        if len(np.unique(owner[kept])) < 2:
            return []
        screw = _fit(points[kept], normals[kept])
        if screw is None:
            return []
        miss = screw.misses(points, normals)
        total = np.bincount(owner, weights=miss**2, minlength=view.part.n_faces)[owner]
        worst = np.sqrt(total / np.bincount(owner, minlength=view.part.n_faces)[owner])
        now = worst <= max(_EXACT, 0.5 * float(worst[kept].max()))
        if (now == kept).all() and float(worst[kept].max()) <= _EXACT:
            break
        kept = now
    else:
        return []
    assert screw is not None
    thread = _measured(view, screw, np.unique(owner[kept]).tolist())
    return [] if thread is None else [thread]


def _on_surface(view: View, faces: list[int]) -> tuple[np.ndarray, Floats]:
    """Return (N,) face and (N, 3) corners of its triangulation, which lie on the surface itself, spread evenly."""
    owner, found = [], []
    for face in faces:
        points = np.unique(view.points_of((face,)), axis=0)
        step = np.linspace(0, len(points) - 1, min(_SAMPLES, len(points))).round().astype(np.int64)
        found.append(points[step])
        owner += [face] * len(step)
    return np.array(owner, dtype=np.int64), np.concatenate(found)


def _fit(points: Floats, normals: Floats) -> _Screw | None:
    """Return the screw motion whose way is most nearly square to all normals; None where there is no single one."""
    middle = points.mean(axis=0)
    scale = float(np.abs(points - middle).max())
    if scale <= SAME_PLACE_MM:
        return None
    moment = cross_product((points - middle) / scale, normals)
    top, cross, bottom = moment.T @ moment, moment.T @ normals, normals.T @ normals
    if np.linalg.cond(bottom) > 1e8:
        return None
    _, vector = np.linalg.eigh(top - cross @ np.linalg.solve(bottom, cross.T))
    axis = vector[:, 0]
    slide = -np.linalg.solve(bottom, cross.T @ axis)
    advance = float(axis @ slide) * scale
    return _Screw(middle + scale * cross_product(axis, slide), axis, advance)


def _measured(view: View, screw: _Screw, faces: list[int]) -> ScrewThread | None:
    """Return the thread with its numbers; None where the helical faces have no thread's proportions."""
    lead = 2 * math.pi * abs(screw.advance)
    radius, _, along = screw.cylindrical(view.points_of(faces))
    least, largest = float(radius.min()), float(radius.max())
    low, high = float(along.min()), float(along.max())
    depth = largest - least
    if lead <= SAME_PLACE_MM or high - low < _LEAST_TURNS * lead:
        return None
    if math.degrees(math.atan2(abs(screw.advance), 0.5 * (least + largest))) > _STEEPEST_DEG:
        return None
    flanks = [found for face in faces if (found := _flank(view, screw, face, (least, largest)))]
    up, down = ([each for each in flanks if (each[2] > 0) == side] for side in (True, False))
    if not up or not down:
        return None
    starts = _different([place for place, _, _ in up], lead)
    pitch = lead / starts
    if not _DEPTH_RATIO[0] <= depth / pitch <= _DEPTH_RATIO[1]:
        return None
    external = _is_external(view, screw, (least, largest), (low, high))
    if external is None:
        return None
    angle = sum(float(np.median([lean for _, lean, _ in side])) for side in (up, down))
    form = Thread(
        designation=nearest_thread(2 * largest, pitch),
        major_mm=2 * largest,
        minor_mm=2 * least,
        pitch_mm=pitch,
        length_mm=high - low,
        hand="right" if screw.advance > 0 else "left",
        starts=starts,
        flank_angle_deg=angle,
    )
    whole = _with_strips(view, screw, faces, (least, largest), (low, high))
    return ScrewThread(whole, external, screw.point_mm, screw.axis, low, high, form)


def _flank(view: View, screw: _Screw, face: int, radii: tuple[float, float]) -> tuple[float, float, float] | None:
    """Return of a flank its place at half depth within one lead, its lean in degrees and which way it looks.

    None for crests, roots and rounded corners, which cover little of the depth.
    """
    radius, turn, along = screw.cylindrical(view.points_of((face,)))
    if float(np.ptp(radius)) < _FLANK_SHARE * (radii[1] - radii[0]):
        return None
    lead = 2 * math.pi * abs(screw.advance)
    place = along - screw.advance * turn
    wave = np.exp(2j * np.pi * place / lead)
    near = float(np.angle(wave.mean())) * lead / (2 * np.pi)
    place = near + (place - near + lead / 2) % lead - lead / 2
    slope, _ = np.polyfit(radius - radius.mean(), place, 1)
    middle = float(place.mean() + slope * (0.5 * sum(radii) - radius.mean()))
    looks = float((view.lookouts.normal[view.lookouts.of((face,))] @ screw.axis).mean())
    return middle, math.degrees(math.atan(abs(slope))), looks


def _different(places: list[float], lead: float) -> int:
    """Return how many different places there are within one lead."""
    distinct: list[float] = []
    for place in places:
        gaps = [abs((place - other + lead / 2) % lead - lead / 2) for other in distinct]
        if not gaps or min(gaps) > 0.1 * lead:
            distinct.append(place)
    return len(distinct)


def _is_external(view: View, screw: _Screw, radii: tuple[float, float], ends: tuple[float, float]) -> bool | None:
    """Return whether the material lies inside of the thread; None where it lies on both sides or on none."""
    depth = radii[1] - radii[0]
    side = unit(cross_product(screw.axis, np.eye(3)[int(np.argmin(np.abs(screw.axis)))]))
    turn = np.linspace(0.0, 2 * np.pi, 12, endpoint=False)
    ring = np.cos(turn)[:, None] * side + np.sin(turn)[:, None] * cross_product(screw.axis, side)
    middle = screw.point_mm + 0.5 * sum(ends) * screw.axis
    within = float(view.geometry.inside(middle + (radii[0] - 0.2 * depth) * ring).mean())
    around = float(view.geometry.inside(middle + (radii[1] + 0.2 * depth) * ring).mean())
    if abs(within - around) < 0.5:
        return None
    return within > around


def _with_strips(
    view: View, screw: _Screw, faces: list[int], radii: tuple[float, float], ends: tuple[float, float]
) -> tuple[int, ...]:
    """Return the helical faces with their cylindrical crests and roots and the small faces in which they run out."""
    part = view.part
    own = set(faces)
    beside = {view.across(edge, face) for face in faces for edge in view.around[face]} - own - {-1}
    lead = 2 * math.pi * abs(screw.advance)
    for face in beside:
        if part.face_surface[face] != Surface.CYLINDER or abs(float(part.face_axis[face] @ screw.axis)) < PARALLEL_COS:
            continue
        radius, _, along = screw.cylindrical(view.points_of((face,)))
        between = radii[0] - 0.1 * lead <= radius.mean() <= radii[1] + 0.1 * lead
        if between and ends[0] - 0.6 * lead <= along.min() and along.max() <= ends[1] + 0.6 * lead:
            own.add(face)
    for face in sorted(beside - own):
        radius, _, along = screw.cylindrical(view.points_of((face,)))
        within = radii[0] - SAME_PLACE_MM <= radius.min() and radius.max() <= radii[1] + SAME_PLACE_MM
        if part.face_area_mm2[face] < lead**2 and within and ends[0] <= along.min() and along.max() <= ends[1]:
            own.add(face)
    return tuple(sorted(own))
