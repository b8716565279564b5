"""The exact shortest way between two faces near a sight line, on the surfaces themselves.

Nearest points are found by projecting to and fro between the two surfaces, which never lengthens the way and ends
where it stands square on both (a double normal) or at the end of a face. Each step is sped up by the extrapolation of
R. Varadhan and C. Roland, "Simple and globally convergent methods for accelerating the convergence of any EM
algorithm", Scandinavian Journal of Statistics 35 (2008), scheme S3.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from analyzers.measures._sights import angle_deg, exact_normals, start_off
from analyzers.measures._surface import Surfaces, dot, feet
from analyzers.model.arrays import Bools, Floats, Ints, among, cross_product, unit
from analyzers.model.geometry import Geometry
from analyzers.model.part import Part
from analyzers.tolerance import (
    FOOT_NUDGE_RATIO,
    MEETING_STEPS,
    NUDGE_RATIO,
    RING_DEPTH_RATIO,
    RING_RATIO,
    SAME_LENGTH_MM,
    SAME_PLACE_MM,
    SQUARE_DEG,
    STILL_MM,
)

Step = Callable[[Floats], tuple[Floats, Floats]]  # points -> points after there and back, how good they were
Onto = Callable[[Floats], Floats]  # points -> points on their carriers
Carriers = Callable[[Ints], tuple[Step, Onto]]  # rows -> what to do with a point each of theirs
_RING = np.linspace(0.0, 2.0 * np.pi, 8, endpoint=False)  # turns about a way, in radians


@dataclass(frozen=True, slots=True)
class Ways:
    """N ways from a point of one face to a point of another."""

    first: Ints  # (N,)
    second: Ints  # (N,)
    first_mm: Floats  # (N, 3)
    second_mm: Floats  # (N, 3)

    @property
    def length_mm(self) -> Floats:
        """(N,) lengths of the ways."""
        length: Floats = np.linalg.norm(self.second_mm - self.first_mm, axis=1)
        return length

    @property
    def middle_mm(self) -> Floats:
        """(N, 3) the points half way."""
        middle: Floats = 0.5 * (self.first_mm + self.second_mm)
        return middle

    def only(self, rows: Bools | Ints) -> "Ways":
        """Return the same with some rows."""
        return Ways(self.first[rows], self.second[rows], self.first_mm[rows], self.second_mm[rows])


def accelerated(carriers: Carriers, point_mm: Floats, still_mm: float = STILL_MM) -> Floats:
    """Return where going there and back again and again ends, for (N, 3) points.

    A step also says how far from good each point was before it, `Onto` puts a leap back on its carrier, `still_mm` is
    the step below which a point has arrived. A leap that makes it worse is taken back.
    """
    point = np.array(point_mm, dtype=float)
    rows = np.arange(len(point))
    step, onto = carriers(rows)
    for _ in range(MEETING_STEPS):
        if not len(rows):
            break
        here = point[rows]
        once, _ = step(here)
        twice, had = step(once)
        way, bend = once - here, twice - 2.0 * once + here
        size, curve = _length(way), _length(bend)
        stretch = np.divide(size, curve, out=np.ones(len(size)), where=curve > STILL_MM**2)[:, None]
        leap = onto(here + 2.0 * stretch * way + stretch**2 * bend)
        _, has = step(leap)
        point[rows] = np.where((has <= had)[:, None], leap, twice)
        going = ~(size <= still_mm)
        if not going.all():
            rows = rows[going]
            step, onto = carriers(rows)
    return point


def there_and_back(here: Onto, there: Onto) -> Step:
    """Return the step from points to their feet on one carrier and back to another, with how long the way there was."""

    def step(point: Floats) -> tuple[Floats, Floats]:
        across = there(point)
        return here(across), _length(across - point)

    return step


def shorten(part: Part, ways: Ways) -> Ways:
    """Return each way after it has been shortened as far as it goes without leaving its two analytic surfaces."""

    def carriers(rows: Ints) -> tuple[Step, Onto]:
        first, second = Surfaces(part, ways.first[rows]), Surfaces(part, ways.second[rows])
        return there_and_back(first.feet, second.feet), first.feet

    point = accelerated(carriers, ways.first_mm)
    return Ways(ways.first, ways.second, point, feet(part, ways.second, point))


def _length(vector: Floats) -> Floats:
    length: Floats = np.sqrt(dot(vector, vector))
    return length


def follow_normals(part: Part, geometry: Geometry, ways: Ways, through: float) -> tuple[Ways, Ints]:
    """Return the ways after walking to and fro along the faces' normals, and the rows that now stand square on both.

    Where faces bulge away from one another (a flat on a shaft, a lens) their level place is not the shortest way but
    the longest, which projecting runs away from and this walk runs to. Rays find the next face, the exact surface then
    sets the point, so the length is good to the square of the mesh's error.
    """

    def along(rows: Ints, point: Floats, back: bool) -> Floats:
        here, there = (ways.second, ways.first) if back else (ways.first, ways.second)
        return _along_normal(part, geometry, point, here[rows], there[rows], through)

    def carriers(rows: Ints) -> tuple[Step, Onto]:
        def step(point: Floats) -> tuple[Floats, Floats]:
            again = along(rows, along(rows, point, back=False), back=True)
            return again, np.nan_to_num(_length(again - point), nan=np.inf)

        return step, Surfaces(part, ways.first[rows]).feet

    point = accelerated(carriers, ways.first_mm, SAME_LENGTH_MM)
    walked = Ways(ways.first, ways.second, point, along(np.arange(len(point)), point, back=False))
    whole = np.flatnonzero(np.isfinite(walked.length_mm))
    tilts = end_tilts(part, geometry, walked.only(whole), through)
    return walked, whole[square(np.maximum(*tilts))]


def _along_normal(part: Part, geometry: Geometry, point_mm: Floats, face: Ints, target: Ints, through: float) -> Floats:
    """Return (N, 3) where the normals at points of the faces meet the target faces; nan where they meet another."""
    landed = np.full(point_mm.shape, np.nan)
    rows = np.flatnonzero(np.isfinite(point_mm).all(axis=1))
    ahead = -through * exact_normals(part, geometry, face[rows], point_mm[rows])
    lift = start_off(part) + part.mesh.chord_mm
    distance, hit = geometry.first_hits(point_mm[rows] + lift * ahead, ahead)
    met = np.isfinite(distance) & (hit == target[rows])
    end = point_mm[rows[met]] + (lift + distance[met, None]) * ahead[met]
    landed[rows[met]] = feet(part, target[rows[met]], end)
    return landed


def across_rings(part: Part, ways: Ways) -> tuple[Ways, Ints]:
    """Return for rings that are opposite themselves the way across the tube, the waist or the whole ring; and its rows.

    The way nearest to the given one is taken; a face that does not reach as far as that way gives none.
    """
    centre, axis = part.face_origin_mm[ways.first], part.face_axis[ways.first]
    big, small = part.face_radius_mm[ways.first], part.face_tube_radius_mm[ways.first]
    out = ways.first_mm - centre
    out = unit(out - dot(out, axis)[:, None] * axis)
    tube = centre + big[:, None] * out
    lean = unit(ways.first_mm - tube)
    waist, rim = (big - small)[:, None] * out, (big + small)[:, None] * out
    choices = (
        (tube + small[:, None] * lean, tube - small[:, None] * lean),
        (centre + waist, centre - waist),
        (centre + rim, centre - rim),
    )
    length = np.stack([np.linalg.norm(b - a, axis=1) for a, b in choices], axis=1)
    off = np.abs(length - ways.length_mm[:, None])
    best = np.argmin(off, axis=1)
    row = np.arange(len(best))
    near = off[row, best] <= NUDGE_RATIO * length[row, best] + 2.0 * part.mesh.chord_mm
    first, second = (np.stack([choice[end] for choice in choices], axis=1)[row, best] for end in (0, 1))
    return Ways(ways.first, ways.second, first, second), np.flatnonzero(near)


def thin_ends(part: Part, ways: Ways) -> Ways:
    """Return for tapers that are opposite themselves the way straight across their thin end, near the given way."""
    axis, tip = part.face_axis[ways.first], part.face_origin_mm[ways.first]
    low = np.maximum(part.face_along_mm[ways.first, 0], 0.0)
    centre = tip + low[:, None] * axis
    across = ways.first_mm - tip
    across = unit(across - dot(across, axis)[:, None] * axis)
    across *= (low * np.tan(np.radians(part.face_half_angle_deg[ways.first])))[:, None]
    return Ways(ways.first, ways.second, centre + across, centre - across)


def in_sight(
    part: Part, geometry: Geometry, ways: Ways, towards_mm: Floats, through: float, foot: tuple[Bools, Bools]
) -> Bools:
    """Return (N,) True where nothing but the two faces ends the way, and it runs in the material (or air, -1).

    A shortest way often ends on the very border of a face, where a ray may meet the neighbour or slip past the mesh. So
    it is checked from its middle, and again from beside that, a little towards a place known to lie between the faces.
    `foot` says which of its ends was dropped square on a surface without asking how far the face goes: those are
    checked so near beside that a face which ends before shows.
    """
    length = ways.length_mm
    slack = NUDGE_RATIO * length + 2.0 * part.mesh.chord_mm
    near = np.maximum(FOOT_NUDGE_RATIO * length, SAME_PLACE_MM)
    ahead = unit(ways.second_mm - ways.first_mm)
    middle, (first, second) = ways.middle_mm, foot
    beside = [_moved(middle, towards_mm, np.where(dropped, near, slack)) for dropped in foot]
    met = (
        _Look(part, geometry, through)
        .meets(  # all at once: a ray costs less than asking for one
            np.concatenate([beside[0], middle, beside[1], middle]),
            np.concatenate([-ahead, -ahead, ahead, ahead]),
            np.concatenate([ways.first, ways.first, ways.second, ways.second]),
            ~np.concatenate([first, first, second, second]),
            np.tile(0.5 * length, 4),
            np.tile(slack, 4),
        )
        .reshape(4, -1)
    )
    seen: Bools = (length > SAME_PLACE_MM) & (met[0] | (met[1] & ~first)) & (met[2] | (met[3] & ~second))
    return seen


def has_width(part: Part, geometry: Geometry, ways: Ways, through: float) -> Bools:
    """Return (N,) True where a way beside this one crosses from the one face (or its neighbour) to the other as well.

    Two rims that face one another along a single line, with a step's land between them, have nothing beside.
    """
    length = ways.length_mm
    aside = NUDGE_RATIO * length + 2.0 * part.mesh.chord_mm
    ahead = unit(ways.second_mm - ways.first_mm)
    u = unit(cross_product(ahead, np.eye(3)[np.argmin(np.abs(ahead), axis=1)]))
    v = cross_product(ahead, u)
    row = np.tile(np.arange(len(length)), len(_RING))  # all turns at once: a third of the time of one by one
    turn = np.repeat(_RING, len(length))[:, None]
    start = ways.middle_mm[row] + aside[row, None] * (np.cos(turn) * u[row] + np.sin(turn) * v[row])
    across = _Look(part, geometry, through).meets(
        np.concatenate([start, start]),
        np.concatenate([ahead[row], -ahead[row]]),
        np.concatenate([ways.second[row], ways.first[row]]),
        np.ones(2 * len(row), dtype=bool),
        np.tile(0.5 * length[row], 2),
        np.tile(2.0 * aside[row], 2),
    )
    wide: Bools = np.asarray(across.reshape(2, len(_RING), -1).all(axis=0).any(axis=0))
    return wide


class _Look:
    """Rays from inside a wall to its faces."""

    def __init__(self, part: Part, geometry: Geometry, through: float) -> None:
        self._n_faces, self._geometry, self._through = part.n_faces, geometry, through
        sides = np.concatenate([part.edge_faces, part.edge_faces[:, ::-1]])
        self._next_to = np.sort(sides[:, 0] * part.n_faces + sides[:, 1])

    def meets(
        self, start_mm: Floats, ahead: Floats, face: Ints, neighbours: Bools, reach_mm: Floats, slack_mm: Floats
    ) -> Bools:
        """Return (N,) True where a ray from inside meets the face (or where allowed its neighbour) as expected."""
        distance, hit = self._geometry.first_hits(start_mm, ahead)
        met = (hit == face) | (neighbours & (hit >= 0) & among(face * self._n_faces + hit, self._next_to))
        inside = self._geometry.inside(start_mm) == (self._through > 0)
        there: Bools = met & inside & (np.abs(distance - reach_mm) <= slack_mm)
        return there


def _moved(point_mm: Floats, towards_mm: Floats, most_mm: Floats) -> Floats:
    """Return (N, 3) points moved towards others, each by so much at most."""
    shift = towards_mm - point_mm
    reach = np.linalg.norm(shift, axis=1)
    share = np.divide(np.minimum(reach, most_mm), reach, out=np.zeros(len(reach)), where=reach > 0)
    moved: Floats = point_mm + share[:, None] * shift
    return moved


def end_tilts(part: Part, geometry: Geometry, ways: Ways, through: float) -> tuple[Floats, Floats]:
    """Return (N,) and (N,) degrees by which each way misses standing square on its first and its second face."""
    ahead = through * unit(ways.second_mm - ways.first_mm)
    first = angle_deg(ahead, -exact_normals(part, geometry, ways.first, ways.first_mm))
    second = angle_deg(ahead, exact_normals(part, geometry, ways.second, ways.second_mm))
    return np.nan_to_num(first, nan=180.0), np.nan_to_num(second, nan=180.0)


def pointed(geometry: Geometry, end_mm: Floats, inwards: Floats, length_mm: Floats, through: float) -> Bools:
    """Return (N,) True where the far side comes to a point or ridge there, like a drill tip over a floor.

    Around such an end there is material on all sides; at the border of a knife edge one side is air.
    """
    helper = np.eye(3)[np.argmin(np.abs(inwards), axis=1)]
    u = unit(cross_product(inwards, helper))
    v = cross_product(inwards, u)
    turn = _RING[:, None, None]
    around = RING_RATIO * (np.cos(turn) * u + np.sin(turn) * v) + RING_DEPTH_RATIO * inwards  # (turns, N, 3)
    within = geometry.inside((end_mm + length_mm[:, None] * around).reshape(-1, 3)).reshape(len(_RING), -1)
    closed: Bools = np.asarray((within == (through > 0)).all(axis=0))
    return closed


def square(tilt_deg: Floats) -> Bools:
    """Return (N,) True where a way stands square on a face."""
    stands: Bools = tilt_deg <= SQUARE_DEG
    return stands
