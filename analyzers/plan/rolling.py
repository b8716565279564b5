"""Where a round cutter comes to and what it leaves: discs rolled over a height map, and grey closings for round tips.

A flat end mill of radius r at one level reaches the cells that some disc of radius r covers without touching higher
material: the opening of the free cells by the disc (J. Serra, "Image Analysis and Mathematical Morphology", 1982).
Two distance transforms answer it for any radius. A cutter with a rounded tip leaves the closing of the heights by its
own form, which is worked out shift by shift.
"""

from typing import Final

import numpy as np
from scipy.ndimage import distance_transform_edt, label

from analyzers.model.arrays import Bools, Floats
from analyzers.settings import Cutter

HALF_CELL: Final = 0.5
"""From the middle of the last free cell to the wall, on average."""

SLACK_CELLS: Final = 1.5
"""Cells this little out of a disc's way count as reached: grid walls are stairs, so that a cell beside a wall may lie
up to 1.4 cells out of the way of any disc that fits."""

BIAS_CELLS: Final = 1.0
"""A passage counts as up to so much wider on either side, so that a cutter as wide as its slot goes in."""

LATE_CELLS: Final = 2.0
RESOLUTION_CELLS: Final = 8.0
"""In a right-angled corner a disc that is larger by dr stays out by 0.41 dr, and is noticed when that passes the slack:
0.6 cells too early to 5.5 too late in radius, in any pose (1600 corners of 6 to 40 cells); in a passage 0.6 too early.
The first number is taken off the radius found; the diameter is then off by the second at most, either way."""

STEPS: Final = 10
"""Halvings of the search for the largest disc: to a thousandth of the widest place."""

TIP_CELLS: Final = 8
"""A round tip is drawn at most this many cells in radius; larger ones on a coarser grid."""


def resolution_mm(cell_mm: float, chord_mm: float) -> float:
    """Return how far off a diameter from a grid may be: eight cells, and the triangulation's chords on both sides."""
    return RESOLUTION_CELLS * cell_mm + 2.0 * chord_mm


def room_mm(free: Bools, cell_mm: float) -> Floats:
    """Return (U, V) the distance from each free cell to the nearest higher material; 0 in it.

    The border of the grid is no wall.
    """
    if free.all():
        return np.full(free.shape, np.inf)
    room: Floats = np.maximum(distance_transform_edt(free) - HALF_CELL, 0.0) * cell_mm
    return room


def covered_off_mm(room: Floats, radius_mm: float, cell_mm: float) -> Floats:
    """Return (U, V) how far each cell lies out of the way of discs that fit; inf = none fits."""
    centre = room >= radius_mm
    if not centre.any():
        return np.full(room.shape, np.inf)
    off: Floats = distance_transform_edt(~centre) * cell_mm - radius_mm
    return off


def left_by_disc(room: Floats, wanted: Bools, radius_mm: float, cell_mm: float) -> Bools:
    """Return (U, V) the wanted cells that no disc of a radius covers, stairs of the grid left out.

    A patch counts when some cell of it lies more than SLACK_CELLS out of the way.

    Parameters
    ----------
    room : (U, V) from `room_mm`; passages count as up to BIAS_CELLS wider on either side, so that a cutter as wide as
        its slot goes in
    """
    missed = np.zeros_like(wanted)
    place = _within_reach(wanted, radius_mm, cell_mm)
    off = covered_off_mm(room[place] + BIAS_CELLS * cell_mm, radius_mm, cell_mm)
    some = wanted[place] & (off > HALF_CELL * cell_mm)
    missed[place] = holding(some, some & (off > SLACK_CELLS * cell_mm), at_corners=True)
    return missed


def _within_reach(wanted: Bools, radius_mm: float, cell_mm: float) -> tuple[slice, slice]:
    """Return the rows and columns with all that decides whether discs of a radius cover the wanted cells.

    A distance transform takes as long as the grid is large: the corners of a pocket need a third of its window.
    """
    margin = int(np.ceil(radius_mm / cell_mm + SLACK_CELLS)) + 1
    found = []
    for axis in (1, 0):
        some = np.flatnonzero(wanted.any(axis=axis))
        found.append(slice(max(int(some[0]) - margin, 0), int(some[-1]) + margin + 1) if len(some) else slice(0, 0))
    return found[0], found[1]


def holding(cells: Bools, seed: Bools, *, at_corners: bool = False) -> Bools:
    """Return the patches of connected cells that hold one of the seed; `at_corners`: a shared corner connects too."""
    if not seed.any():
        return np.zeros_like(cells)
    patch, count = label(cells, structure=np.ones((3, 3)) if at_corners else None)
    held = np.zeros(count + 1, dtype=bool)
    held[patch[seed & cells]] = True
    kept: Bools = held[patch] & cells
    return kept


def entering_mm(room: Floats, wanted: Bools, most_mm: float) -> float:
    """Return the diameter of the largest disc that fits somewhere over the wanted cells; at most `most_mm`."""
    return min(2.0 * float(room[wanted].max(initial=0.0)), most_mm)


def finishing_mm(room: Floats, wanted: Bools, cell_mm: float, most_mm: float) -> float:
    """Return the diameter of the largest disc that reaches every wanted cell, to `resolution_mm`; at most `most_mm`."""
    low, high = 0.0, min(float(room[wanted].max(initial=0.0)), most_mm / 2.0)
    least = high
    place = _within_reach(wanted, high, cell_mm)
    room, wanted = room[place], wanted[place]
    for step in range(STEPS):
        radius = high if step == 0 else (low + high) / 2.0
        off = covered_off_mm(room, radius, cell_mm)
        if off[wanted].max(initial=-np.inf) <= SLACK_CELLS * cell_mm:
            low = radius
            if step == 0:
                return 2.0 * least
        else:
            high = radius
    return 2.0 * max(low - LATE_CELLS * cell_mm, 0.0)


def left_by_tip(top_mm: Floats, bottom_mm: float, cell_mm: float, cutter: Cutter) -> tuple[Floats, float]:
    """Return (u, v) how much a cutter with a rounded tip leaves over each cell of a window, and the cell it used.

    The cutter is let down everywhere as far as it goes; what it nowhere touches stays: the grey closing by its form.
    The grid is coarsened, highest material first, until the cutter is TIP_CELLS in radius; for that the cutter is made
    BIAS_CELLS smaller, so that one as round as the hollow follows it.

    Parameters
    ----------
    top_mm : (U, V) highest material over each cell
    bottom_mm : how high it is beyond the border
    """
    radius = cutter.diameter_mm / 2.0
    factor = max(int(np.ceil(radius / (TIP_CELLS * cell_mm))), 1)
    top, cell = _coarser(top_mm, factor), cell_mm * factor
    less = min(BIAS_CELLS * cell, radius / 2.0)
    reach = int(np.floor((radius - less) / cell))
    step = np.arange(-reach, reach + 1)
    u, v = (each.ravel() for each in np.meshgrid(step, step, indexing="ij"))
    away = np.hypot(u, v) * cell
    inside = away <= radius - less
    rise = tip_height_mm(2.0 * (radius - less), max(cutter.corner_radius_mm - less, 0.0), away[inside])
    shifts = list(zip(u[inside].tolist(), v[inside].tolist(), rise.tolist(), strict=True))
    padded = np.pad(top, 2 * reach, mode="constant", constant_values=bottom_mm)
    tip = np.full((top.shape[0] + 2 * reach, top.shape[1] + 2 * reach), -np.inf)
    for i, j, height in shifts:
        np.maximum(tip, _shifted(padded, reach + i, reach + j, tip.shape) - height, out=tip)
    swept = np.full(top.shape, np.inf)
    for i, j, height in shifts:
        np.minimum(swept, _shifted(tip, reach + i, reach + j, top.shape) + height, out=swept)
    left: Floats = swept - top
    return left, cell


def _shifted(grid: Floats, row: int, column: int, shape: tuple[int, ...]) -> Floats:
    """Return the part of a grid of a shape that begins at a cell."""
    return grid[row : row + shape[0], column : column + shape[1]]


def _coarser(top: Floats, factor: int) -> Floats:
    """Return the heights on cells `factor` times as wide, the highest of each."""
    if factor == 1:
        return top
    rows, columns = (-(-size // factor) for size in top.shape)
    wide = np.pad(top, ((0, rows * factor - top.shape[0]), (0, columns * factor - top.shape[1])), mode="edge")
    coarse: Floats = wide.reshape(rows, factor, columns, factor).max(axis=(1, 3))
    return coarse


def tip_height_mm(diameter_mm: float, corner_mm: float, away_mm: Floats) -> Floats:
    """Return how high above its lowest point an end mill's surface is, away from its axis; corner 0 = flat.

    >>> import numpy as np
    >>> tip_height_mm(10.0, 5.0, np.array([0.0, 3.0, 5.0]))
    array([0., 1., 5.])
    """
    beyond = np.maximum(away_mm - (diameter_mm / 2.0 - corner_mm), 0.0)
    height: Floats = corner_mm - np.sqrt(np.maximum(corner_mm**2 - beyond**2, 0.0))
    return height
