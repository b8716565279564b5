"""What a cutter sees that comes straight down: the highest material over every cell of a grid across the spindle."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from analyzers.model.arrays import Bools, Floats, Ints, unit
from analyzers.model.part import Part
from analyzers.tolerance import SAME_LENGTH_MM

MOST_CELLS: Final = 40_000
"""Of a whole map with the air around it: a part of 120 x 80 mm gets cells of 0.55 mm; drawing it takes some 20 ms."""

LEAST_CELL_MM: Final = 0.05
"""Finer cells than this show the triangulation, whose chords are off by up to 0.1 mm, rather than the part."""

FACING_SIN: Final = 1e-6
"""Triangles that look up by less than this are walls: they cover no cell."""


@dataclass(frozen=True, eq=False)
class HeightMap:
    """A grid of U x V cells; cell (i, j) has its middle at `corner_mm + cell_mm * (i, j)` along the first two axes.

    What is hidden under other material is not in it: undercuts, and what lies below a lip.
    """

    axes: Floats  # (3, 3) rows: across, across, and the direction out of the part along which the cutter comes
    corner_mm: Floats  # (2,)
    cell_mm: float
    top_mm: Floats  # (U, V) highest material along the direction; `bottom_mm` where there is none
    face: Ints  # (U, V) face of that material; -1 where there is none
    bottom_mm: float  # lowest place of the whole part along the direction

    def cells(self, point_mm: Floats) -> Ints:
        """Return (N, 2) the cells that points lie over, kept within the grid."""
        place = np.rint((point_mm @ self.axes[:2].T - self.corner_mm) / self.cell_mm).astype(np.int64)
        inside: Ints = np.clip(place, 0, np.array(self.top_mm.shape) - 1)
        return inside

    def around(self, seen: Bools, margin_mm: float) -> tuple[slice, slice]:
        """Return the rows and columns of a (U, V) mask that has one cell at least, with a margin, within the grid."""
        margin = int(np.ceil(margin_mm / self.cell_mm))
        ranges = []
        for axis, size in ((1, seen.shape[0]), (0, seen.shape[1])):
            where = np.flatnonzero(seen.any(axis=axis))
            ranges.append(slice(max(int(where[0]) - margin, 0), min(int(where[-1]) + margin + 1, size)))
        return ranges[0], ranges[1]


def height_map(
    part: Part, direction: Floats, axes: Floats, cell_mm: float | None = None, margin_mm: float = 0.0
) -> HeightMap:
    """Return the height map of a part from its triangulation.

    Parameters
    ----------
    direction : (3,) unit, out of the part towards the spindle
    axes : (3, 3) the part's main directions: the grid lies along them as far as it can, so that walls follow its rows
    cell_mm : None = as fine as MOST_CELLS allow
    margin_mm : air around the part

    Notes
    -----
    Scan conversion: each upward triangle covers on each row of cells the span between two of its edges. Exact at the
    middles of the cells but for the chords of the triangulation.
    """
    across = _across(direction, axes)
    frame = np.stack([*across, direction])
    point = part.mesh.point_mm @ frame.T
    low, high = point[:, :2].min(axis=0) - margin_mm, point[:, :2].max(axis=0) + margin_mm
    cell = cell_mm or max(float(np.sqrt(np.prod(high - low) / MOST_CELLS)), LEAST_CELL_MM)
    shape = np.maximum(np.ceil((high - low) / cell - _EDGE).astype(np.int64), 1)
    corner = (low + high) / 2.0 - (shape - 1) / 2.0 * cell
    bottom = float(point[:, 2].min())

    chosen, index, height = _covered(point[part.mesh.triangle], corner, cell, shape)
    top = np.full(int(shape.prod()), bottom)
    face = np.full(len(top), -1, dtype=np.int64)
    np.maximum.at(top, index, height)
    highest = height >= top[index] - SAME_LENGTH_MM
    face[index[highest]] = part.mesh.triangle_face[chosen[highest]]
    size = (int(shape[0]), int(shape[1]))
    return HeightMap(frame, corner, cell, top.reshape(size), face.reshape(size), bottom)


def _across(direction: Floats, axes: Floats) -> Floats:
    """Return (2, 3) two directions square to the spindle, along the part's main directions as far as they can be."""
    lean = np.abs(axes @ direction)
    first = axes[int(np.argmin(lean))]
    first = unit(first - (first @ direction) * direction)
    return np.stack([first, np.cross(direction, first)])


def _covered(corner: Floats, start: Floats, cell: float, shape: Ints) -> tuple[Ints, Ints, Floats]:
    """Return for every cell that an upward triangle covers: triangle, flat index of the cell, height there."""
    side = corner[:, 1:] - corner[:, :1]
    cross = np.cross(side[:, 0], side[:, 1])
    size = np.linalg.norm(cross, axis=1)
    chosen = np.flatnonzero(cross[:, 2] > FACING_SIN * np.maximum(size, 1e-300))
    place = (corner[chosen, :, :2] - start) / cell  # (t, 3, 2) in cells

    first = np.maximum(np.ceil(place[:, :, 0].min(axis=1) - _EDGE), 0).astype(np.int64)
    last = np.minimum(np.floor(place[:, :, 0].max(axis=1) + _EDGE), shape[0] - 1).astype(np.int64)
    owner, row = _spread(first, last)
    low, high = _span(place[owner], row.astype(float))
    begin = np.maximum(np.ceil(low - _EDGE), 0).astype(np.int64)
    end = np.minimum(np.floor(high + _EDGE), shape[1] - 1).astype(np.int64)
    line, column = _spread(begin, end)
    owner, row = owner[line], row[line]

    triangle = chosen[owner]
    slope = -cross[triangle, :2] / cross[triangle, 2:] * cell
    off = np.stack([row, column], axis=1) - place[owner, 0]
    height: Floats = corner[triangle, 0, 2] + np.einsum("ij,ij->i", slope, off)
    height = np.clip(height, corner[triangle, :, 2].min(axis=1), corner[triangle, :, 2].max(axis=1))
    return triangle, row * int(shape[1]) + column, height


_EDGE: Final = 1e-6
"""A cell whose middle lies on an edge, to a millionth of a cell, counts for both triangles: no cell falls between."""


def _spread(first: Ints, last: Ints) -> tuple[Ints, Ints]:
    """Return for N ranges, some of them empty, every number in them and the range it is of."""
    count = np.maximum(last - first + 1, 0)
    owner = np.repeat(np.arange(len(first)), count)
    number: Ints = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count) + first[owner]
    return owner, number


def _span(place: Floats, row: Floats) -> tuple[Floats, Floats]:
    """Return (N,) and (N,) between which places along a row each of N triangles lies."""
    low, high = np.full(len(row), np.inf), np.full(len(row), -np.inf)
    for a, b in ((0, 1), (1, 2), (2, 0)):
        start, end = place[:, a], place[:, b]
        rise = end[:, 0] - start[:, 0]
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            share = np.clip((row - start[:, 0]) / rise, 0.0, 1.0)
        at = start[:, 1] + share * (end[:, 1] - start[:, 1])
        between = (row >= np.minimum(start[:, 0], end[:, 0]) - _EDGE) & (
            row <= np.maximum(start[:, 0], end[:, 0]) + _EDGE
        )
        level = between & (rise == 0.0)
        slanted = between & (rise != 0.0)
        low = np.where(slanted, np.minimum(low, at), low)
        high = np.where(slanted, np.maximum(high, at), high)
        low = np.where(level, np.minimum(low, np.minimum(start[:, 1], end[:, 1])), low)
        high = np.where(level, np.maximum(high, np.maximum(start[:, 1], end[:, 1])), high)
    return low, high
