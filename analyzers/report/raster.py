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
    """Return for each span its row, first and last pixel, and triangle; only spans that hold a pixel's centre.

    A triangle is cut at the height of its middle corner: each half then has one border on either side.
    """
    x, y = _downwards(corner)
    edge = np.clip(np.ceil(y - 0.5), 0, height).astype(np.int64)
    top = edge[:, :2].ravel()  # of the upper and of the lower half
    rows = np.where(turns(corner)[:, None] != 0, edge[:, 1:] - edge[:, :2], 0).ravel()
    half = np.repeat(np.arange(len(rows)), rows)
    down = _counting(rows)
    ends = []
    for a, b in ((np.array([0, 1]), np.array([1, 2])), (np.array([0, 0]), np.array([2, 2]))):  # short sides, long side
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):  # level ones cross no row
            slope = (x[:, b] - x[:, a]) / (y[:, b] - y[:, a])
            start = x[:, a] + slope * (edge[:, :2] + 0.5 - y[:, a])
        ends.append(start.ravel()[half] + slope.ravel()[half] * down)
    first = np.ceil(np.maximum(np.minimum(*ends), 0.0) - 0.5).astype(np.int64)
    last = np.floor(np.minimum(np.maximum(*ends), width) - 0.5).astype(np.int64)
    full = np.flatnonzero(last >= first)
    half = half[full]
    return down[full] + top[half], first[full], last[full], half // 2


def _downwards(corner: Floats) -> tuple[Floats, Floats]:
    """Return (T, 3) x and y of the corners, the highest first; ten times as fast as sorting along the short axis."""
    x, y = corner[..., 0].T.copy(), corner[..., 1].T.copy()
    for one, other in ((0, 1), (1, 2), (0, 1)):
        below = np.flatnonzero(y[one] > y[other])
        for each in (x, y):
            each[one, below], each[other, below] = each[other, below], each[one, below]
    return x.T, y.T


def turns(corner: Floats) -> Floats:
    """Return (T,) +1 where the corners run clockwise as one sees them, -1 the other way, 0 for a triangle edge-on."""
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
    mean = (value[:, 0] + value[:, 1] + value[:, 2]) / 3
    k = np.where(flat, mean, value[:, 0] - g * corner[:, 0, 0] - h * corner[:, 0, 1])
    return g, h, k


def _draw(
    best: Ints, corner: Floats, spans: tuple[Ints, Ints, Ints, Ints], width: int, depth: tuple[float, float]
) -> None:
    """Enter the pixels of some spans into the buffer: key = distance from the eye, then triangle; smallest wins."""
    row, first, length, triangle = spans
    g, h, k = slopes(corner, corner[..., 2])
    scale = (_DEPTH_STEPS - 1) / (depth[1] - depth[0])
    step = -scale * g[triangle]
    far = scale * (depth[1] - k[triangle] - h[triangle] * (row + 0.5)) + step * (first + 0.5)
    across = _counting(length)
    steps = np.clip(np.repeat(far, length) + np.repeat(step, length) * across, 0, _DEPTH_STEPS - 1)
    key = (steps.astype(np.int64) << 32) | np.repeat(triangle, length)
    np.minimum.at(best, np.repeat(row * width + first, length) + across, key)
