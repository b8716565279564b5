"""Features of other sizes, with what follows from the size: ratios, the floor below, the walls beside, corners."""

import math
from dataclasses import replace
from typing import Any

import numpy as np

from analyzers.features.boss import Boss
from analyzers.features.hole import CounterboreHole, CountersunkHole, Hole
from analyzers.features.pocket import Pocket
from analyzers.features.slot import Slot
from analyzers.features.step import Step
from analyzers.model.facegraph import concave_edges
from analyzers.model.feature import Feature
from analyzers.model.finding import Change
from analyzers.model.measure import ThinPlace
from analyzers.model.part import Curve, Part
from analyzers.model.report import Facts
from analyzers.tolerance import SAME_LENGTH_MM, SAME_PLACE_MM, SMOOTH_DEG


def with_dimension(facts: Facts, feature: Feature, field: str, value: float, was: float) -> Facts | None:
    """Return the facts with one feature of another size; None where there is no such feature.

    A feature that is already past the value, seen from `was`, stays as it is: equal findings share one change.
    """
    now = getattr(feature, field)
    if now is None:
        return None
    if math.isfinite(was) and (value - was) * (value - now) < 0.0:
        return facts
    changes: dict[str, Any] = {field: value}
    if isinstance(feature, Hole):
        return _hole(facts, feature, field, value)
    if isinstance(feature, Pocket | Slot) and field == "floor_thickness_mm":
        changes["depth_mm"] = None if feature.depth_mm is None else feature.depth_mm - (value - now)
    if isinstance(feature, Pocket | Slot) and field == "depth_mm" and feature.floor_thickness_mm is not None:
        changes["floor_thickness_mm"] = feature.floor_thickness_mm - (value - now)
    if isinstance(feature, Slot) and field == "width_mm" and feature.ends == "round":
        changes["corner_radius_mm"] = value / 2.0
    after = replace(feature, **changes)
    if not _possible(after):
        return None
    if isinstance(after, Pocket):
        ratio = after.depth_mm / (2.0 * after.corner_radius_mm) if after.corner_radius_mm and after.depth_mm else None
        after = replace(after, depth_ratio=ratio)
    changed = _with(facts, feature, after)
    if field == "corner_radius_mm" and not now:
        changed = replace(changed, part=_rounded(changed.part, feature))
    if field in ("width_mm", "length_mm", "diameter_mm") and not isinstance(feature, Boss):
        changed = _beside(changed, feature, now, value - now)
    if field == "width_mm":
        changed = _as_wide(changed, feature, now, value)
    if field in ("width_mm", "depth_mm") and isinstance(feature, Pocket | Slot | Step):
        changed = replace(changed, part=_with_areas(changed.part, feature, value / now, floor=field == "width_mm"))
    if field in ("depth_mm", "floor_thickness_mm"):
        deeper = (value - now) * (1.0 if field == "depth_mm" else -1.0)
        changed = _below(changed, feature, deeper)
    return _unless_gone(changed)


def without(facts: Facts, change: Change) -> Facts:
    """Return the facts without some features; their faces are then nothing that has to be cut."""
    left = tuple(each for each in facts.features if each.id not in change.features)
    gone = {face for each in facts.features if each.id in change.features for face in each.faces}
    walls = tuple(each for each in facts.walls if not gone.intersection(each.faces))
    patterns = tuple(each for each in facts.patterns if not set(each.features) & set(change.features))
    return replace(facts, features=left, walls=walls, patterns=patterns)


def _hole(facts: Facts, hole: Hole, field: str, value: float) -> Facts | None:
    """Return the facts with a hole of another size, its lengths with it."""
    changes: dict[str, Any] = {field: value}
    now = getattr(hole, field)
    if field == "diameter_mm":
        changes["segments"] = tuple(
            replace(each, diameter_mm=value, end_diameter_mm=value)
            if each.shape == "cylinder" and abs(each.diameter_mm - now) <= SAME_LENGTH_MM
            else each
            for each in hole.segments
        )
    if field == "depth_mm" and hole.segments:
        last = max(
            (i for i, each in enumerate(hole.segments) if each.shape == "cylinder"), default=len(hole.segments) - 1
        )
        deeper = hole.segments[last].depth_mm + value - now
        changes["segments"] = tuple(
            replace(each, depth_mm=deeper) if i == last else each for i, each in enumerate(hole.segments)
        )
    if field == "entry_angle_deg" and value == 0.0:
        changes["entry"] = "flat"
    after = replace(hole, **changes)
    wide = after.counterbore_diameter_mm if isinstance(after, CounterboreHole) else math.inf
    wide = min(wide, after.countersink_diameter_mm) if isinstance(after, CountersunkHole) else wide
    if not _possible(after) or after.diameter_mm >= wide or any(each.depth_mm <= 0.0 for each in after.segments):
        return None
    after = replace(after, depth_ratio=None if after.depth_mm is None else after.depth_mm / after.diameter_mm)
    changed = _with(facts, hole, after)
    if field == "diameter_mm":
        changed = _beside(changed, hole, now, value - now)
    if field == "depth_mm" and not hole.through:
        changed = _below(changed, hole, value - now)
    return _unless_gone(changed)


def _possible(feature: Feature) -> bool:
    """Return whether all sizes are above zero and a pocket's corners go into its width."""
    names = ("depth_mm", "width_mm", "diameter_mm", "height_mm", "floor_thickness_mm", "radius_mm")
    sizes = [getattr(feature, name, None) for name in names]
    if any(each is not None and each <= 0.0 for each in sizes):
        return False
    if not isinstance(feature, Pocket | Slot) or feature.corner_radius_mm is None or feature.width_mm is None:
        return True
    return 2.0 * feature.corner_radius_mm <= feature.width_mm + SAME_LENGTH_MM


def _with(facts: Facts, before: Feature, after: Feature) -> Facts:
    return replace(facts, features=tuple(after if each is before else each for each in facts.features))


def _rounded(part: Part, feature: Feature) -> Part:
    """Return the part with the sharp upright corners of a feature rounded: its walls run into one another there."""
    within = part.edges_within(feature.faces)
    upright = np.abs(part.edge_tangent[within] @ np.array(feature.direction)) >= math.cos(math.radians(SMOOTH_DEG))
    angle = part.edge_angle_deg.copy()
    angle[within[concave_edges(part, within) & upright & (part.edge_curve[within] == Curve.LINE)]] = 180.0
    return part.changed(edge_angle_deg=angle)


def _beside(facts: Facts, feature: Feature, now: float, wider: float) -> Facts:
    """Return the facts with the walls and webs beside a feature that grew to both sides."""
    part, mine = facts.part, set(feature.faces)

    def thinner(place: ThinPlace) -> ThinPlace:
        if place.kind == "floor" or not mine.intersection(place.faces):
            return place
        if not isinstance(feature, Hole) and not _across(part, feature, place, now):
            return place
        return replace(place, thickness_mm=place.thickness_mm - wider / 2.0)

    return _ordered(facts, tuple(thinner(each) for each in facts.walls))


def _with_areas(part: Part, feature: Feature, ratio: float, *, floor: bool) -> Part:
    """Return the part with the floor of a cavity, or its walls, that many times as large."""
    rows = np.array(feature.faces, dtype=np.int64)
    lying = np.abs(part.face_normal[rows] @ np.array(feature.direction)) > math.sqrt(0.5)
    area = part.face_area_mm2.copy()
    area[rows[lying if floor else ~lying]] *= ratio
    return part.changed(face_area_mm2=area)


def _as_wide(facts: Facts, feature: Feature, now: float, value: float) -> Facts:
    """Return the facts with the narrowest gap as wide as the feature, where it was the feature's own width."""
    mine = set(feature.faces)
    measures = tuple(
        replace(each, value=value)
        if each.name == "min_gap_mm"
        and each.value is not None
        and mine.issuperset(each.faces)
        and abs(each.value - now) <= SAME_LENGTH_MM
        else each
        for each in facts.measures
    )
    return replace(facts, measures=measures)


def _across(part: Part, feature: Feature, place: ThinPlace, size_mm: float) -> bool:
    """Return whether the feature has that size across a wall beside it."""
    face = next(each for each in place.faces if each in feature.faces)
    along = part.mesh.corners_mm(feature.faces) @ part.face_normal[face]
    return bool(len(along) and abs(float(np.ptp(along)) - size_mm) <= 0.1 * size_mm)


def _below(facts: Facts, feature: Feature, deeper: float) -> Facts:
    """Return the facts with what is left below a feature that grew downwards."""
    mine = set(feature.faces)
    return _ordered(
        facts,
        tuple(
            replace(each, thickness_mm=each.thickness_mm - deeper)
            if each.kind == "floor" and mine.intersection(each.faces)
            else each
            for each in facts.walls
        ),
    )


def _unless_gone(facts: Facts) -> Facts | None:
    """Return the facts; None where a wall, web or floor has been cut away altogether."""
    return facts if all(each.thickness_mm > SAME_PLACE_MM for each in facts.walls) else None


def _ordered(facts: Facts, walls: tuple[ThinPlace, ...]) -> Facts:
    return replace(facts, walls=tuple(sorted(walls, key=lambda each: (each.thickness_mm, each.faces))))


def narrower(facts: Facts, feature: Feature, place: ThinPlace, by_mm: float) -> Facts:
    """Return the facts with a cavity that gives way to a thicker wall beside it; unchanged where it is none."""
    if not isinstance(feature, Pocket | Slot | Step):
        return facts
    for field in ("width_mm", "length_mm"):
        size = getattr(feature, field, None)
        if size is not None and size > by_mm and _across(facts.part, feature, place, size):
            return _with(facts, feature, replace(feature, **{field: size - by_mm}))
    return facts
