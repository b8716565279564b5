"""How the part is held in a setup: two parallel flats for the vise, a round for the chuck, or something made for it."""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from analyzers.model.arrays import Floats
from analyzers.model.part import Part, Surface
from analyzers.model.report import Facts
from analyzers.plan.frame import across, parallel, same_way
from analyzers.plan.stock import Blank
from analyzers.settings import Shop

HeldBy = Literal["vise", "chuck", "fixture"]

ENOUGH_GRIPS: Final = 2.0
"""Twice the height the jaws need is as good as any more; then the wider jaws' contact decides."""

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


def hold(facts: Facts, direction: Floats, shop: Shop, blank: Blank | None = None) -> Hold:
    """Return the best way to hold the part with the spindle along a direction.

    A vise needs two flat outer faces that are parallel, look away from each other and stand upright under the
    spindle, with a common contact at least `grip_mm` high and no wider apart than the vise opens. (Two parallel flats
    or a true cylinder: handbook practice for milling and turning, key MACHDESIGN of the tables.) In the first setup,
    where `blank` is given, the uncut blank will do.
    """
    flats = _vise(facts, direction, shop)
    if flats is not None:
        return flats
    round_face = _chuck(facts, direction, shop)
    if round_face is not None:
        return round_face
    if blank is not None:
        on = _on_blank(blank, shop)
        if on is not None:
            return on
    why = f"no two parallel outer faces with {shop.grip_mm:g} mm of grip: clamps, soft jaws or a fixture"
    return Hold(by="fixture", faces=(), width_mm=None, height_mm=None, why=why)


def _on_blank(blank: Blank, shop: Shop) -> Hold | None:
    """Return how the uncut blank is held, before the first cut; None where it is too wide for the vise."""
    if blank.form == "round_bar":
        return Hold(by="chuck", faces=(), width_mm=None, height_mm=None, why="chuck on the bar")
    width = sorted(blank.size_mm)[1]
    if width > shop.vise_opening_mm:
        return None
    return Hold(by="vise", faces=(), width_mm=width, height_mm=None, why="vise on the blank's own sides")


def _vise(facts: Facts, direction: Floats, shop: Shop) -> Hold | None:
    """Return the best pair of flats; None where there is none."""
    part = facts.part
    outer = np.array([each == "outer" for each in facts.face_class], dtype=bool)
    upright = outer & (part.face_surface == Surface.PLANE) & across(part.face_normal, direction)
    rows = np.flatnonzero(upright).tolist()
    best: tuple[tuple[float, float, float], Hold] | None = None
    for position, first in enumerate(rows):
        for second in rows[position + 1 :]:
            if not bool(same_way(part.face_normal[first], -part.face_normal[second])):
                continue
            width = float((part.face_point_mm[first] - part.face_point_mm[second]) @ part.face_normal[first])
            height, length = _contact(part, first, second, direction)
            if not 0.0 < width <= shop.vise_opening_mm or height < shop.grip_mm or length < shop.grip_mm:
                continue
            why = f"vise on two flats {width:.4g} mm apart, {height:.4g} mm of height to grip"
            rank = (min(height, ENOUGH_GRIPS * shop.grip_mm), round(length, 3), -round(width, 3))
            if best is None or rank > best[0]:
                best = (rank, Hold(by="vise", faces=(first, second), width_mm=width, height_mm=height, why=why))
    return best[1] if best is not None else None


def _contact(part: Part, first: int, second: int, direction: Floats) -> tuple[float, float]:
    """Return height along the spindle and length across it over which two faces stand opposite one another."""
    across_way = np.cross(part.face_normal[first], direction)
    spans = []
    for face in (first, second):
        rows = part.mesh.triangle[part.mesh.triangle_face == face].ravel()
        points = part.mesh.point_mm[rows] @ np.stack([direction, across_way]).T
        spans.append((points.min(axis=0), points.max(axis=0)))
    (low_a, high_a), (low_b, high_b) = spans
    height, length = np.minimum(high_a, high_b) - np.maximum(low_a, low_b)
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
