"""Names for the array types, and the one way to make an array read-only."""

from collections.abc import Iterable
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull
from scipy.spatial.distance import cdist

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Vec = tuple[float, float, float]

_PAIRED_MOST = 1000  # points whose distances are all taken: 8 ms
_RANGES_MOST = 8  # ranges up to which one after the other is quicker than all at once
_Array = TypeVar("_Array", bound=NDArray[Any])


def frozen(array: _Array) -> _Array:
    """Return the same array with writing switched off."""
    array.flags.writeable = False
    return array


def rows_of(key: Ints, wanted: Iterable[int]) -> Ints:
    """Return the rows of (N,) rising keys that are one of those wanted, rising; without looking at the others.

    >>> rows_of(np.array([0, 0, 1, 3, 3, 4]), (3, 0))
    array([0, 1, 3, 4])
    """
    some = sorted(set(wanted))
    first, last = key.searchsorted(some), key.searchsorted(some, side="right")
    if len(some) == 1:
        return np.arange(first[0], last[0])
    if len(some) > _RANGES_MOST or not some:
        return spread(first, last - 1)[1]
    return np.concatenate([np.arange(*each) for each in zip(first.tolist(), last.tolist(), strict=True)])


def spread(first: Ints, last: Ints) -> tuple[Ints, Ints]:
    """Return for N ranges, some of them empty, the range that each number in them is of, and the number.

    >>> spread(np.array([3, 0, 7]), np.array([4, -1, 7]))
    (array([0, 0, 2]), array([3, 4, 7]))
    """
    count = np.maximum(last - first + 1, 0)
    owner = np.repeat(np.arange(len(first)), count)
    number: Ints = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count) + first[owner]
    return owner, number


def vec(array: Floats) -> Vec:
    """Return a (3,) array as a plain tuple of three floats."""
    x, y, z = (float(v) for v in array)
    return (x, y, z)


def widest_mm(points: Floats) -> float:
    """Return the largest distance between two of (N, 3) points, 0 for none; unlike a box's it is one however they lie.

    Only points that may be an end of it are paired: those far enough from the middle.
    """
    if not len(points):
        return 0.0
    away = np.linalg.norm(points - points.mean(axis=0), axis=1)
    least = float(np.linalg.norm(points - points[np.argmax(away)], axis=1).max())
    ends = points[away >= least - away.max() - 1e-9]
    if len(ends) > _PAIRED_MOST:
        ends = ends[ConvexHull(ends, qhull_options="QJ").vertices]  # QJ: flat ones too
    return float(cdist(ends, ends).max())


def among(values: Ints, ordered: Ints) -> Bools:
    """Return, as the values lie, True where one is in a rising list; ten times as fast as `np.isin`, asked often."""
    if not len(ordered):
        return np.zeros(values.shape, dtype=bool)
    place = np.minimum(np.searchsorted(ordered, values), len(ordered) - 1)
    found: Bools = ordered[place] == values
    return found


def cross_product(first: Floats, second: Floats) -> Floats:
    """Return (..., 3) vector products; on a few rows five times as fast as `np.cross`, which moves axes about."""
    a0, a1, a2 = first[..., 0], first[..., 1], first[..., 2]
    b0, b1, b2 = second[..., 0], second[..., 1], second[..., 2]
    last = a0 * b1 - a1 * b0
    product: Floats = np.empty((*last.shape, 3))
    product[..., 0] = a1 * b2 - a2 * b1
    product[..., 1] = a2 * b0 - a0 * b2
    product[..., 2] = last
    return product


def triangle_normals(corner: Floats) -> Floats:
    """Return (T, 3) the normals of triangles (T, 3, 3), each twice as long as its triangle is large."""
    return cross_product(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])


def mean_normals(corner: Floats, place: Ints, count: int = 0) -> Floats:
    """Return (N, 3) unit means of the normals of the triangles (T, 3, 3) around each place, weighted by area.

    `place`: (T, 3) the corners' places, from 0; `count`: the least number of places.
    """
    each = np.repeat(triangle_normals(corner), 3, axis=0)
    sums = [np.bincount(place.ravel(), weights=each[:, axis], minlength=count) for axis in range(3)]
    return unit(np.stack(sums, axis=1))


def unit(vectors: Floats) -> Floats:
    """Return (..., 3) vectors at length one; a zero vector stays zero."""
    length = np.sqrt(np.einsum("...i,...i->...", vectors, vectors))[..., None]
    some = length > 0
    scaled: Floats = vectors / length if some.all() else np.where(some, vectors / np.where(some, length, 1.0), 0.0)
    return scaled
