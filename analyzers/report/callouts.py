"""Numbered markers around a picture: each place gets a leader line to a label in the margin, as on a drawing."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import dist, hypot
from typing import Final, Literal

from analyzers.model.arrays import Vec
from analyzers.report.pictures import Picture, Spot, spot

GUTTER: Final = 104
"""Width added to the picture on both sides for the labels, in pixels of the picture."""
LABEL: Final = 48
"""Least distance between the middles of two labels."""
MOST: Final = 12
"""Markers in one picture; what does not fit is in the tables all the same."""
SAME: Final = 12
"""A place this near to one that is marked already needs no second marker: the first was the more serious."""
PER_LABEL: Final = 3
"""Places marked for one label."""
_SHORTER: Final = 1e-6
"""Pixels by which an exchange must shorten two leaders to count: more than rounding."""

Shape = Literal["error", "warning", "note", "thin"]


@dataclass(frozen=True, slots=True)
class Place:
    """Something to mark: what the label says, and the faces or the point it belongs to."""

    label: str
    shape: Shape
    title: str
    german: str
    href: str
    faces: tuple[int, ...] = ()
    point_mm: Vec | None = None


@dataclass(frozen=True, slots=True)
class Marker:
    """One label in the margin, with its leader line to the place; pixels, the gutter included."""

    place: Place
    x: float
    y: float
    label_x: float
    label_y: float
    hidden: bool
    point_mm: Vec  # the place on the part


def mark(picture: Picture, places: Sequence[Place]) -> list[Marker]:
    """Return the markers of a picture; places that are nowhere in it are left out."""
    found: list[tuple[Place, Spot]] = []
    used: dict[str, int] = {}
    for place in places:
        if len(found) >= MOST:
            break
        if used.get(place.label, 0) >= PER_LABEL:
            continue
        at = spot(picture, place.faces, place.point_mm)
        if at is not None and not any(hypot(at.x - other.x, at.y - other.y) < SAME for _, other in found):
            used[place.label] = used.get(place.label, 0) + 1
            found.append((place, at))
    middle = sorted(at.x for _, at in found)[len(found) // 2] if found else 0.0
    left = [pair for pair in found if pair[1].x < middle]
    right = [pair for pair in found if pair[1].x >= middle]
    width = picture.width + 2 * GUTTER
    return _column(left, GUTTER * 0.4, picture.height) + _column(right, width - GUTTER * 0.4, picture.height)


def _column(found: list[tuple[Place, Spot]], label_x: float, height: int) -> list[Marker]:
    """Return the markers of one margin, labels from top to bottom, so that no two leaders cross."""
    heights = spread(sorted(at.y for _, at in found), height)
    points = [(at.x + GUTTER, at.y) for _, at in found]
    order = uncrossed(points, [(label_x, label_y) for label_y in heights])
    return [
        Marker(found[at][0], *points[at], label_x, label_y, found[at][1].hidden, found[at][1].point_mm)
        for at, label_y in zip(order, heights, strict=True)
    ]


def uncrossed(points: Sequence[tuple[float, float]], labels: Sequence[tuple[float, float]]) -> list[int]:
    """Return which point each label is for, so that no two leaders cross.

    Two leaders that cross become shorter when they exchange their ends, so where no exchange shortens, none cross; and
    as each exchange shortens the whole, there is an end.
    """
    order = sorted(range(len(points)), key=lambda at: points[at][1])

    def length(label: int, point: int) -> float:
        return dist(labels[label], points[order[point]])

    shortened = True
    while shortened:
        shortened = False
        for one, other in combinations(range(len(order)), 2):
            if length(one, other) + length(other, one) < length(one, one) + length(other, other) - _SHORTER:
                order[one], order[other] = order[other], order[one]
                shortened = True
    return order


def spread(wanted: list[float], height: int, label: float = LABEL) -> list[float]:
    """Return heights near the wanted ones (ascending), at least a label apart and inside the picture."""
    room = (height - label) / max(len(wanted) - 1, 1)
    gap = min(label, room)
    placed: list[float] = []
    for at in wanted:
        lowest = placed[-1] + gap if placed else label / 2
        placed.append(max(at, lowest))
    limit = height - label / 2
    for i in range(len(placed) - 1, -1, -1):
        placed[i] = min(placed[i], limit)
        limit = placed[i] - gap
    return placed
