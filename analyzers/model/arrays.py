"""Names for the array types, and the one way to make an array read-only."""

from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Vec = tuple[float, float, float]

_Array = TypeVar("_Array", bound=NDArray[Any])


def frozen(array: _Array) -> _Array:
    """Return the same array with writing switched off."""
    array.flags.writeable = False
    return array


def vec(array: Floats) -> Vec:
    """Return a (3,) array as a plain tuple of three floats."""
    x, y, z = (float(v) for v in array)
    return (x, y, z)


def unit(vectors: Floats) -> Floats:
    """Return (..., 3) vectors at length one; a zero vector stays zero."""
    length = np.sqrt(np.einsum("...i,...i->...", vectors, vectors))[..., None]
    some = length > 0
    scaled: Floats = np.where(some, vectors / np.where(some, length, 1.0), 0.0)
    return scaled
