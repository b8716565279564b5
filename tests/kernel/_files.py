"""STEP files written on the spot: nested assemblies, loose geometry, other length units."""

import re
from collections.abc import Sequence
from pathlib import Path

from OCP.BRep import BRep_Builder
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.Message import Message
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Compound, TopoDS_Shape
from OCP.XCAFDoc import XCAFDoc_DocumentTool

from fixtures.make.model import one
from fixtures.make.step_file import write_step
from fixtures.make.vocabulary.work import Place, Vec, Work

SI_MILLIMETRE = re.compile(r"SI_UNIT\(\.MILLI\.,\.METRE\.\)")


def name_label(label: TDF_Label, name: str) -> TDF_Label:
    """Give a label its name."""
    TDataStd_Name.Set_s(label, TCollection_ExtendedString(name))
    return label


class Assembly:
    """A document with products and, in them, placed instances of other products."""

    def __init__(self) -> None:
        self.document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
        XCAFDoc_DocumentTool.SetLengthUnit_s(self.document, 0.001)
        self.shapes = XCAFDoc_DocumentTool.ShapeTool_s(self.document.Main())

    def product(self, name: str, shape: TopoDS_Shape | None = None) -> TDF_Label:
        """Return a new product: a part with a shape, or an empty assembly."""
        label = self.shapes.NewShape() if shape is None else self.shapes.AddShape(shape, False)
        return name_label(label, name)

    def place(self, where: TDF_Label, what: TDF_Label, at: TopLoc_Location) -> None:
        """Put an instance of one product into another."""
        name_label(self.shapes.AddComponent(where, what, at), "instance")

    def write(self, path: Path) -> Path:
        """Write the document and return the path."""
        Message.DefaultMessenger_s().ChangePrinters().Clear()
        self.shapes.UpdateAssemblies()
        writer = STEPCAFControl_Writer()
        writer.SetNameMode(True)
        assert writer.Transfer(self.document)
        assert writer.Write(str(path)) == IFSelect_ReturnStatus.IFSelect_RetDone
        return path


def write_shapes(shapes: Sequence[TopoDS_Shape], path: Path) -> Path:
    """Write shapes, whatever they are, as one product and return the path."""
    compound, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(compound)
    for each in shapes:
        builder.Add(compound, each)
    file = Assembly()
    file.product("mixture", compound)
    return file.write(path)


def write_work(work: Work, path: Path, *, unit: str = "mm", name: str = "plate") -> Path:
    """Write one part.

    `unit` other than mm and inch: the numbers stay, so that a length of 30 becomes 30 of that unit.
    """
    write_step(one(name, work, unit=unit if unit == "inch" else "mm"), path)
    prefix = {"m": "$", "cm": ".CENTI.", "um": ".MICRO."}.get(unit)
    if prefix is not None:
        text, replaced = SI_MILLIMETRE.subn(f"SI_UNIT({prefix},.METRE.)", path.read_text(encoding="ascii"))
        assert replaced > 0
        path.write_text(text, encoding="ascii")
    return path


def without_unit(path: Path) -> Path:
    """Take the length unit out of a file's contexts."""
    text = path.read_text(encoding="ascii")
    found = re.search(r"#(\d+) = \( LENGTH_UNIT\(\)[^;]*;", text)
    assert found is not None
    path.write_text(text.replace(f"((#{found[1]},", "(("), encoding="ascii")
    return path


def place_of(at: Vec, out: Vec = (0.0, 0.0, 1.0), along: Vec | None = None) -> TopLoc_Location:
    """Return the location whose z looks along `out` and whose x along `along`."""
    return TopLoc_Location(Place(at, out, along).trsf())
