"""Rows, grids and circles in space: families of equal features laid out in their plane, or round an axis."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from analyzers.features._circles import Order, circles
from analyzers.features._families import BLENDS, Family, equal_rows, labels, parallel
from analyzers.features._grids import grids
from analyzers.features._view import View
from analyzers.model.arrays import Bools, Floats, Ints, cross_product, unit
from analyzers.model.part import Surface
from analyzers.tolerance import TWIN_PLACE_MM, TWIN_TURN

_CENTRES_MOST = 24  # axes that a circle of parallel features may stand around, widest first
_BLEND_CENTRES_MOST = 2
_HUBS_MOST = 4  # axes that features looking in different directions may stand around, widest first


@dataclass(frozen=True, slots=True, eq=False)
class EmptyPlace:
    """Where one more member was expected: `like`: the member that stands nearest, a row of the part's features."""

    place_mm: Floats  # (3,)
    way: Floats  # (3,) unit, out of the part
    like: int


@dataclass(frozen=True, slots=True, eq=False)
class Ordered:
    """A row, grid or circle. `rows`: its features; circles: their axis, and how many places divide them."""

    kind: Literal["rectangular", "circular"]
    rows: Ints
    gap: EmptyPlace | None
    axis: Floats
    centre_mm: Floats | None = None
    slots: int = 0


def orders_of(view: View, families: list[Family]) -> list[Ordered]:
    """Return the orders among families of equal features, no feature in two."""
    found: list[Ordered] = []
    axes: list[tuple[Floats, Floats]] = []
    for family in families:
        for same in parallel(family):
            found += _in_plane(same, _round_axes(view, same.axis[0], axes))
        if family.face_class not in BLENDS:
            taken = {row for each in found for row in each.rows.tolist()}
            left = [number for number, row in enumerate(family.rows.tolist()) if row not in taken]
            if len(left) >= 3:
                found += _around_hubs(view, family, np.array(left))
    return found


def _in_plane(family: Family, round_axes_mm: Floats) -> Iterator[Ordered]:
    """Yield the circles, then the rows and grids of members that look along one line."""
    axis, origin = family.axis[0], family.place_mm[0]
    plane = _across(axis)
    flat = (family.place_mm - origin) @ plane.T
    blend = (
        family.face_class in BLENDS
    )  # rounded corners stand wherever corners are: all of them make an order, or none
    centres = (round_axes_mm[: _BLEND_CENTRES_MOST if blend else _CENTRES_MOST] - origin) @ plane.T

    def lifted(members: Ints, spot: Floats | None) -> tuple[int, Floats] | None:
        """Return the member nearest to a place of the plane, and the place in space, on that member's level."""
        if spot is None:
            return None
        nearest = int(members[np.argmin(np.round(np.linalg.norm(flat[members] - spot, axis=1), 4))])
        height = (family.place_mm[nearest] - origin) @ axis
        return nearest, origin + spot @ plane + height * axis

    def ordered(kind: Literal["rectangular", "circular"], order: Order, members: Ints) -> Ordered:
        gap, centre = lifted(members, order.gap), lifted(members, order.centre)
        empty = EmptyPlace(gap[1], family.axis[gap[0]], int(family.rows[gap[0]])) if gap else None
        return Ordered(kind, family.rows[members], empty, axis, centre[1] if centre else None, order.slots)

    found = circles(flat, centres, about_all=not blend)
    yield from (ordered("circular", each, each.members) for each in found)
    free = np.ones(len(flat), dtype=bool)
    for each in found:
        free[each.members] = False
    left = np.flatnonzero(free)
    if len(left) >= 3:
        found = grids(flat[left], parts=not blend)
        yield from (ordered("rectangular", each, left[each.members]) for each in found)


def _around_hubs(view: View, family: Family, members: Ints) -> list[Ordered]:
    """Return the circles of members that each look another way, as holes drilled into a shaft all round."""
    found: list[Ordered] = []
    part = view.part
    hubs = np.flatnonzero(_round(view))
    hubs = hubs[np.argsort(-np.round(np.nan_to_num(part.face_radius_mm[hubs]), 3), kind="stable")[:_HUBS_MOST]]
    for hub in hubs.tolist():
        axis, origin = part.face_axis[hub], part.face_origin_mm[hub]
        way, offset = family.axis[members], family.place_mm[members] - origin
        height = offset @ axis
        aside = offset - height[:, None] * axis
        out = unit(aside)
        turned = np.stack([way @ axis, _dot(way, out), _dot(way, cross_product(axis, out))], axis=1)
        numbers = np.c_[height, np.linalg.norm(aside, axis=1), turned]
        apart = np.array([TWIN_PLACE_MM] * 2 + [TWIN_TURN] * 3)
        plane = _across(axis)
        for group in equal_rows(labels(numbers, apart)):
            if len(group) < 3 or abs(turned[group[0], 0]) > 1.0 - TWIN_TURN:
                continue
            for order in circles(aside[group] @ plane.T, np.zeros((1, 2))):
                rows = group[order.members]
                centre = origin + height[rows[0]] * axis
                empty = None
                if order.gap is not None:
                    outward = unit(order.gap @ plane)
                    there = turned[rows[0]] @ np.stack([axis, outward, cross_product(axis, outward)])
                    empty = EmptyPlace(centre + order.gap @ plane, there, int(family.rows[members[rows[0]]]))
                found.append(Ordered("circular", family.rows[members[rows]], empty, axis, centre, order.slots))
        if found:
            break
    return found


def _round(view: View) -> Bools:
    """Return (F,) True for cylinders, cones and tori that are no blends."""
    kind = view.part.face_surface
    bent = (kind >= Surface.CYLINDER) & (kind <= Surface.TORUS) & (kind != Surface.SPHERE)
    return np.asarray(bent & ~view.blends.is_blend)


def _across(axis: Floats) -> Floats:
    """Return (2, 3) two directions square to an axis and to one another."""
    x, y, z = axis.tolist()
    least = min(abs(x), abs(y), abs(z))
    side = (0.0, z, -y) if abs(x) == least else (-z, 0.0, x) if abs(y) == least else (y, -x, 0.0)
    length = math.hypot(*side)
    u, v, w = (each / length for each in side)
    return np.array([[u, v, w], [y * w - z * v, z * u - x * w, x * v - y * u]])


def _dot(one: Floats, other: Floats) -> Floats:
    product: Floats = np.einsum("ij,ij->i", one, other)
    return product


def _round_axes(view: View, axis: Floats, known: list[tuple[Floats, Floats]]) -> Floats:
    """Return (C, 3) a point of each axis of the body's round faces along one direction, widest first; remembered."""
    for other, points in known:
        if abs(float(axis @ other)) > 1.0 - TWIN_TURN:
            return points
    part = view.part
    along = np.flatnonzero(_round(view) & (np.abs(part.face_axis @ axis) > 1.0 - TWIN_TURN))
    widest = along[np.argsort(-np.round(np.nan_to_num(part.face_radius_mm[along]), 3), kind="stable")]
    points = part.face_origin_mm[widest]
    foot = points - (points @ axis)[:, None] * axis
    first = [each[0] for each in equal_rows(labels(foot, TWIN_PLACE_MM))]
    known.append((axis, np.asarray(points[first])))
    return known[-1][1]
