import struct
import zlib
from dataclasses import replace

import numpy as np
import pytest

from analyzers.model.arrays import Floats, Ints
from analyzers.model.part import Mesh
from analyzers.report.mesh_bytes import pack
from tests.report import _builders as build


def unpacked(data: bytes) -> tuple[Floats, Floats, Ints, Ints]:
    """Return positions, normals, triangles and triangles per face, read one value after the other."""
    raw = zlib.decompress(data)
    vertices, triangles, faces, *box = struct.unpack_from("<3I6f", raw)
    low, step = np.array(box[:3]), np.array(box[3:])
    at = 36

    def plane(length: int) -> list[int]:
        nonlocal at
        at += length
        return list(raw[at - length : at])

    position = np.zeros((vertices, 3))
    for axis in range(3):
        value = 0
        for i, (lower, upper) in enumerate(zip(plane(vertices), plane(vertices), strict=True)):
            value = (value + lower + 256 * upper) % 65536
            position[i, axis] = low[axis] + step[axis] * value
    normal = np.zeros((vertices, 3))
    a = b = 0
    for i, (u, v) in enumerate(zip(plane(vertices), plane(vertices), strict=True)):
        a, b = (a + u) % 256, (b + v) % 256
        x, y = a / 127.5 - 1, b / 127.5 - 1
        z = 1 - abs(x) - abs(y)
        if z < 0:
            x, y = (1 - abs(y)) * np.sign(x), (1 - abs(x)) * np.sign(y)
        normal[i] = np.array([x, y, z]) / np.linalg.norm([x, y, z])
    numbers = []
    value = 0
    for one, two, three in zip(*(plane(triangles * 3) for _ in range(3)), strict=True):
        coded = one + 256 * two + 65536 * three
        value += -(coded + 1) // 2 if coded % 2 else coded // 2
        numbers.append(value)
    counts = [
        one + 256 * two + 65536 * three for one, two, three in zip(*(plane(faces) for _ in range(3)), strict=True)
    ]
    assert at == len(raw)
    return position, normal, np.array(numbers, dtype=np.int64).reshape(-1, 3), np.array(counts)


def test_mesh_survives_packing() -> None:
    """The same triangles come back, each on its face, within a lattice step, turned the same way."""
    mesh = build.plate().mesh
    position, normal, triangle, counts = unpacked(pack(mesh, 7))
    order = np.argsort(mesh.triangle_face, kind="stable")
    wanted = mesh.point_mm[mesh.triangle[order]]
    assert np.abs(position[triangle] - wanted).max() <= max(build.SIZE) / 65535
    assert counts.tolist() == np.bincount(mesh.triangle_face, minlength=7).tolist()
    cross = np.cross(wanted[:, 1] - wanted[:, 0], wanted[:, 2] - wanted[:, 0])
    cross /= np.linalg.norm(cross, axis=1, keepdims=True)
    turned = np.degrees(np.arccos(np.clip((normal[triangle] * cross[:, None]).sum(axis=2), -1, 1)))
    assert turned.max() < 6  # 48 steps round the hole are 7.5 degrees each; the code itself is good to one
    flat = mesh.triangle_face[order] != build.HOLE_FACE
    assert turned[flat].max() < 1.0


def test_moved_far_away_keeps_its_shape() -> None:
    """A part a metre from the origin is packed as well as one at the origin."""
    mesh = build.plate().mesh
    moved = replace(mesh, point_mm=mesh.point_mm + np.array([1000.0, -2000.0, 500.0]))
    position, _, triangle, _ = unpacked(pack(moved, 7))
    order = np.argsort(mesh.triangle_face, kind="stable")
    error = position[triangle] - moved.point_mm[mesh.triangle[order]]
    assert np.abs(error).max() < 2e-3  # lattice step 1.2e-3 and the origin as a 32-bit number, 1.2e-4


def test_faces_without_triangles_keep_their_number() -> None:
    """Face i stays face i where the mesher left one out."""
    mesh = build.plate().mesh
    kept = mesh.triangle_face != 3
    less = replace(mesh, triangle=mesh.triangle[kept], triangle_face=mesh.triangle_face[kept])
    assert unpacked(pack(less, 7))[3][3] == 0


def test_empty_mesh_packs() -> None:
    """A body that could not be meshed is no reason to fail."""
    empty = Mesh(np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64), np.zeros(0, dtype=np.int64), 0.1)
    assert unpacked(pack(empty, 2))[3].tolist() == [0, 0]


@pytest.mark.parametrize("n", [2**22])
def test_too_large_is_said(n: int) -> None:
    """A mesh that no browser draws is refused with its size."""
    mesh = Mesh(np.zeros((3, 3)), np.tile([0, 1, 2], (n, 1)), np.zeros(n, dtype=np.int64), 0.1)
    with pytest.raises(ValueError, match=str(n)):
        pack(mesh, 1)
