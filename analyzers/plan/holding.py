"""How the part is held in a setup: two parallel flats for the vise, a round for the chuck, or something made for it."""

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from analyzers.model.arrays import Floats, cross_product
from analyzers.model.part import Part, Surface
from analyzers.model.report import Facts
from analyzers.plan.frame import across, parallel, same_way
from analyzers.plan.stock import Blank
from analyzers.settings import Shop
from analyzers.tolerance import SAME_ANGLE_DEG

HeldBy = Literal["vise", "chuck", "fixture"]

ENOUGH_GRIPS: Final = 2.0
"""Twice the height the jaws need is as good as any more; then the wider jaws' contact decides."""

NEARLY_DEG: Final = 10.0
"""Flats that miss being parallel by less than this are named where none are parallel (judgement)."""

FULL_ROUND_DEG: Final = 350.0
"""A round that covers nearly the whole turn centres itself in a chuck, however the exporter split it."""


@dataclass(frozen=True, slots=True)
class Hold:
    """One way to hold the part."""

    by: HeldBy
    faces: tuple[int, ...]  # the two flats of the vise, or the round the chuck grips
    width_mm: float | None  # between the jaws
    height_mm: float | None  # of the contact, along the spindle
    why: str
    off_parallel_deg: float | None = None  # angle between the two flats of the vise


@dataclass(frozen=True, slots=True)
class _Pair:
    """Two upright outer flats that look away from one another, more or less."""

    faces: tuple[int, int]
    off_deg: float  # from parallel
    width_mm: float
    height_mm: float  # of the contact, along the spindle
    length_mm: float  # across it


def hold(facts: Facts, direction: Floats, shop: Shop, blank: Blank | None = None) -> Hold:
    """Return the best way to hold the part with the spindle along a direction.

    A vise needs two flat outer faces that are parallel, look away from each other and stand upright under the
    spindle, with a common contact at least `grip_mm` high and no wider apart than the vise opens. (Two parallel flats
    or a true cylinder: handbook practice for milling and turning, key MACHDESIGN of the tables.) In the first setup,
    where `blank` is given, the uncut blank will do.
    """
    pairs = _pairs(facts, direction)
    flats = _vise(pairs, shop)
    if flats is not None:
        return flats
    round_face = _chuck(facts, direction, shop)
    if round_face is not None:
        return round_face
    if blank is not None:
        on = _on_blank(blank, shop)
        if on is not None:
            return on
    return Hold(by="fixture", faces=(), width_mm=None, height_mm=None, why=_why_not(pairs, shop))


def _on_blank(blank: Blank, shop: Shop) -> Hold | None:
    """Return how the uncut blank is held, before the first cut; None where it is too wide for the vise."""
    if blank.form == "round_bar":
        return Hold(by="chuck", faces=(), width_mm=None, height_mm=None, why="chuck on the bar")
    width = sorted(blank.size_mm)[1]
    if width > shop.vise_opening_mm:
        return None
    return Hold(by="vise", faces=(), width_mm=width, height_mm=None, why="vise on the blank's own sides")


def _pairs(facts: Facts, direction: Floats) -> list[_Pair]:
    """Return every two upright outer flats that look away from one another within NEARLY_DEG and overlap."""
    part = facts.part
    outer = np.array([each == "outer" for each in facts.face_class], dtype=bool)
    upright = np.flatnonzero(outer & (part.face_surface == Surface.PLANE) & across(part.face_normal, direction))
    normal, point = part.face_normal[upright], part.face_point_mm[upright]
    corners = [part.mesh.corners_mm((face,)) for face in upright.tolist()]
    found = []
    for row, first in enumerate(upright.tolist()):
        away = same_way(normal[row], -normal[row + 1 :], NEARLY_DEG)
        for other in (np.flatnonzero(away) + row + 1).tolist():
            width = float((point[row] - point[other]) @ normal[row])
            if not width > 0.0:  # also where a face has no triangle, and so no place
                continue
            height, length = _contact(corners[row], corners[other], normal[row], direction)
            if height > 0.0 and length > 0.0:
                second = int(upright[other])
                found.append(_Pair((first, second), _off_deg(part, first, second), width, height, length))
    return found


def _off_deg(part: Part, first: int, second: int) -> float:
    """Return by how many degrees two faces that look away from one another miss being parallel."""
    one, other = part.face_normal[first], -part.face_normal[second]
    return math.degrees(math.atan2(float(np.linalg.norm(cross_product(one, other))), float(one @ other)))


def _vise(pairs: list[_Pair], shop: Shop) -> Hold | None:
    """Return the best pair of flats for the vise; None where there is none."""
    fitting = [
        each
        for each in pairs
        if each.off_deg <= SAME_ANGLE_DEG
        and each.width_mm <= shop.vise_opening_mm
        and min(each.height_mm, each.length_mm) >= shop.grip_mm
    ]
    if not fitting:
        return None

    def rank(pair: _Pair) -> tuple[float, float, float]:
        high_enough = min(pair.height_mm, ENOUGH_GRIPS * shop.grip_mm)
        return (high_enough, round(pair.length_mm, 3), -round(pair.width_mm, 3))

    best = max(fitting, key=rank)  # the first of equals
    why = f"vise on two flats {best.width_mm:.4g} mm apart, {best.height_mm:.4g} mm of height to grip"
    return Hold("vise", best.faces, best.width_mm, best.height_mm, why, best.off_deg)


def _why_not(pairs: list[_Pair], shop: Shop) -> str:
    """Return why the vise does not hold, from the pair that comes nearest, and what does."""
    parallel_ones = [each for each in pairs if each.off_deg <= SAME_ANGLE_DEG]
    high = [each for each in parallel_ones if min(each.height_mm, each.length_mm) >= shop.grip_mm]
    if high:
        width = min(each.width_mm for each in high)
        return f"its flats are {width:.4g} mm apart, the vise opens {shop.vise_opening_mm:g} mm: clamps on the table"
    if parallel_ones:
        height = max(min(each.height_mm, each.length_mm) for each in parallel_ones)
        return f"its flats leave {height:.3g} mm to grip, the jaws need {shop.grip_mm:g} mm: soft jaws or a fixture"
    if pairs:
        off = min(each.off_deg for each in pairs)
        return f"no two outer flats are parallel, the nearest are {off:.3g}° off: soft jaws cut to them, or a fixture"
    return "no two outer flats look away from one another: soft jaws cut to its outline, or a fixture"


def _contact(one: Floats, other: Floats, normal: Floats, direction: Floats) -> tuple[float, float]:
    """Return height along the spindle and length across it over which two faces stand opposite one another.

    `one`, `other`: (N, 3) their corners; `normal`: (3,) of the one.
    """
    ways = np.stack([direction, cross_product(normal, direction)]).T
    a, b = one @ ways, other @ ways
    height, length = np.minimum(a.max(axis=0), b.max(axis=0)) - np.maximum(a.min(axis=0), b.min(axis=0))
    return float(height), float(length)


def _chuck(facts: Facts, direction: Floats, shop: Shop) -> Hold | None:
    """Return the longest outside cylinder about the spindle that jaws can grip."""
    part = facts.part
    with np.errstate(invalid="ignore"):
        rounds = (part.face_surface == Surface.CYLINDER) & ~part.face_concave & parallel(part.face_axis, direction)
        rounds &= part.face_span_deg >= FULL_ROUND_DEG
    best: Hold | None = None
    for face in np.flatnonzero(rounds).tolist():
        height = float(np.ptp(part.face_along_mm[face]))
        if height >= shop.grip_mm and (best is None or height > (best.height_mm or 0.0)):
            diameter = 2.0 * float(part.face_radius_mm[face])
            why = f"chuck on the round of ⌀{diameter:.4g} mm, {height:.4g} mm long"
            best = Hold(by="chuck", faces=(face,), width_mm=diameter, height_mm=height, why=why)
    return best
