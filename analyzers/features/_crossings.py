"""Slots of one depth that cross: one floor, and walls that face one another in pairs. Each pair is a slot."""

from dataclasses import replace
from itertools import pairwise

import numpy as np

from analyzers.features._hollows import Hollow, enclosure
from analyzers.features._view import View
from analyzers.model.arrays import Floats, cross_product
from analyzers.model.part import Surface
from analyzers.tolerance import PARALLEL_COS, SQUARE_SIN

_OPEN_SIDES = 3  # from so many open sides on, channels must cross or branch


def uncrossed(view: View, hollow: Hollow) -> list[Hollow]:
    """Return the slots that cross in a hollow, the longest with the floor; the hollow itself where none do.

    Only plain crossings are told apart: upright flat walls, each facing another, on flat floors of one level.
    """
    part, ways = view.part, hollow.open_ways
    if len(ways) <= _OPEN_SIDES or not hollow.facing_walls:
        return [hollow]
    for up in (hollow.way(way) for way in ways if way ^ 1 not in ways):
        faces = list(hollow.faces)
        if (part.face_surface[faces] != Surface.PLANE).any():
            return [hollow]
        rise = part.face_axis[faces] @ up
        floors = [face for face, look in zip(faces, rise.tolist(), strict=True) if look > PARALLEL_COS]
        if not floors or (np.abs(rise[rise < PARALLEL_COS]) > SQUARE_SIN).any():
            continue
        if len({int(view.surface[face]) for face in floors}) > 1:
            continue
        found = _channels(view, [face for face in faces if face not in floors], up)
        if len(found) > 1:
            return _as_hollows(view, hollow, found, floors)
    return [hollow]


def _channels(view: View, walls: list[int], up: Floats) -> list[list[int]]:
    """Return the walls of each channel, longest channels first; empty where some wall faces none."""
    part, found = view.part, []
    left = list(walls)
    while left:
        normal = part.face_axis[left[0]]
        along = np.abs(part.face_axis[left] @ normal) > PARALLEL_COS
        lying = [face for face, one in zip(left, along.tolist(), strict=True) if one]
        left = [face for face in left if face not in lying]
        planes: dict[int, list[int]] = {}
        for face in lying:
            planes.setdefault(int(view.surface[face]), []).append(face)
        ranked = sorted(planes.values(), key=lambda each: float(part.face_origin_mm[each[0]] @ normal))
        if len(ranked) % 2:
            return []
        for low, high in pairwise(ranked):
            ahead = float(part.face_axis[low[0]] @ normal) > 0.0
            if ahead and float(part.face_axis[high[0]] @ normal) < 0.0:
                found.append([*low, *high])
        if sum(len(each) for each in found) != len(walls) - len(left):
            return []
    return sorted(found, key=lambda each: _rank(view, each, up))


def _rank(view: View, walls: list[int], up: Floats) -> tuple[float, float, list[int]]:
    """Return a key by which longer channels come first, of equally long ones the wider."""
    points, normal = view.points_of(walls), view.part.face_axis[walls[0]]
    length, width = float(np.ptp(points @ cross_product(up, normal))), float(np.ptp(points @ normal))
    return (-round(length, 3), -round(width, 3), walls)


def _as_hollows(view: View, whole: Hollow, channels: list[list[int]], floors: list[int]) -> list[Hollow]:
    """Return a hollow for each channel: what it sees of the others' walls and of the floor is not the open."""
    own = enclosure(view, whole.faces)
    ways = np.stack([whole.way(number) for number in range(6)])
    found: list[Hollow] = []
    for walls in channels:
        rows = view.lookouts.of(tuple(walls))
        looks = view.lookouts.normal[rows] @ ways.T
        share = view.lookouts.leaves(rows, ways, own).mean(axis=0) if len(rows) else np.zeros(6)
        found.append(
            replace(
                whole,
                faces=tuple(sorted([*walls, *(floors if not found else [])])),
                open_share=share,
                walled_off=np.asarray((looks < -PARALLEL_COS).any(axis=0)),
                floors=tuple(floors),
            )
        )
    return found
