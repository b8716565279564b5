"""Numbers without measure in a file cost the face or the body they stand in, never an exception."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from OCP.gp import gp_Trsf, gp_Vec
from OCP.TopLoc import TopLoc_Location

from analyzers import analyse
from analyzers.errors import KernelFailure
from analyzers.kernel import mesh
from analyzers.kernel.arrays import faces_of, read_part
from analyzers.kernel.mesh import box_of, triangulate
from analyzers.kernel.step_file import load
from analyzers.model.part import Surface
from analyzers.model.report import Report
from analyzers.plan.frame import frame_of
from analyzers.settings import load_settings
from tests.plan._builders import block

BROKEN = Path(__file__).parents[2] / "fixtures" / "broken"
PLATE = BROKEN / "name_bidi.step"
CYLINDER = "#199 = CYLINDRICAL_SURFACE('',#200,2.5);"


def edited(folder: Path, old: str, new: str) -> Path:
    """Return a copy of a plate with one hole, with one text in it replaced."""
    text = PLATE.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path = folder / "plate.step"
    path.write_text(text.replace(old, new), encoding="utf-8")
    return path


def stopped(report: Report) -> list[str]:
    """Return what a report says of exceptions."""
    return [each.message for each in report.problems if "stopped" in each.message]


def test_a_point_beyond_all_measure_is_named(tmp_path: Path) -> None:
    """A plane through such a point gives a volume of no number, which the body's own box contradicts."""
    path = edited(tmp_path, "#54 = CARTESIAN_POINT('',(0.,0.,0.));", "#54 = CARTESIAN_POINT('',(1.E308,0.,0.));")
    (solid,) = load(path).solids
    with pytest.raises(KernelFailure, match="lies in a box of"):
        read_part(solid.shape, "plate", 1)
    report = analyse(path, load_settings())
    assert (report.status, stopped(report)) == ("partial", [])


def test_a_cylinder_without_a_radius_is_no_hole(tmp_path: Path) -> None:
    """It is a surface of its own kind, on which nothing is measured, and the rest of the part is analysed."""
    path = edited(tmp_path, CYLINDER, CYLINDER.replace("2.5", "0."))
    (solid,) = load(path).solids
    part = read_part(solid.shape, "plate", 1)
    assert Surface.CYLINDER not in part.face_surface
    assert np.count_nonzero(part.face_surface == Surface.OTHER) == 1
    report = analyse(path, load_settings())
    assert (len(report.bodies), stopped(report)) == (1, [])


def test_triangles_far_out_of_the_box_are_none(monkeypatch: pytest.MonkeyPatch) -> None:
    """A face whose mesh runs away is told as one without triangles; the others stay as they are."""
    (solid,) = load(PLATE).solids
    faces = faces_of(solid.shape)
    box = box_of(solid.shape)
    whole = triangulate(solid.shape, faces, 0.1, box)
    top = int(np.argmax(whole.point_mm[whole.triangle].mean(axis=1)[:, 2]))
    monkeypatch.setattr(mesh, "_moved", lambda corner, _: corner + np.array([0.0, 0.0, 1e30]))
    away = gp_Trsf()
    away.SetTranslation(gp_Vec(0.0, 0.0, 1e-9))
    faces[int(whole.triangle_face[top])].Move(TopLoc_Location(away))
    left = triangulate(solid.shape, faces, 0.1, box)
    assert set(whole.triangle_face) - set(left.triangle_face) == {whole.triangle_face[top]}


def test_a_skin_without_area_takes_the_models_axes() -> None:
    """A mesh fallen together to a line has no main directions of its own."""
    part = block()
    line = part.mesh.point_mm * [1.0, 0.0, 0.0]
    none = replace(part, mesh=replace(part.mesh, point_mm=line), face_surface=np.full(part.n_faces, Surface.OTHER))
    assert (frame_of(none).axes == np.eye(3)).all()
