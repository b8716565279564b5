"""Writes a loaded file again as AP242, each face with the name and colour that the analysis gives it."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.Interface import Interface_Static
from OCP.Quantity import Quantity_Color, Quantity_TypeOfColor
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_StepModelType
from OCP.TCollection import TCollection_ExtendedString, TCollection_HAsciiString
from OCP.TDataStd import TDataStd_Name
from OCP.XCAFDoc import XCAFDoc_ColorTool, XCAFDoc_ColorType, XCAFDoc_DocumentTool, XCAFDoc_ShapeTool

from analyzers.errors import KernelFailure
from analyzers.kernel.arrays import faces_of
from analyzers.kernel.step_file import LoadedFile, LoadedSolid
from analyzers.model.face_mark import FaceMark


def write_marked(loaded: LoadedFile, marks: Sequence[Sequence[FaceMark]], path: Path) -> None:
    """Write the file's own assembly to `path`, its geometry as it was loaded, lengths in millimetres.

    Parameters
    ----------
    marks : for each solid of the file, in its order, one mark for each face; empty = that solid stays as it was

    Raises
    ------
    KernelFailure : OpenCascade raised or did not finish
    """
    document = loaded.document
    try:
        shapes: XCAFDoc_ShapeTool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
        colours: XCAFDoc_ColorTool = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
        for solid, own in zip(loaded.solids, marks, strict=True):
            _mark(shapes, colours, solid, own)
        with _statics("AP242DIS"):
            writer = STEPCAFControl_Writer()
            writer.SetNameMode(True)
            writer.SetColorMode(True)
            done = writer.Transfer(document, STEPControl_StepModelType.STEPControl_AsIs)
            header = APIHeaderSection_MakeHeader(writer.ChangeWriter().Model())
            header.SetName(TCollection_HAsciiString(path.name.encode("ascii", "replace").decode()))
            header.SetOriginatingSystem(TCollection_HAsciiString("partsieve"))
            status = writer.Write(str(path)) if done else None
    except Exception as error:  # OpenCascade's exception classes share no importable base
        raise KernelFailure(f"{path.name}: OpenCascade failed while writing: {error}") from error
    if status != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise KernelFailure(f"{path.name}: OpenCascade could not write the model again")


def _mark(shapes: XCAFDoc_ShapeTool, colours: XCAFDoc_ColorTool, solid: LoadedSolid, marks: Sequence[FaceMark]) -> None:
    if not marks:
        return
    for face, mark in zip(faces_of(solid.unplaced), marks, strict=True):
        label = shapes.AddSubShape(solid.label, face)
        if label.IsNull():
            raise KernelFailure(f"the face {mark.name!r} is not part of its solid's shape")
        TDataStd_Name.Set_s(label, TCollection_ExtendedString(mark.name))
        red, green, blue = (each / 255 for each in mark.colour)
        shade = Quantity_Color(red, green, blue, Quantity_TypeOfColor.Quantity_TOC_sRGB)
        colours.SetColor(label, shade, XCAFDoc_ColorType.XCAFDoc_ColorSurf)


@contextmanager
def _statics(schema: str) -> Iterator[None]:
    """Set the schema and that names of faces are written; both are process-wide and are set back."""
    old = Interface_Static.CVal_s("write.step.schema"), Interface_Static.IVal_s("write.stepcaf.subshapes.name")
    Interface_Static.SetCVal_s("write.step.schema", schema)
    Interface_Static.SetIVal_s("write.stepcaf.subshapes.name", 1)
    try:
        yield
    finally:
        Interface_Static.SetCVal_s("write.step.schema", old[0])
        Interface_Static.SetIVal_s("write.stepcaf.subshapes.name", old[1])
