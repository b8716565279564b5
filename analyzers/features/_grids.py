"""Rows and rectangular grids: equal features on the crossings of evenly spaced lines, one place empty at most."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from analyzers.features._circles import Order
from analyzers.features._families import labels
from analyzers.model.arrays import Floats, Ints, unit
from analyzers.tolerance import TWIN_PLACE_MM

LEAST_PLACES_WITH_GAP = 6
LEAST_ROW_WITH_GAP = 7
"""Judgement: a grid or row with one empty place needs this many places before the gap is more likely forgotten than
meant. A gap in the very middle is meant; so is one in the middle of a side of a small grid: four corners and one."""

_LEAST_PLACES_WITH_GAP_IN_SIDE = 9

_POINTS_MOST = 150
_BOXES_MOST = 30
_ANGLE_DEG = 0.2


def grids(flat: Floats, parts: bool = True) -> list[Order]:
    """Return the rows of three or more and the grids of four or more among (N, 2) points, largest first.

    `parts` False: only when all points together are one.
    """
    found: list[Order] = []
    left = np.arange(min(len(flat), _POINTS_MOST))
    while len(left) >= 3:
        tried = (_whole(flat, left, along) for along in _nearest(flat[left]))
        best = next((each for each in tried if each is not None), None)
        if best is None and parts:
            pieces = (_largest(flat, left, along) for along in _directions(flat[left]))
            best = next((each for each in pieces if each is not None), None)
        if best is None:
            break
        found.append(best)
        free = np.zeros(len(flat), dtype=bool)
        free[left] = True
        free[best.members] = False
        left = np.flatnonzero(free)
    return found


def _nearest(flat: Floats) -> Iterator[Floats]:
    """Yield the way from a point to the one nearest to it: along a line of the grid, since diagonals are longer."""
    step = flat[1:] - flat[0]
    yield unit(step[np.argmin((step * step).sum(axis=1))])


def _directions(flat: Floats) -> list[Floats]:
    """Return the two directions that most pairs of points follow, or stand square to."""
    first, second = np.triu_indices(len(flat), 1)
    step = flat[second] - flat[first]
    angle = np.degrees(np.arctan2(step[:, 1], step[:, 0])) % 90.0
    angle = np.where(angle > 90.0 - _ANGLE_DEG, angle - 90.0, angle)
    label = labels(angle[:, None], _ANGLE_DEG)[:, 0]
    length = np.linalg.norm(step, axis=1)
    order = np.argsort(-np.bincount(label), kind="stable")[:2]
    longest = [np.flatnonzero(label == each)[np.argmax(length[label == each])] for each in order.tolist()]
    return [unit(step[each]) for each in longest]


@dataclass(frozen=True, slots=True, eq=False)
class _Lines:
    """Columns and rows along a direction. `line`: (N, 2) those of each point; `level`: the place of each of them."""

    along: Floats
    line: list[list[int]]
    level: tuple[Floats, Floats]

    def back(self, order: Order | None) -> Order | None:
        """Return an order with its gap, if any, in the coordinates of the points."""
        if order is None or order.gap is None:
            return order
        u, v = self.along
        return Order(
            order.members, np.array([u * order.gap[0] - v * order.gap[1], v * order.gap[0] + u * order.gap[1]])
        )

    def used_in(self, across: int, line: int) -> list[int]:
        """Return the points of one column (0) or row (1)."""
        return [point for point, each in enumerate(self.line) if each[across] == line]

    def used(self, members: list[int], across: int) -> list[int]:
        """Return the columns (0) or rows (1) that have one of the points."""
        return sorted({self.line[each][across] for each in members})


def _lines(flat: Floats, along: Floats) -> tuple[_Lines, Ints]:
    """Return the columns and rows of all points along one direction."""
    turned = flat @ np.array([along, [-along[1], along[0]]]).T
    line = labels(turned, TWIN_PLACE_MM)
    level = [np.bincount(line[:, i], weights=turned[:, i]) / np.bincount(line[:, i]) for i in (0, 1)]
    return _Lines(along, line.tolist(), (level[0], level[1])), line


def _whole(flat: Floats, left: Ints, along: Floats) -> Order | None:
    """Return all the points that are left as one row or grid."""
    lines, _ = _lines(flat, along)
    return lines.back(_in_box(lines, left.tolist()))


def _largest(flat: Floats, left: Ints, along: Floats) -> Order | None:
    """Return the row or grid along one direction that holds most of the points that are left."""
    lines, line = _lines(flat, along)
    for box in _boxes(line[left]):
        inside = (line[left] >= box[:2]).all(axis=1) & (line[left] < box[2:]).all(axis=1)
        order = _in_box(lines, left[inside].tolist())
        if order is not None:
            return lines.back(order)
    return None


def _boxes(line: Ints) -> Ints:
    """Return (B, 4) first column, first row, last column + 1, last row + 1 of boxes between points, fullest first."""
    columns, column = np.unique(line[:, 0], return_inverse=True)  # of thousands only those that these points are on
    rows, row = np.unique(line[:, 1], return_inverse=True)
    line = np.stack([column.reshape(-1), row.reshape(-1)], axis=1)
    taken = np.zeros(line.max(axis=0) + 1, dtype=np.int64)
    np.add.at(taken, (line[:, 0], line[:, 1]), 1)
    total = np.pad(taken.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
    first, second = np.triu_indices(len(line), 1)
    low, high = np.minimum(line[first], line[second]), np.maximum(line[first], line[second]) + 1
    count = total[high[:, 0], high[:, 1]] - total[low[:, 0], high[:, 1]] - total[high[:, 0], low[:, 1]]
    count += total[low[:, 0], low[:, 1]]
    few = np.flatnonzero(count >= 3)
    boxes = np.c_[low, high][few]
    order = np.lexsort((*boxes.T, -count[few]))
    fullest = boxes[order[:_BOXES_MOST]]
    return np.stack(
        [columns[fullest[:, 0]], rows[fullest[:, 1]], columns[fullest[:, 2] - 1] + 1, rows[fullest[:, 3] - 1] + 1],
        axis=1,
    )


def _in_box(lines: _Lines, members: list[int]) -> Order | None:
    """Return the members as a row or grid, full or with one gap; None elsewhere."""
    columns, rows = lines.used(members, 0), lines.used(members, 1)
    wide, high = lines.level[0][columns], lines.level[1][rows]
    if min(len(columns), len(rows)) == 1:
        across = 1 if len(columns) > 1 else 0
        cut = len(lines.used_in(across, (rows if across else columns)[0])) > len(members)
        return _as_row(wide, high, members, cut)
    places = len(columns) * len(rows)
    if not places - 1 <= len(members) <= places or not (_even(wide) and _even(high)):
        return None
    if len(members) == places:
        return Order(np.array(members))
    inside = set(members)
    others = [each for row, each in enumerate(lines.line) if row not in inside]
    wider = any(column in columns or row in rows for column, row in others)
    if places < LEAST_PLACES_WITH_GAP or wider:  # a piece cut out of something larger has no gap of its own
        return None
    column, row = (_lone([lines.line[each][i] for each in members]) for i in (0, 1))
    central = [2 * columns.index(column) == len(columns) - 1, 2 * rows.index(row) == len(rows) - 1]
    meant = all(central) or (any(central) and places < _LEAST_PLACES_WITH_GAP_IN_SIDE)
    gap = None if meant else np.array([lines.level[0][column], lines.level[1][row]])
    return Order(np.array(members), gap)


def _as_row(wide: Floats, high: Floats, members: list[int], cut: bool) -> Order | None:
    """Return the members as a row, full or with one gap; None elsewhere. A row cut out of a longer one has no gap."""
    values, other = (wide, high[0]) if len(wide) > 1 else (high, wide[0])
    if len(values) != len(members):  # two at one place, on two levels
        return None
    if _even(values):
        return Order(np.array(members))
    spot = None if cut else _row_gap(values)
    if spot is None:
        return None
    return Order(np.array(members), np.array([spot, other] if len(wide) > 1 else [other, spot]))


def _lone(line: list[int]) -> int:
    """Return the one line that has a point less than the others."""
    return min(sorted(set(line)), key=line.count)


def _even(levels: Floats) -> bool:
    steps = np.diff(levels)
    return len(steps) < 2 or bool(steps.max() - steps.min() <= 2 * TWIN_PLACE_MM)


def _row_gap(levels: Floats) -> float | None:
    """Return the one empty place in a row that is otherwise even, unless it lies in the middle of the row."""
    steps = np.diff(levels)
    wide = int(np.argmax(steps))
    even = np.delete(steps, wide)
    if len(levels) + 1 < LEAST_ROW_WITH_GAP or 2 * (wide + 1) == len(levels) or np.ptp(even) > 2 * TWIN_PLACE_MM:
        return None
    if abs(steps[wide] - 2 * even.mean()) > 2 * TWIN_PLACE_MM:
        return None
    return float(levels[wide] + even.mean())
