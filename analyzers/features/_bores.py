"""Round hollow faces about one axis, put in order: the lengths of a drilling, its bottom, and where it opens."""

from dataclasses import dataclass, field

import numpy as np

from analyzers.features._threads import ScrewThread, find_threads
from analyzers.features._view import View
from analyzers.model.arrays import Bools, Floats, Ints, cross_product, unit
from analyzers.model.facegraph import groups, members
from analyzers.model.feature import Thread
from analyzers.model.part import Part, Surface
from analyzers.tolerance import PARALLEL_COS, SAME_PLACE_MM

_HALF_TURN_DEG = 181.0  # a round face that wraps the tool by more than half is a hole; at half it is the end of a slot
_CHAMFER_RATIO = 1.4  # a cone that opens a hole by less than this is a broken edge, not a seat for a screw head

_NEAR_WALL, _AROUND, _ALONG = 0.97, 12, 5  # where a gap is looked into: share of the radius, places around and along
_TAPER_LENGTH = 1.5  # lengths per radius gained, 34 degrees a side: steep tapers of spindles have 8, seats 30 to 60
_CLOSED_SHARE = 0.5  # of a wall's end must stand on a floor; where most of it is open, the bore goes on past a lip
_LEAST_POINT_DEG = 80.0  # points of spot and twist drills have 90 to 140 degrees; tapered bores lean far less


@dataclass(slots=True)
class Length:
    """One length of a bore on its axis, in millimetres along `axis` from `origin`: low to high."""

    faces: tuple[int, ...]
    cone: bool
    low: float
    high: float
    low_radius: float
    high_radius: float
    thread: Thread | None = None

    @property
    def radius(self) -> float:
        """Largest radius."""
        return max(self.low_radius, self.high_radius)


@dataclass(slots=True)
class Bore:
    """Coaxial lengths that run into one another, sorted along the axis."""

    origin: Floats
    axis: Floats
    lengths: list[Length]
    shoulders: list[int] = field(default_factory=list)  # flat rings between two lengths
    low_bottom: int | None = None  # face that closes it; None = open
    high_bottom: int | None = None
    low_shared: bool = False  # it stands on a flat that is more than its own bottom, as the floor of a pocket is
    high_shared: bool = False

    @property
    def faces(self) -> tuple[int, ...]:
        """All faces, bottoms and shoulders included."""
        found = [face for length in self.lengths for face in length.faces] + self.shoulders
        found += [face for face in (self.low_bottom, self.high_bottom) if face is not None]
        return tuple(sorted(set(found)))


def find_bores(view: View) -> list[Bore]:
    """Return the bores of a part: hollow cylinders of more than half a turn with what continues them on their axis."""
    lengths = [*_cylinders(view), *_cones(view)]
    owner = {face: i for i, length in enumerate(lengths) for face in length.faces}
    pairs, shoulder = _touching(view, owner)
    pairs = np.concatenate([pairs, _loose_points(view, lengths, pairs)])
    label = groups(len(lengths), pairs)
    bores = []
    for rows in members(label):
        chain = [lengths[i] for i in rows]
        if all(each.cone for each in chain) and not _tapered_bore(chain):
            continue
        bores.append(_bore(view, chain, shoulder))
    return bores


def _axis_line(part: Part, face: int) -> tuple[Floats, Floats]:
    return part.face_origin_mm[face], part.face_axis[face]


def _cylinders(view: View) -> list[Length]:
    """Return hollow cylinders of one surface, joined through air, that wrap more than half a turn."""
    part = view.part
    hollow = (part.face_surface == Surface.CYLINDER) & part.face_concave & view.free & ~view.blends.is_blend
    inner = [thread for thread in find_threads(view) if not thread.external and view.free[list(thread.faces)].all()]
    carriers = {carrier: thread for thread in inner if (carrier := _carrier(view, thread, hollow)) is not None}
    for carrier, thread in carriers.items():  # the other crests and roots of a thread are no lengths of their own
        hollow[[face for face in thread.faces if face != carrier]] = False
    found = []
    for faces in members(view.surface, np.flatnonzero(hollow).tolist()):
        origin, axis = _axis_line(part, faces[0])
        spans = {face: _along(view, face, origin, axis) for face in faces}
        for run in _runs(view, faces, spans, origin, axis):
            threads = {face: carriers[face] for face in run if face in carriers}
            if threads or (_wrap_deg(part, run, spans) > _HALF_TURN_DEG and not _filled_up(view, run)):
                radius = float(part.face_radius_mm[run[0]])
                own = tuple(sorted(run))  # a length counts from its own first face, which may lie elsewhere on the axis
                ends = [_along(view, face, *_axis_line(part, own[0])) for face in own]
                low, high = min(end[0] for end in ends), max(end[1] for end in ends)
                length = Length(own, False, low, high, radius, radius)
                for carrier, thread in threads.items():
                    _add_thread(view, length, carrier, thread)
                found.append(length)
    return found


def _carrier(view: View, thread: ScrewThread, hollow: Bools) -> int | None:
    """Return the cylinder that stands for a thread in a bore: a crest or, where there is none, the bore it ends in."""
    part = view.part
    beside = {view.across(edge, face) for face in thread.faces for edge in view.around[face]} | set(thread.faces)
    wanted = [f for f in beside if f >= 0 and hollow[f] and abs(float(part.face_axis[f] @ thread.axis)) > PARALLEL_COS]
    minor = 0.5 * thread.form.minor_mm
    return min(wanted, key=lambda f: (round(abs(float(part.face_radius_mm[f]) - minor), 3), f), default=None)


def _add_thread(view: View, length: Length, carrier: int, thread: ScrewThread) -> None:
    """Let a thread lie in a length: its faces belong to it, and it reaches as far as the thread does."""
    part = view.part
    origin, axis = _axis_line(part, length.faces[0])
    places = (thread.point_mm - origin) @ axis + np.array([thread.low_mm, thread.high_mm]) * float(thread.axis @ axis)
    within = [face for face in length.faces if face != carrier]
    length.faces = (length.faces[0], *sorted({carrier, *within, *thread.faces} - {length.faces[0]}))
    length.low, length.high = min(length.low, float(places.min())), max(length.high, float(places.max()))
    length.low_radius = length.high_radius = min(length.radius, 0.5 * thread.form.minor_mm)
    length.thread = thread.form


def _along(view: View, face: int, origin: Floats, axis: Floats) -> tuple[float, float]:
    place = (view.points_of((face,)) - origin) @ axis
    return float(place.min()), float(place.max())


def _runs(
    view: View, faces: tuple[int, ...], spans: dict[int, tuple[float, float]], origin: Floats, axis: Floats
) -> list[list[int]]:
    """Return the faces grouped along the axis: a gap stays within one group if the axis runs through air there."""
    order = sorted(faces, key=lambda f: spans[f])
    runs, reach = [[order[0]]], spans[order[0]][1]
    for face in order[1:]:
        start = spans[face][0]
        radius = float(view.part.face_radius_mm[face])
        if start <= reach + SAME_PLACE_MM or _drilled_on(view, origin, axis, (reach, start), radius):
            runs[-1].append(face)
        else:
            runs.append([face])
        reach = max(reach, spans[face][1])
    return runs


def _drilled_on(view: View, origin: Floats, axis: Floats, gap: tuple[float, float], radius: float) -> bool:
    """Return whether a gap between pieces of one bore is something that crosses it, not a narrower length."""
    if not _air_between(view, origin + gap[0] * axis, origin + gap[1] * axis):
        return False
    side = unit(cross_product(axis, np.eye(3)[int(np.argmin(np.abs(axis)))]))
    turn = np.linspace(0.0, 2 * np.pi, _AROUND, endpoint=False)
    ring = np.cos(turn)[:, None] * side + np.sin(turn)[:, None] * cross_product(axis, side)
    along = gap[0] + (gap[1] - gap[0]) * (np.arange(_ALONG) + 0.5) / _ALONG
    spots = origin + along[:, None, None] * axis + _NEAR_WALL * radius * ring
    return not bool(view.geometry.inside(spots.reshape(-1, 3)).reshape(_ALONG, _AROUND).all(axis=1).any())


def _air_between(view: View, start: Floats, end: Floats) -> bool:
    length = float(np.linalg.norm(end - start))
    middle = 0.5 * (start + end)
    if view.geometry.inside(middle[None])[0]:
        return False
    ways = np.stack([end - middle, start - middle]) / (0.5 * length)
    distance, _ = view.geometry.first_hits(np.stack([middle, middle]), ways)
    return bool((distance >= 0.5 * length - view.lookouts.lift_mm).all())


def _filled_up(view: View, run: list[int]) -> bool:
    """Return whether something stands in the bore along its wall: a D-shaped window was not drilled."""
    part = view.part
    for face in run:
        for edge in view.around[face]:
            other = view.across(edge, face)
            along = abs(float(part.edge_tangent[edge] @ part.face_axis[face])) > PARALLEL_COS
            if view.concave[edge] and along and other >= 0 and part.face_surface[other] == Surface.PLANE:
                return True
    return False


def _wrap_deg(part: Part, run: list[int], spans: dict[int, tuple[float, float]]) -> float:
    """Return the largest turn that the faces of a run cover together at one place of the axis."""
    best = 0.0
    for face in run:
        middle = 0.5 * sum(spans[face])
        there = sum(float(part.face_span_deg[f]) for f in run if spans[f][0] <= middle <= spans[f][1])
        best = max(best, there)
    return best


def _cones(view: View) -> list[Length]:
    """Return hollow cones, faces of one surface together."""
    part = view.part
    hollow = (part.face_surface == Surface.CONE) & part.face_concave & view.free & ~view.blends.is_blend
    found = []
    for faces in members(view.surface, np.flatnonzero(hollow).tolist()):
        if part.face_span_deg[list(faces)].sum() <= _HALF_TURN_DEG:
            continue
        tip, axis = _axis_line(part, faces[0])
        spans = [_along(view, face, tip, axis) for face in faces]
        low, high = max(0.0, min(s[0] for s in spans)), max(s[1] for s in spans)
        slope = float(np.tan(np.radians(part.face_half_angle_deg[faces[0]])))
        found.append(Length(faces, True, low, high, low * slope, high * slope))
    return found


def _tapered_bore(chain: list[Length]) -> bool:
    """Return whether cones alone form a bore: far longer than they widen, so reamed, no chamfer or seat."""
    return any(each.high - each.low > _TAPER_LENGTH * abs(each.high_radius - each.low_radius) for each in chain)


def _touching(view: View, owner: dict[int, int]) -> tuple[Ints, dict[frozenset[int], list[int]]]:
    """Return pairs of lengths on one axis that share an edge or a flat ring, and the rings of each pair."""
    part = view.part
    pairs: set[tuple[int, int]] = set()
    rings: dict[frozenset[int], list[int]] = {}
    for face, i in owner.items():
        for edge in view.around[face]:
            beside = view.across(edge, face)
            if beside in owner and owner[beside] != i and _coaxial(part, face, beside):
                pairs.add((min(i, owner[beside]), max(i, owner[beside])))
            elif beside >= 0 and _is_ring(view, beside, face):
                for other in _ring_mates(view, beside, face, owner):
                    j = owner[other]
                    if j != i:
                        pairs.add((min(i, j), max(i, j)))
                        rings.setdefault(frozenset((i, j)), []).append(beside)
    return np.array(sorted(pairs), dtype=np.int64).reshape(-1, 2), rings


def _loose_points(view: View, lengths: list[Length], pairs: Ints) -> Ints:
    """Return pairs of a drill point's cone and the bore that it ends, where a void lies between the two."""
    part = view.part
    joined = set(pairs.ravel().tolist())
    found = []
    for i, cone in enumerate(lengths):
        if not cone.cone or i in joined or cone.low_radius > SAME_PLACE_MM:
            continue
        tip, axis = _axis_line(part, cone.faces[0])  # from the tip into the opening
        best = None
        for j, each in enumerate(lengths):
            if (
                each.cone
                or each.radius < cone.radius - SAME_PLACE_MM
                or not _coaxial(part, cone.faces[0], each.faces[0])
            ):
                continue
            start = min(_along(view, face, tip, axis)[0] for face in each.faces)
            if start > cone.high - SAME_PLACE_MM and (best is None or start < best[0]):
                best = (start, j)
        if best is not None and _air_between(view, tip + cone.high * axis, tip + best[0] * axis):
            found.append((i, best[1]))
    return np.array(found, dtype=np.int64).reshape(-1, 2)


def _coaxial(part: Part, first: int, second: int) -> bool:
    axis, other = part.face_axis[first], part.face_axis[second]
    if abs(float(axis @ other)) < PARALLEL_COS:
        return False
    offset = part.face_origin_mm[second] - part.face_origin_mm[first]
    return float(np.linalg.norm(offset - (offset @ axis) * axis)) <= SAME_PLACE_MM


def _is_ring(view: View, plane: int, face: int) -> bool:
    part = view.part
    if part.face_surface[plane] != Surface.PLANE or not view.free[plane]:
        return False
    square = abs(float(part.face_axis[plane] @ part.face_axis[face])) > PARALLEL_COS
    return square and face in view.corners[plane]


def _ring_mates(view: View, plane: int, face: int, owner: dict[int, int]) -> list[int]:
    """Return the round faces beyond a flat ring: coaxial with `face`, narrower, met in an outside corner."""
    part = view.part
    if not _within(view, plane, face):
        return []
    beside = {view.across(edge, plane) for edge in view.around[plane] if view.convex[edge]}
    return sorted(f for f in beside if f in owner and _coaxial(part, face, f))


def _within(view: View, plane: int, face: int) -> bool:
    """Return whether a flat face stays within the radius of the bore that stands on it; of a cone, at its wide end."""
    reach = float(view.part.face_radius_mm[face])
    if not np.isfinite(reach):
        reach = float(_off_axis(view, face, face).max())
    return bool(_off_axis(view, plane, face).max() <= reach + view.lookouts.lift_mm)


def _off_axis(view: View, face: int, about: int) -> Floats:
    """Return how far a face's points lie from another face's axis."""
    part = view.part
    offset = view.points_of((face,)) - part.face_origin_mm[about]
    axis = part.face_axis[about]
    return np.asarray(np.linalg.norm(offset - (offset @ axis)[:, None] * axis, axis=1))


def _bore(view: View, chain: list[Length], shoulder: dict[frozenset[int], list[int]]) -> Bore:
    """Return a chain as one bore on the axis of its longest cylinder."""
    part = view.part
    lead = max(chain, key=lambda each: (not each.cone, each.high - each.low)).faces[0]
    origin, axis = _axis_line(part, lead)
    placed = []
    for each in chain:
        shift = float((part.face_origin_mm[each.faces[0]] - origin) @ axis)
        turned = float(part.face_axis[each.faces[0]] @ axis) < 0
        ends = [(each.low, each.low_radius), (each.high, each.high_radius)]
        ends = sorted((shift + (-place if turned else place), radius) for place, radius in ends)
        placed.append(Length(each.faces, each.cone, ends[0][0], ends[1][0], ends[0][1], ends[1][1], each.thread))
    placed.sort(key=lambda each: each.low + each.high)
    own = {face for each in chain for face in each.faces}
    rings = sorted({ring for found in shoulder.values() for ring in found if own & set(view.corners[ring])})
    bore = Bore(origin, unit(axis), placed, rings)
    bore.low_bottom = _bottom(view, bore, placed[0], -1.0)
    bore.high_bottom = _bottom(view, bore, placed[-1], 1.0)
    bore.low_shared = bore.low_bottom is None and _stands_on(view, bore, placed[0], -1.0)
    bore.high_shared = bore.high_bottom is None and _stands_on(view, bore, placed[-1], 1.0)
    return bore


def _stands_on(view: View, bore: Bore, last: Length, side: float) -> bool:
    """Return whether the wall ends on a flat that looks back up the bore, wider than the bore or with an island."""
    part = view.part
    end = last.high if side > 0 else last.low

    def is_floor(face: int) -> bool:
        looks_back = float(part.face_normal[face] @ bore.axis) * side < -PARALLEL_COS
        away = abs(float((part.face_origin_mm[face] - bore.origin) @ bore.axis) - end)
        return part.face_surface[face] == Surface.PLANE and looks_back and away <= SAME_PLACE_MM

    floors = {floor for face in last.faces for floor in view.corners[face] if is_floor(floor)}
    if not floors:
        return False
    edges = {(edge, view.across(edge, face)) for face in last.faces for edge in view.around[face]}
    there = [
        (e, f) for e, f in edges if abs(float((part.edge_mid_mm[e] - bore.origin) @ bore.axis) - end) <= SAME_PLACE_MM
    ]
    lengths = {each: float(part.edge_length_mm[each[0]]) for each in there}
    closed = sum(length for (_, beyond), length in lengths.items() if beyond in floors)
    return not there or closed > _CLOSED_SHARE * sum(lengths.values())


def _bottom(view: View, bore: Bore, last: Length, side: float) -> int | None:
    """Return the flat or ball-shaped face that closes one end; None where it is open or ends in a cone's tip."""
    part = view.part
    for face in last.faces:
        for beside in view.corners[face] + _smooth_neighbours(view, face):
            if beside in bore.shoulders or beside in last.faces or not view.free[beside]:
                continue
            looks = float(part.face_normal[beside] @ bore.axis) * side
            if part.face_surface[beside] == Surface.PLANE:
                square = looks < -PARALLEL_COS
                if square and _within(view, beside, face) and not _island(view, beside, face):
                    return beside
            elif part.face_surface[beside] == Surface.SPHERE and part.face_concave[beside] and looks < 0:
                return beside
    return None


def _smooth_neighbours(view: View, face: int) -> list[int]:
    return [view.across(edge, face) for edge in view.around[face] if view.smooth[edge]]


def _island(view: View, plane: int, face: int) -> bool:
    """Return whether something stands on the flat bottom: then it is the floor of a pocket or a ring groove."""
    part = view.part
    for other in view.corners[plane]:
        if part.face_surface[other] == Surface.CYLINDER and part.face_concave[other]:
            continue
        if part.face_surface[other] in (Surface.CYLINDER, Surface.PLANE, Surface.CONE) and other != face:
            return True
    return False


def is_broken_edge(length: Length, neighbour: Length, at_high: bool) -> bool:
    """Return whether a cone at a bore's high or low mouth only breaks its edge: it widens outwards, by little."""
    outer, inner = (length.high_radius, length.low_radius) if at_high else (length.low_radius, length.high_radius)
    return length.cone and not neighbour.cone and outer > inner and length.radius < _CHAMFER_RATIO * neighbour.radius


def is_point(lengths: list[Length], from_high: bool) -> bool:
    """Return whether the last of some lengths, counted from the entry, is what a drill's point left.

    It narrows to nothing, or it comes out: then it narrows at a point's angle from the full drilled diameter.
    """
    last = lengths[-1]
    start, end = (last.high_radius, last.low_radius) if from_high else (last.low_radius, last.high_radius)
    if not last.cone or end >= start:
        return False
    if end <= SAME_PLACE_MM:
        return True
    angle_deg = 2 * np.degrees(np.arctan2(start - end, last.high - last.low))
    drilled = len(lengths) > 1 and not lengths[-2].cone and abs(lengths[-2].radius - start) <= SAME_PLACE_MM
    return bool(drilled and angle_deg >= _LEAST_POINT_DEG)
