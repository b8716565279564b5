"""A part's mesh as few bytes as a page needs: lattice positions, octahedral normals, differences, zlib.

Layout, little endian: vertex, triangle and face count (uint32 each), lowest corner and step (float32, 3 each);
then byte planes: x, y, z as running differences (low plane, high plane each), normal u, v as running differences,
vertex numbers of the triangles as zigzag differences (3 planes), triangles of each face (3 planes). Triangles are
sorted by face; a vertex belongs to one face, so that its normal is that face's own. Octahedral normals: Meyer et al.,
"On floating-point normal vectors", 2010.
"""

import struct
import zlib
from typing import Final

import numpy as np
from numpy.typing import NDArray

from analyzers.model.arrays import Floats, Ints, mean_normals
from analyzers.model.part import Mesh

MOST: Final = 2**22
"""Vertices and triangles that three bytes of a zigzag difference can number; a browser draws no more."""
_LATTICE: Final = 65535


def pack(mesh: Mesh, n_faces: int) -> bytes:
    """Return the mesh as compressed bytes.

    Positions are rounded to 1/65535 of the box's sides, normals to about one degree.

    Raises
    ------
    ValueError : the mesh is too large for the format; says how large
    """
    order = np.argsort(mesh.triangle_face, kind="stable")
    owner = mesh.triangle_face[order]
    corner = mesh.triangle[order]
    key, index = np.unique(owner[:, None] * len(mesh.point_mm) + corner, return_inverse=True)
    index = index.reshape(corner.shape)
    if max(len(key), len(corner)) >= MOST:
        raise ValueError(f"{len(corner)} triangles over {len(key)} vertices, expected fewer than {MOST}")
    point = mesh.point_mm[key % len(mesh.point_mm)] if len(key) else np.zeros((0, 3))
    low, high = (point.min(axis=0), point.max(axis=0)) if len(key) else (np.zeros(3), np.zeros(3))
    step = np.where(high > low, (high - low) / _LATTICE, 1.0)
    lattice = np.round((point - low) / step).astype(np.int64)
    normal = _octahedral(mean_normals(point[index], index, len(point)))
    counts = np.bincount(owner, minlength=n_faces) if len(owner) else np.zeros(n_faces, dtype=np.int64)
    planes = [_planes(np.diff(lattice[:, axis], prepend=0) & 0xFFFF, 2) for axis in range(3)]
    planes += [_planes(np.diff(normal[:, axis], prepend=0) & 0xFF, 1) for axis in range(2)]
    planes += [_planes(_zigzag(np.diff(index.ravel(), prepend=0)), 3), _planes(counts, 3)]
    head = struct.pack("<3I6f", len(key), len(corner), n_faces, *low, *step)
    return zlib.compress(head + b"".join(planes))


def _octahedral(normal: Floats) -> Ints:
    """Return (N, 2) bytes; a zero vector becomes one that points along z."""
    length = np.abs(normal).sum(axis=1, keepdims=True)
    flat = np.divide(normal, length, out=np.tile([0.0, 0.0, 1.0], (len(normal), 1)), where=length > 0)
    xy = flat[:, :2]
    folded = np.where(flat[:, 2:] < 0, (1.0 - np.abs(xy[:, ::-1])) * np.where(xy >= 0, 1.0, -1.0), xy)
    code: Ints = np.clip(np.round((folded + 1.0) * 127.5), 0, 255).astype(np.int64)
    return code


def _zigzag(value: Ints) -> Ints:
    coded: Ints = np.where(value < 0, -2 * value - 1, 2 * value)
    return coded


def _planes(value: Ints, count: int) -> bytes:
    """Return the lowest bytes of all values, then the next bytes, and so on."""
    little: NDArray[np.uint8] = value.astype("<u4").view(np.uint8).reshape(-1, 4)
    return np.ascontiguousarray(little[:, :count].T).tobytes()
