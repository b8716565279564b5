"""Equal features in an order: rows and grids, bolt circles; and the one place where a pattern has a gap."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from analyzers.model.arrays import Floats, unit, vec
from analyzers.model.feature import Feature, Pattern
from analyzers.tolerance import SAME_PLACE_MM

_NEAR_MM = 20 * SAME_PLACE_MM  # drawn patterns are exact; exporters round to 1e-3 at worst


def find_patterns(features: tuple[Feature, ...]) -> tuple[Pattern, ...]:
    """Return bolt circles and straight rows among holes of one kind and size that look one way."""
    alike: dict[tuple[object, ...], list[Feature]] = {}
    for feature in features:
        if feature.face_class == "hole":
            alike.setdefault(_size(feature), []).append(feature)
    found: list[Pattern] = []
    for members in alike.values():
        if len(members) >= 3:
            found += _orders(members)
    return tuple(found)


def _size(feature: Feature) -> tuple[object, ...]:
    own = feature.dimensions()
    numbers = tuple(round(float(own[key]), 3) for key in sorted(own) if isinstance(own[key], float))
    sense = unit(np.array(feature.direction))
    lead = sense[np.argmax(np.abs(np.round(sense, 6)))]
    axis = np.round(sense if lead > 0 else -sense, 4) + 0.0
    return (feature.kind, numbers, tuple(axis.tolist()))


def _orders(members: list[Feature]) -> Iterator[Pattern]:
    """Yield the order that takes up all members: a circle, a row, a grid; else nothing."""
    place = np.array([f.position_mm for f in members])
    axis = unit(np.array(members[0].direction))
    side = unit(np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))]))
    flat = np.c_[place @ side, place @ np.cross(axis, side)]
    names = tuple(f.id for f in members)
    circle = _circle_gaps(flat) if len(members) >= 3 else None
    if circle is not None:
        back = np.stack([side, np.cross(axis, side)])
        missing = tuple(vec(spot @ back + (place[0] @ axis) * axis) for spot in circle)
        yield Pattern(kind="circular", features=names, missing=missing)
    elif _in_grid(flat):
        yield Pattern(kind="rectangular", features=names)


def _circle_gaps(flat: Floats) -> list[Floats] | None:
    """Return the empty places of an evenly divided circle through all points; None where they lie on none."""
    solution, *_ = np.linalg.lstsq(np.c_[2 * flat, np.ones(len(flat))], (flat**2).sum(axis=1), rcond=None)
    centre = solution[:2]
    radius = np.linalg.norm(flat - centre, axis=1)
    if np.ptp(radius) > _NEAR_MM or radius.mean() <= _NEAR_MM:
        return None
    angle = np.sort(np.degrees(np.arctan2(*(flat - centre).T[::-1])) % 360.0)
    steps = np.diff(np.append(angle, angle[0] + 360.0))
    pitch = float(steps.min())
    slack = float(np.degrees(_NEAR_MM / radius.mean()))
    times = np.round(steps / pitch)
    if np.abs(steps - times * pitch).max() > slack * len(flat) or abs(360.0 / pitch - round(360.0 / pitch)) > 0.01:
        return None
    gaps = int(times.sum()) - len(flat)
    if gaps > 1 or (gaps == 1 and len(flat) < 4):
        return None
    start = angle[np.flatnonzero(times > 1)] + pitch
    return [centre + radius.mean() * np.array([np.cos(np.radians(a)), np.sin(np.radians(a))]) for a in start]


def _in_grid(flat: Floats) -> bool:
    """Return whether the points fill the crossings of evenly spaced parallel lines, without a gap."""
    step = flat - flat[0]
    first = step[np.argsort(np.linalg.norm(step, axis=1), kind="stable")[1]]
    along = unit(first)
    turned = flat @ np.stack([along, np.array([-along[1], along[0]])]).T
    columns, rows = (_levels(turned[:, i]) for i in (0, 1))
    return len(columns) * len(rows) == len(flat) and _even(columns) and _even(rows)


def _levels(values: Floats) -> list[float]:
    levels: list[float] = []
    for value in np.sort(values).tolist():
        if not levels or value - levels[-1] > _NEAR_MM:
            levels.append(value)
    return levels


def _even(levels: list[float]) -> bool:
    steps = [b - a for a, b in pairwise(levels)]
    return not steps or max(steps) - min(steps) <= _NEAR_MM
