"""Which of the found thicknesses are thin places, of which kind, and how much of a face is that thin."""

from collections.abc import Iterable, Iterator

import numpy as np

from analyzers.features.boss import Boss
from analyzers.features.groove import Groove
from analyzers.features.hole import Hole
from analyzers.features.pocket import Pocket
from analyzers.features.slot import Slot
from analyzers.features.step import Step
from analyzers.measures._pairs import Between
from analyzers.measures._sample import inner_corners, spread_over
from analyzers.measures._sights import look_across
from analyzers.model.arrays import Floats, Vec, cross_product
from analyzers.model.feature import Feature
from analyzers.model.geometry import Geometry
from analyzers.model.measure import ThinPlace
from analyzers.model.part import Part, Surface
from analyzers.model.report import Facts
from analyzers.tolerance import (
    AREA_BAND_RATIO,
    AREA_SAMPLES,
    AREA_SAMPLES_MOST,
    HEIGHT_BAND_RATIO,
    LISTED_MM,
    LISTED_MOST,
    LISTED_PER_DIAGONAL,
    LISTED_PER_HOLE,
    SAME_ANGLE_DEG,
    SAME_PLACE_MM,
    UNDER_FLOOR_DEG,
    WALL_LEAN_DEG,
)

_LEAN = float(np.sin(np.radians(WALL_LEAN_DEG)))
_UNDER = float(np.cos(np.radians(UNDER_FLOOR_DEG)))


class Owners:
    """Which feature each face belongs to."""

    def __init__(self, facts: Facts) -> None:
        self._part = facts.part
        self._of = {face: feature for feature in facts.features for face in feature.faces}

    def of(self, face: int) -> Feature | None:
        """Return the feature of a face; None where it has none."""
        return self._of.get(face)

    def first_of(self, faces: Iterable[int]) -> str | None:
        """Return the id of the first feature among the owners of some faces."""
        owners = (self._of.get(face) for face in faces)
        return next((owner.id for owner in owners if owner is not None), None)

    def floored(self, between: Between) -> Iterator[Feature]:
        """Yield the pockets, slots, grooves and holes that this material lies below, not beside."""
        for face, end, across in (
            (between.first, between.first_mm, between.second_mm),
            (between.second, between.second_mm, between.first_mm),
        ):
            owner = self._of.get(face)
            if not isinstance(owner, (Pocket, Slot, Groove, Hole)) or (isinstance(owner, Hole) and owner.through):
                continue
            rise = sum((a - b) * d for a, b, d in zip(end, across, owner.direction, strict=True))
            if rise >= _UNDER * between.thickness_mm:
                yield owner

    def upright(self, between: Between) -> Vec | None:
        """Return the direction from which the feature on one side is cut, where the material stands along it."""
        for face in between.faces:
            owner = self._of.get(face)
            if isinstance(owner, (Pocket, Slot, Step, Boss)):
                lean = sum(
                    (b - a) * d for a, b, d in zip(between.first_mm, between.second_mm, owner.direction, strict=True)
                )
                if abs(lean) <= _LEAN * between.thickness_mm:
                    return owner.direction
        return None

    def kind(self, between: Between) -> str:
        """Return wall, floor (below a recess) or web (between a hole's flank and something else)."""
        if next(self.floored(between), None) is not None:
            return "floor"
        flanks = [face for face in {between.first, between.second} if isinstance(self.of(face), Hole)]
        shared = self.of(between.first) is self.of(between.second)
        if flanks and not (shared and len(flanks) == 2) and not self._tube(between):
            return "web"
        return "wall"

    def _tube(self, between: Between) -> bool:
        """Return whether the two faces are round about one axis: the wall goes all round and is no web."""
        part, pair = self._part, [between.first, between.second]
        if any(kind not in (Surface.CYLINDER, Surface.CONE) for kind in part.face_surface[pair].tolist()):
            return False
        (a, b), offset = part.face_axis[pair], part.face_origin_mm[between.second] - part.face_origin_mm[between.first]
        off = float(np.linalg.norm(offset - np.dot(offset, a) * a))
        return off <= SAME_PLACE_MM and float(np.linalg.norm(cross_product(a, b))) <= np.radians(SAME_ANGLE_DEG)


def thin_places(facts: Facts, geometry: Geometry, walls: tuple[Between, ...]) -> tuple[ThinPlace, ...]:
    """Return the places worth a line in a report, thinnest first; each with its area on the smaller of its two faces.

    `walls` thinnest first. Worth a line: thinner than LISTED_MM or than LISTED_PER_DIAGONAL of the part, and
    beside a hole thinner than LISTED_PER_HOLE of its diameter.
    """
    part, owners = facts.part, Owners(facts)
    most = max(LISTED_MM, LISTED_PER_DIAGONAL * part.diagonal_mm)
    chosen = []
    for each in walls:
        kind = owners.kind(each)
        width = max((o.diameter_mm for o in map(owners.of, each.faces) if isinstance(o, Hole)), default=0.0)
        if each.thickness_mm <= (max(most, LISTED_PER_HOLE * width) if kind == "web" else most):
            chosen.append((each, kind))
    chosen = chosen[:LISTED_MOST]
    smaller = [min(each.faces, key=lambda face: (part.face_area_mm2[face], face)) for each, _ in chosen]
    areas = _areas(part, geometry, [each for each, _ in chosen], smaller)
    heights = _heights(part, geometry, owners, [each for each, _ in chosen], smaller)
    return tuple(
        ThinPlace(
            thickness_mm=each.thickness_mm,
            point_mm=each.first_mm if face == each.first else each.second_mm,
            faces=(face, *(other for other in each.faces if other != face)),
            area_mm2=float(area),
            kind=kind,
            exact=each.exact,
            height_mm=height if kind == "wall" else None,
        )
        for (each, kind), face, area, height in zip(chosen, smaller, areas, heights, strict=True)
    )


def _heights(
    part: Part, geometry: Geometry, owners: Owners, places: list[Between], on: list[int]
) -> list[float | None]:
    """Return how far each place stands along the direction its feature is cut from; None where there is none.

    Measured between the outermost corners of the face's triangles that still see the other face, no more than
    HEIGHT_BAND_RATIO times as far as at the thinnest.
    """
    upright = [owners.upright(place) for place in places]
    wanted = np.zeros(part.n_faces, dtype=bool)
    wanted[[face for face, way in zip(on, upright, strict=True) if way is not None]] = True
    samples, corner = inner_corners(part.mesh, wanted, AREA_SAMPLES_MOST)
    sights = look_across(part, geometry, samples, through=1.0, free_tilts=False)
    cast_from = samples.face[sights.sample]
    heights: list[float | None] = []
    for place, face, way in zip(places, on, upright, strict=True):
        thin = (sights.first == place.first) & (sights.second == place.second) & (cast_from == face)
        thin &= sights.distance_mm <= HEIGHT_BAND_RATIO * place.thickness_mm
        if way is None or not thin.any():
            heights.append(None)
            continue
        along = corner[sights.sample[thin]] @ np.array(way)
        heights.append(float(along.max() - along.min()))
    return heights


def _areas(part: Part, geometry: Geometry, places: list[Between], on: list[int]) -> Floats:
    """Return (N,) how much of the face `on` is as thin as each place, within AREA_BAND_RATIO; sampled."""
    area = np.zeros(len(places))
    faces = sorted(set(on))
    if not faces:
        return area
    count = np.zeros(part.n_faces, dtype=np.int64)
    count[faces] = min(AREA_SAMPLES, AREA_SAMPLES_MOST // len(faces))
    samples = spread_over(part.mesh, count)
    sights = look_across(part, geometry, samples, through=1.0, free_tilts=False)
    cast_from = samples.face[sights.sample]
    for row, (place, face) in enumerate(zip(places, on, strict=True)):
        thin = (sights.first == place.first) & (sights.second == place.second) & (cast_from == face)
        thin &= sights.distance_mm <= (1.0 + AREA_BAND_RATIO) * place.thickness_mm
        area[row] = samples.area_mm2[sights.sample[thin]].sum()
    return area
