"""The empty place of a row, grid or circle of holes: what is there, and whether a hole could be."""

from dataclasses import dataclass

import numpy as np

from analyzers.features._view import View
from analyzers.features.hole import Hole
from analyzers.model.arrays import Floats, cross_product, unit
from analyzers.model.feature import NOTHING, Feature, Gap
from analyzers.tolerance import TWIN_PLACE_MM, TWIN_TURN

SIZE_RATIO = 2.0
"""Judgement: a hole more than twice, or less than half as wide as the others stands there for another purpose."""

_AROUND = 12
_DEPTHS = (0.05, 0.35, 0.65, 0.95)  # of the hole's depth


@dataclass(frozen=True, slots=True, eq=False)
class Slot:
    """A place where a feature like another is expected, and which way it should look."""

    place_mm: Floats  # (3,)
    way: Floats  # (3,) unit, out of the part
    like: Feature


def filled_slot(view: View, features: tuple[Feature, ...], slot: Slot) -> Gap | None:
    """Return what is there instead: a hole of another size, or plain material; None where the place is used otherwise.

    Only holes are asked for: whether a pocket or boss could stand somewhere, the whole body must tell.
    """
    like = slot.like
    if not isinstance(like, Hole):
        return None
    for each in features:
        if not isinstance(each, Hole) or abs(float(np.array(each.direction) @ slot.way)) < 1.0 - TWIN_TURN:
            continue
        offset = np.array(each.position_mm) - slot.place_mm
        if float(np.linalg.norm(offset - (offset @ slot.way) * slot.way)) <= TWIN_PLACE_MM:
            ratio = each.diameter_mm / like.diameter_mm
            comparable = 1.0 / SIZE_RATIO <= ratio <= SIZE_RATIO
            if not comparable:
                return None
            return Gap(like=like.id, expected=like.callout(), instead=each.id, found=each.callout())
    if not _could_be_drilled(view, slot, like):
        return None
    return Gap(like=like.id, expected=like.callout(), found=NOTHING)


def _could_be_drilled(view: View, slot: Slot, like: Hole) -> bool:
    """Return whether plain material fills the hole's place, with a wall around it, and nothing lies above it."""
    if like.depth_mm is None:
        return False
    way = slot.way
    side = unit(cross_product(way, np.eye(3)[np.argmin(np.abs(way))]))
    turn = 2.0 * np.pi * np.arange(_AROUND) / _AROUND
    ring = np.outer(np.cos(turn), side) + np.outer(np.sin(turn), cross_product(way, side))
    widest = 0.5 * max([like.diameter_mm, *(each.diameter_mm for each in like.segments)])
    disc = np.vstack([np.zeros((1, 3)), 0.5 * widest * ring, 1.05 * widest * ring])
    below = [disc - share * like.depth_mm * way for share in _DEPTHS]
    above = disc + (0.05 * like.depth_mm + view.part.mesh.chord_mm) * way
    inside = view.geometry.inside(slot.place_mm + np.vstack([*below, above]))
    return bool(inside[: -len(disc)].all() and not inside[-len(disc) :].any())
