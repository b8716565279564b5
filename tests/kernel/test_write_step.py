"""The model that goes back to its designer: read again, it is the same geometry with names and colours on its faces."""

from pathlib import Path

import numpy as np
import pytest
from OCP.collections import Sequence_TDF_Label
from OCP.Interface import Interface_Static
from OCP.Quantity import Quantity_Color, Quantity_TypeOfColor
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFDoc import XCAFDoc_ColorTool, XCAFDoc_ColorType, XCAFDoc_DocumentTool, XCAFDoc_ShapeTool

from analyzers.errors import KernelFailure
from analyzers.kernel.arrays import faces_of, read_part
from analyzers.kernel.step_file import load
from analyzers.model.face_mark import FaceMark
from analyzers.pipeline import analyse_file
from analyzers.report.face_marks import LEVEL_COLOUR, face_marks
from analyzers.settings import load_settings
from tests.kernel._solids import solid_of

SETTINGS = load_settings(None, None, None, 1)


def read_marks(path: Path) -> list[tuple[str, tuple[int, int, int]]]:
    """Return name and colour of each face of a one-solid file, as another XDE program reads them."""
    before = Interface_Static.IVal_s("read.stepcaf.subshapes.name")
    Interface_Static.SetIVal_s("read.stepcaf.subshapes.name", 1)
    try:
        reader = STEPCAFControl_Reader()
        reader.SetNameMode(True)
        reader.SetColorMode(True)
        reader.ReadFile(str(path))
        document = TDocStd_Document(TCollection_ExtendedString("again"))
        assert reader.Transfer(document)
    finally:
        Interface_Static.SetIVal_s("read.stepcaf.subshapes.name", before)
    shapes: XCAFDoc_ShapeTool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    roots = Sequence_TDF_Label()
    shapes.GetFreeShapes(roots)
    root = roots.Value(1)
    marks = []
    for face in faces_of(solid_of(XCAFDoc_ShapeTool.GetShape_s(root))):
        label = TDF_Label()
        assert shapes.FindSubShape(root, face, label), "a face has no label of its own"
        name, colour = TDataStd_Name(), Quantity_Color()
        assert label.FindAttribute(TDataStd_Name.GetID_s(), name)
        assert XCAFDoc_ColorTool.GetColor_s(label, XCAFDoc_ColorType.XCAFDoc_ColorSurf, colour)
        rgb = [round(each * 255) for each in colour.Values(Quantity_TypeOfColor.Quantity_TOC_sRGB)]
        marks.append((str(name.Get().ToExtString()), (rgb[0], rgb[1], rgb[2])))
    return marks


@pytest.mark.parametrize("name", ["press_bed", "oil_manifold", "inch_adapter", "press_bed_splines"])
def test_reads_back_with_the_same_geometry_and_its_marks(name: str, parts: Path, tmp_path: Path) -> None:
    """Volume, area, faces in their order, and on each face the name and colour that the report gives it."""
    source, target = parts / f"{name}.step", tmp_path / "again.step"
    analysis = analyse_file(source, SETTINGS)
    analysis.write_step(target)
    old, new = (read_part(load(path).solids[0].shape, "solid", 1) for path in (source, target))
    assert new.volume_mm3 == pytest.approx(old.volume_mm3, rel=1e-9)
    assert new.area_mm2 == pytest.approx(old.area_mm2, rel=1e-9)
    assert new.n_faces == old.n_faces
    assert np.allclose(new.face_area_mm2, old.face_area_mm2, rtol=1e-6)
    assert new.name == old.name
    body = analysis.report.bodies[0]
    wanted = [(mark.name, mark.colour) for mark in face_marks(body)]
    read = read_marks(target)
    assert [each for each, _ in read] == [each for each, _ in wanted]
    assert np.abs(np.array([c for _, c in read]) - np.array([c for _, c in wanted])).max() <= 1
    assert str(load(target).source.step_schema).startswith("AP242")


def test_names_say_feature_and_finding(parts: Path) -> None:
    """A face that a finding is about bears its level, number and rule, and the colour of its level."""
    body = analyse_file(parts / "press_bed.step", SETTINGS).report.bodies[0]
    marks = list(face_marks(body))
    finding = body.findings[0]
    mark = marks[finding.faces[0]]
    assert f"; {finding.level} 1 {finding.rule}" in mark.name
    assert mark.colour == LEVEL_COLOUR[finding.level]
    assert {mark.name.split(";")[0] for mark in marks} >= {f"{each.id} {each.kind}" for each in body.facts.features}


def test_an_assembly_comes_back_whole(parts: Path, tmp_path: Path) -> None:
    """As many distinct solids, as often, as large."""
    target = tmp_path / "again.step"
    analyse_file(parts / "press_assembly.step", SETTINGS).write_step(target)

    def found(path: Path) -> list[tuple[str, int, float]]:
        return [
            (each.name, each.count, round(read_part(each.shape, "", 1).volume_mm3, 3)) for each in load(path).solids
        ]

    assert found(target) == found(parts / "press_assembly.step")


def test_process_wide_settings_are_set_back(parts: Path, tmp_path: Path) -> None:
    """Writing leaves no trace in OpenCascade's own settings."""
    names = ("write.step.schema", "write.stepcaf.subshapes.name")
    before = [Interface_Static.CVal_s(name) for name in names]
    analyse_file(parts / "lid_plate.step", SETTINGS).write_step(tmp_path / "a.step")
    assert [Interface_Static.CVal_s(name) for name in names] == before


def test_nothing_is_written_where_nothing_was_read(tmp_path: Path) -> None:
    """A file that is no STEP file cannot go back."""
    source = tmp_path / "picture.step"
    source.write_text("no STEP at all")
    with pytest.raises(KernelFailure, match="no model to write"):
        analyse_file(source, SETTINGS).write_step(tmp_path / "again.step")


def test_a_name_that_few_programs_read_is_refused() -> None:
    """Names are ASCII."""
    with pytest.raises(ValueError, match="expected ASCII"):
        FaceMark("⌀6.6", (1, 2, 3))
