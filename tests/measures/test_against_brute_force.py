"""Walls of real parts against another route: a dense set of rays on a mesh many times finer than the shared one.

The rays share none of the measure's code: every triangle is split into many, every ray hit counts
whose two triangles face one another within FACING_DEG, pairs that share an edge are left out as edges.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analyzers.features import recognise
from analyzers.kernel.arrays import faces_of, read_part
from analyzers.kernel.exact import ExactGeometry
from analyzers.kernel.mesh import triangulate
from analyzers.kernel.step_file import load
from analyzers.model.arrays import Floats
from analyzers.model.part import Part
from tests.measures._shapes import taken

FACING_DEG = 10.0
RAYS = 60_000
CHORD_MM = 0.004
SLIVER_MM2 = 1e-9  # triangles without area, as at a cone's tip, have no normal

# Twenty-one real parts of fifteen projects: milled, printed, sheet, turned; 6 to 329 faces.
PARTS = [
    "aagnet_part_c.step",
    "amazinghand-amazing_hand_parts_-_distal.step",
    "amazinghand-amazing_hand_parts_-_link.step",
    "amazinghand-balljoint_rod_-_length_toolings.step",
    "beta-beta_sensor_board_cmv12000.stp",
    "beta-betaskeletonv01.stp",
    "openeai-jxs-04-07.step",
    "beta-sensormount_cmv12000_l.stp",
    "beta-tripod_foot_plate_150928.step",
    "brlcad-nist_mbe_pmi_1.stp",
    "foxtrot-cube_hole.step",
    "mesospim-m-060-adapter.stp",
    "mesospim-mvx-10-bracket-v5.stp",
    "nist_ctc_01_asme1_ap242.stp",
    "open_robot_act-motor_antigravity_4004_custom_shaft.step",
    "openeai-clamping_jaw_v3.step",
    "openeai-jxs-01-01.step",
    "original-fs-cover-mmu2s.stp",
    "so-4040_base_mount.step",
    "so-passive_horn_01.step",
    "trimesh-base_interface_ap203.step",
]

# Thinner than any of the rays, and rightly: rays start square on faces and miss what ends on a corner.
THINNER_THAN_RAYS = {
    "aagnet_part_c.step": "the ridge between two pocket walls comes within 1.64 mm of the next pocket",
    "openeai-clamping_jaw_v3.step": "0.5 mm between a bore and a flank that share an edge, which the rays leave out",
}


def brute_force_mm(part: Part, geometry: ExactGeometry) -> float:
    """Return the shortest of many rays between two faces that face one another and share no edge."""
    mesh = part.mesh
    corner = mesh.point_mm[mesh.triangle]
    cross = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    size = np.linalg.norm(cross, axis=1)
    normal = cross / np.maximum(size, 1e-300)[:, None]
    split = np.maximum(np.sqrt(RAYS * size / size.sum()).astype(int), 3)
    touching = {tuple(sorted(pair)) for pair in part.edge_faces.tolist()}
    shortest = np.inf
    for parts in np.unique(split).tolist():
        rows = np.flatnonzero(split == parts)
        weights = _weights(parts)
        point = np.einsum("wk,tkj->twj", weights, corner[rows]).reshape(-1, 3)
        owner = np.repeat(rows, len(weights))
        length, end = _cast(geometry, point, normal[owner])
        hit = end >= 0
        facing = hit & (size[owner] > SLIVER_MM2) & (size[end] > SLIVER_MM2)
        facing &= np.einsum("ij,ij->i", normal[owner], -normal[end]) >= np.cos(np.radians(FACING_DEG))
        for row in np.flatnonzero(facing & (length < shortest)).tolist():
            pair = tuple(sorted((int(mesh.triangle_face[owner[row]]), int(mesh.triangle_face[end[row]]))))
            if length[row] < shortest and (pair[0] == pair[1] or pair not in touching):
                shortest = float(length[row])
    return shortest


def _weights(parts: int) -> Floats:
    """Return (n, 3) the middles of the small triangles that a triangle is split into, by their corners' weights."""
    rows = [(i + 1 / 3, j + 1 / 3) for i in range(parts) for j in range(parts - i)]
    u, v = np.array(rows).T / parts
    return np.stack([1.0 - u - v, u, v], axis=1)


def _cast(geometry: ExactGeometry, point: Floats, normal: Floats) -> tuple[Floats, np.ndarray]:
    """Return (N,) length and (N,) triangle of rays into the material."""
    return geometry._cast(point - 1e-4 * normal, -normal)


@pytest.mark.parametrize("name", PARTS)
def test_the_measure_is_the_shortest_ray(corpora: Path, name: str) -> None:
    """The least wall is the shortest ray within 1 % and the fine mesh error; where thinner, it is known why."""
    solid = load(corpora / "real" / name).solids[0]
    part = read_part(solid.shape, solid.name, 1)
    geometry = ExactGeometry(solid.shape, part)
    facts = recognise(part, geometry)
    thickness = taken("min_wall_mm", facts, geometry).value
    assert thickness is not None
    fine = replace(part, mesh=triangulate(solid.shape, faces_of(solid.shape), CHORD_MM, part.box_mm))
    shortest = brute_force_mm(fine, ExactGeometry(solid.shape, fine))
    assert thickness <= 1.01 * shortest + 2.0 * CHORD_MM
    if name not in THINNER_THAN_RAYS:
        assert thickness >= 0.99 * shortest - 2.0 * CHORD_MM
