"""Laws of the arrays: where a part lies, how its faces are listed and how they are written changes no number."""

import numpy as np
import pytest
from OCP.gp import gp_Trsf
from OCP.TopoDS import TopoDS_Shape

from analyzers.model.part import Part
from fixtures.make.vocabulary.blends import chamfer_edges
from fixtures.make.vocabulary.holes import countersink
from fixtures.make.vocabulary.recesses import pocket
from fixtures.make.vocabulary.rings import face_groove
from fixtures.make.vocabulary.stock import block
from tests.kernel._solids import as_splines, mirrored_in, moved, part_of, scaled_by, shuffled, turned_by

POSES = [
    pytest.param(turned_by((1.0, 0.0, 0.0), 0.0), id="as-built"),
    pytest.param(turned_by((0.3, -0.5, 0.8), 41.9, (31.7, -12.3, 55.1)), id="askew"),
    pytest.param(mirrored_in((0.2, 0.9, 0.3)), id="mirrored"),
    pytest.param(turned_by((0.0, 0.0, 1.0), 0.0, (4000.0, -7000.0, 900.0)), id="far-out"),
]


def angles(part: Part) -> list[float]:
    """Return the angles through the material of all edges that have one, sorted, to a billionth."""
    known = part.edge_angle_deg[np.isfinite(part.edge_angle_deg)]
    return sorted(np.round(known, 7).tolist())


def whole() -> TopoDS_Shape:
    """Return a part with a bit of everything."""
    work = block((60.0, 40.0, 20.0))
    pocket(work, (20.0, 20.0, 20.0), 24.0, 20.0, 8.0, corner_radius=4.0, floor_radius=1.5)
    countersink(work, (48.0, 10.0, 20.0), 5.0, 20.0, sink=9.0)
    face_groove(work, (46.0, 28.0, 20.0), 16.0, 2.5, 1.5)
    chamfer_edges(work, [(30.0, 0.0, 20.0)], 1.5)
    return work.shape


@pytest.mark.parametrize("pose", POSES)
def test_the_mesh_is_closed_looks_outwards_and_keeps_to_the_faces(pose: gp_Trsf) -> None:
    """Its volume and areas come within the chord of the exact ones; rows are in face order."""
    part = part_of(moved(whole(), pose))
    corner = part.mesh.point_mm[part.mesh.triangle] - np.array(part.centroid_mm)
    inside = float(np.einsum("ij,ij->i", corner[:, 0], np.cross(corner[:, 1], corner[:, 2])).sum() / 6)
    assert inside == pytest.approx(part.volume_mm3, abs=part.mesh.chord_mm * part.area_mm2)
    assert (np.diff(part.mesh.triangle_face) >= 0).all()
    assert set(part.mesh.triangle_face.tolist()) == set(range(part.n_faces))
    flat = 0.5 * np.linalg.norm(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1)
    assert np.bincount(part.mesh.triangle_face, weights=flat) == pytest.approx(part.face_area_mm2, rel=0.02)


def test_arrays_cannot_be_changed() -> None:
    """Every array of a part is read-only."""
    part = part_of(whole())
    arrays = [value for value in vars(part).values() if isinstance(value, np.ndarray)]
    assert len(arrays) > 20
    assert not any(each.flags.writeable for each in arrays)


INVARIANT = ("face_area_mm2", "face_radius_mm", "face_tube_radius_mm", "face_half_angle_deg", "face_span_deg")


@pytest.mark.parametrize("pose", POSES[1:])
def test_moving_or_mirroring_changes_no_size(pose: gp_Trsf) -> None:
    """Row by row: kinds, sides, areas, radii, turns; edge lengths and angles."""
    here, there = part_of(whole()), part_of(moved(whole(), pose))
    assert np.array_equal(here.face_surface, there.face_surface)
    assert np.array_equal(here.face_concave, there.face_concave)
    for name in INVARIANT:
        assert getattr(there, name) == pytest.approx(getattr(here, name), rel=1e-6, abs=1e-6, nan_ok=True), name
    assert there.edge_length_mm == pytest.approx(here.edge_length_mm, rel=1e-6)
    assert there.edge_angle_deg == pytest.approx(here.edge_angle_deg, abs=1e-5, nan_ok=True)
    assert there.volume_mm3 == pytest.approx(here.volume_mm3, rel=1e-6)


def test_scaling_by_an_inch_scales_lengths_and_no_angle() -> None:
    """25.4 times the part: radii 25.4, areas 25.4^2, volume 25.4^3, angles and turns alike."""
    here, there = part_of(whole()), part_of(moved(whole(), scaled_by(25.4)))
    assert there.face_radius_mm == pytest.approx(25.4 * here.face_radius_mm, nan_ok=True)
    assert there.face_area_mm2 == pytest.approx(25.4**2 * here.face_area_mm2)
    assert there.volume_mm3 == pytest.approx(25.4**3 * here.volume_mm3)
    assert there.edge_angle_deg == pytest.approx(here.edge_angle_deg, abs=1e-6, nan_ok=True)


@pytest.mark.parametrize("seed", range(4))
def test_the_order_of_faces_changes_nothing_but_the_order(seed: int) -> None:
    """A solid whose faces are listed otherwise has the same rows in another order."""
    here, there = part_of(whole()), part_of(shuffled(whole(), seed))
    for part in (here, there):
        assert (part.closed, part.valid) == (True, True)
    assert not np.array_equal(here.face_area_mm2, there.face_area_mm2)
    rows = [
        sorted(
            zip(np.round(p.face_area_mm2, 6).tolist(), p.face_surface.tolist(), p.face_concave.tolist(), strict=True)
        )
        for p in (here, there)
    ]
    assert rows[0] == rows[1]
    assert angles(here) == pytest.approx(angles(there))


def test_a_spline_copy_has_the_same_arrays() -> None:
    """Kinds, sides, radii, turns, areas and angles survive the re-writing of every surface as a B-spline."""
    here, there = part_of(whole()), part_of(as_splines(whole()))
    assert np.array_equal(here.face_surface, there.face_surface)
    assert np.array_equal(here.face_concave, there.face_concave)
    for name in INVARIANT:
        assert getattr(there, name) == pytest.approx(getattr(here, name), rel=2e-5, abs=1e-6, nan_ok=True), name
    assert there.volume_mm3 == pytest.approx(here.volume_mm3, rel=2e-5)
