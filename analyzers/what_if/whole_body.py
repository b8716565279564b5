"""Changes that are no dimension of one feature: scale, length, side to cut from, grip, material, tolerance, copies."""

from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

import numpy as np

from analyzers.model.finding import Change
from analyzers.model.plan import Plan
from analyzers.model.report import Facts
from analyzers.plan import FIXTURE_SETUPS
from analyzers.settings import Settings, Shop
from analyzers.tolerance import SAME_LENGTH_MM

POWERS = {"_mm": 1, "_mm2": 2, "_mm3": 3}
"""Endings of field names, and with which power of a scale their numbers grow."""

_T = TypeVar("_T")


def scaled(facts: Facts, scale: float) -> Facts:
    """Return the facts of the same part that many times as large: every length, area and volume in them."""
    measures = tuple(
        each if each.value is None else replace(each, value=each.value * scale ** _power(each.name))
        for each in _larger(facts.measures, scale)
    )
    return replace(_larger(replace(facts, measures=()), scale), measures=measures)


def shortened(facts: Facts, was_mm: float, length_mm: float) -> Facts | None:
    """Return the facts of a part that is pressed together along the axis on which it was that long; None = on none.

    Points, areas, edges and outline follow; features keep their sizes.
    """
    part = facts.part
    spans = np.abs(np.array(part.size_mm) - was_mm)
    axis = int(np.argmin(spans))
    if spans[axis] > SAME_LENGTH_MM + 1e-3 * was_mm or length_mm <= 0.0:
        return None
    press = np.ones(3)
    press[axis] = length_mm / was_mm
    names = ("box_mm", "face_centroid_mm", "face_point_mm", "face_origin_mm", "edge_mid_mm", "vertex_mm")
    changes: dict[str, Any] = {name: getattr(part, name) * press for name in names}
    changes["mesh"] = replace(part.mesh, point_mm=part.mesh.point_mm * press)
    changes["volume_mm3"] = part.volume_mm3 * press[axis]
    along = np.abs(part.edge_tangent[:, axis]) > np.abs(np.delete(part.edge_tangent, axis, axis=1)).max(axis=1)
    changes["edge_length_mm"] = np.where(along, part.edge_length_mm * press[axis], part.edge_length_mm)
    ends = np.abs(part.face_normal[:, axis]) > np.abs(np.delete(part.face_normal, axis, axis=1)).max(axis=1)
    changes["face_area_mm2"] = np.where(ends, part.face_area_mm2, part.face_area_mm2 * press[axis])
    shorter = replace(part, **changes)
    around_mm = float(part.edge_length_mm.sum())
    outside = float(shorter.edge_length_mm.sum()) / around_mm if around_mm else 1.0
    measures = tuple(
        replace(each, value=each.value * outside)
        if each.name == "external_sharp_edge_length_mm" and each.value is not None
        else each
        for each in facts.measures
    )
    return replace(facts, part=shorter, measures=measures)


def from_setup(facts: Facts, plan: Plan, change: Change) -> Facts | None:
    """Return the facts with features that are cut from another setup's direction; None where there is no such setup."""
    target = next((each for each in plan.setups if each.id == change.value), None)
    if target is None:
        return None
    turned = tuple(
        replace(each, direction=target.direction) if each.id in change.features else each for each in facts.features
    )
    return replace(facts, features=turned)


def with_flats(plan: Plan, shop: Shop) -> Plan:
    """Return the plan with flats for the vise in every setup, and without the fixtures made for want of them."""
    loose = [each for each in plan.setups[1:] if not each.vise_faces and each.grip_width_mm is None]
    setups = tuple(
        replace(each, held_by="vise", grip_width_mm=shop.grip_mm) if each in loose else each for each in plan.setups
    )
    spared = FIXTURE_SETUPS * shop.setup_minutes * sum(1 for each in loose if each.held_by == "fixture")
    return replace(plan, setups=setups, setup_minutes=plan.setup_minutes - spared)


def in_material(settings: Settings, material: str) -> Settings | None:
    """Return the settings with another material of the shop; None where it has none of that id."""
    found = next((each for each in settings.shop.materials if each.id == material), None)
    return None if found is None else replace(settings, material=found)


def with_zone(facts: Facts, change: Change) -> Facts:
    """Return the facts with tolerances on the change's faces that are as wide as its value."""
    value, among = change.number, set(change.faces)
    notes = tuple(
        replace(each, zone_mm=value, upper_mm=value / 2.0, lower_mm=-value / 2.0, fit="")
        if among.intersection(each.faces) and (each.zone_mm is None or each.zone_mm < value) and each.why_none is None
        else each
        for each in facts.tolerances
    )
    return replace(facts, tolerances=notes)


def with_plain_faces(facts: Facts, change: Change) -> Facts:
    """Return the facts with freeform regions made of planes and rounds, which an end mill cuts with its side."""
    regions = [each for each in facts.features if each.id in change.features]
    faces = {face for each in regions for face in each.faces}
    kinds = tuple("outer" if face in faces else kind for face, kind in enumerate(facts.face_class))
    return replace(facts, face_class=kinds, features=tuple(each for each in facts.features if each not in regions))


def with_copies(facts: Facts, change: Change) -> Facts:
    """Return the facts with a copy at every empty place of the patterns of these features, the odd ones made equal."""
    among = set(change.features)
    by_id = {each.id: each for each in facts.features}
    filled = [each for each in facts.patterns if each.missing and among.issuperset(each.features)]
    features, copies = dict(by_id), 0
    for pattern in filled:
        for place, gap in pattern.places():
            like = by_id[pattern.features[0] if gap is None else gap.like]
            copies += 1
            odd = by_id.get((gap.instead if gap is not None else None) or "")
            name = f"{like.id}+{copies}" if odd is None else odd.id
            faces = () if odd is None else odd.faces
            features[name] = replace(like, id=name, faces=faces, position_mm=place)
    patterns = tuple(replace(each, missing=(), gaps=()) if each in filled else each for each in facts.patterns)
    return replace(facts, features=tuple(features.values()), patterns=patterns)


def _power(name: str) -> int:
    return next((power for ending, power in POWERS.items() if name.endswith(ending)), 0)


def _larger(thing: _T, scale: float, power: int = 0) -> _T:
    """Return numbers, arrays, tuples and dataclasses with every length in them that many times as large."""
    grown: Any = thing
    if is_dataclass(thing) and not isinstance(thing, type):
        changes = {
            each.name: _larger(getattr(thing, each.name), scale, _power(each.name))
            for each in fields(thing)
            if each.init
        }
        grown = replace(thing, **changes)
    elif isinstance(thing, tuple):
        grown = tuple(_larger(each, scale, power) for each in thing)
    elif power and (isinstance(thing, np.ndarray) or (isinstance(thing, float) and not isinstance(thing, bool))):
        grown = thing * scale**power
    result: _T = grown
    return result
