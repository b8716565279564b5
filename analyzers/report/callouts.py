"""Numbered markers around a picture: each place gets a leader line to a label in the margin, as on a drawing."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot
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

Shape = Literal["error", "warning", "note", "thin"]


@dataclass(frozen=True, slots=True)
class Place:
    """Something to mark: what the label says, and the faces or the point it belongs to."""

    label: str
    shape: Shape
    title: str
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
    """Return the markers of one margin, labels from top to bottom in the order of their places."""
    found = sorted(found, key=lambda pair: pair[1].y)
    heights = spread([at.y for _, at in found], height)
    return [
        Marker(place, at.x + GUTTER, at.y, label_x, label_y, at.hidden, at.point_mm)
        for (place, at), label_y in zip(found, heights, strict=True)
    ]


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
