"""Triangles to pixels with a depth buffer, in array expressions: needs no graphics card and no display.

Each triangle becomes spans, one for each row of pixels it covers (half-plane form: Pineda, "A parallel algorithm for
polygon rasterization", SIGGRAPH 1988); spans become pixels; the nearest triangle wins each pixel.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from analyzers.model.arrays import Floats, Ints

_AT_ONCE: Final = 2_000_000
"""Pixels handled in one array expression: bounds the memory to some 100 MB."""
_DEPTH_STEPS: Final = 2**30
_EMPTY: Final = np.iinfo(np.int64).max


@dataclass(frozen=True, slots=True)
class Raster:
    """What each pixel of a picture of `height` x `width` shows."""

    triangle: Ints  # (height, width) row of the mesh's triangles, -1 = background
    near: Floats  # (height, width) depth towards the eye, in the unit of the points; -inf = background


def rasterise(corner: Floats, width: int, height: int) -> Raster:
    """Return the nearest triangle of each pixel.

    Parameters
    ----------
    corner : (T, 3, 3) for each triangle's corners x, y in pixels (y down) and depth (larger = nearer to the eye)
    width, height : size of the picture in pixels
    """
    low, high = _depth_range(corner)
    best = np.full(height * width, _EMPTY, dtype=np.int64)
    row, first, last, triangle = _spans(corner, width, height)
    length = last - first + 1
    ends = np.cumsum(length)
    start = 0
    while start < len(length):
        done = int(ends[start - 1]) if start else 0
        stop = max(start + 1, int(np.searchsorted(ends, done + _AT_ONCE, side="right")))
        part = slice(start, stop)
        _draw(best, corner, (row[part], first[part], length[part], triangle[part]), width, (low, high))
        start = stop
    hit = best != _EMPTY
    shown = np.where(hit, best & 0xFFFFFFFF, -1)
    far = np.where(hit, best >> 32, 0) / _DEPTH_STEPS
    near = np.where(hit, high - far * (high - low), -np.inf)
    return Raster(shown.reshape(height, width), near.reshape(height, width))


def _depth_range(corner: Floats) -> tuple[float, float]:
    if not len(corner):
        return (0.0, 1.0)
    low, high = float(corner[..., 2].min()), float(corner[..., 2].max())
    return (low, high if high > low else low + 1.0)


def _spans(corner: Floats, width: int, height: int) -> tuple[Ints, Ints, Ints, Ints]:
    """Return for each span its row, first and last pixel, and triangle; only spans that hold a pixel's centre."""
    y = corner[..., 1]
    top = np.maximum(np.ceil(y.min(axis=1) - 0.5), 0).astype(np.int64)
    bottom = np.minimum(np.floor(y.max(axis=1) - 0.5), height - 1).astype(np.int64)
    rows = np.maximum(bottom - top + 1, 0)
    triangle = np.repeat(np.arange(len(corner)), rows)
    row = _counting(rows) + top[triangle]
    at = row + 0.5
    left = np.full(len(row), -np.inf)
    right = np.full(len(row), np.inf)
    turn = _turn(corner)
    for one in range(3):
        start, end = corner[:, one], corner[:, (one + 1) % 3]
        # inside: turn * ((end - start) x (p - start)) >= 0, a half plane a*x + c >= 0 in this row
        a = (-turn * (end[:, 1] - start[:, 1]))[triangle]
        run = (turn * (end[:, 0] - start[:, 0]))[triangle]
        c = run * (at - start[triangle, 1]) - a * start[triangle, 0]
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):  # a border far off is as good as none
            border = -c / a
        left = np.where(a > 0, np.maximum(left, border), left)
        right = np.where(a < 0, np.minimum(right, border), right)
    first = np.maximum(np.ceil(np.maximum(left, -1.0) - 0.5), 0).astype(np.int64)
    last = np.minimum(np.floor(np.minimum(right, width + 1.0) - 0.5), width - 1).astype(np.int64)
    full = (last >= first) & (turn[triangle] != 0)
    return row[full], first[full], last[full], triangle[full]


def _turn(corner: Floats) -> Floats:
    """Return (T,) +1 where the corners run one way round, -1 the other, 0 for a triangle seen edge-on."""
    side, other = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    turn: Floats = np.sign(side[:, 0] * other[:, 1] - side[:, 1] * other[:, 0])
    return turn


def _counting(lengths: Ints) -> Ints:
    """Return 0, 1, .. n-1 for each n of `lengths`, one after the other."""
    ends = np.cumsum(lengths)
    counted: Ints = np.arange(int(ends[-1]) if len(ends) else 0) - np.repeat(ends - lengths, lengths)
    return counted


def slopes(corner: Floats, value: Floats) -> tuple[Floats, Floats, Floats]:
    """Return for each triangle g, h, k with value = g*x + h*y + k, where `value` (T, 3) is given at the corners.

    A triangle seen edge-on gets g = h = 0 and its mean.
    """
    side, other = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    twice = side[:, 0] * other[:, 1] - side[:, 1] * other[:, 0]
    rise, rise_other = value[:, 1] - value[:, 0], value[:, 2] - value[:, 0]
    flat = twice == 0
    twice = np.where(flat, 1.0, twice)
    g = np.where(flat, 0.0, (rise * other[:, 1] - rise_other * side[:, 1]) / twice)
    h = np.where(flat, 0.0, (rise_other * side[:, 0] - rise * other[:, 0]) / twice)
    k = np.where(flat, value.mean(axis=1), value[:, 0] - g * corner[:, 0, 0] - h * corner[:, 0, 1])
    return g, h, k


def _draw(
    best: Ints, corner: Floats, spans: tuple[Ints, Ints, Ints, Ints], width: int, depth: tuple[float, float]
) -> None:
    """Enter the pixels of some spans into the buffer: key = distance from the eye, then triangle; smallest wins."""
    row, first, length, triangle = spans
    span = np.repeat(np.arange(len(row)), length)
    x = first[span] + _counting(length)
    y, owner = row[span], triangle[span]
    g, h, k = slopes(corner, corner[..., 2])
    near = np.clip(g[owner] * (x + 0.5) + h[owner] * (y + 0.5) + k[owner], *depth)
    far = (depth[1] - near) / (depth[1] - depth[0])
    key = ((far * (_DEPTH_STEPS - 1)).astype(np.int64) << 32) | owner
    np.minimum.at(best, y * width + x, key)
