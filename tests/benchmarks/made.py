"""Parts of any number of faces, for measuring how time grows with it; kept in the temporary folder once made.

`comb`: fins side by side on two ends that all of them share. `board`: rows of blind holes on ledges between grooves,
about as long as wide. `plate`: through holes in rows, all in the same two faces.
"""

import math
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakePolygon,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakePrism
from OCP.collections import List_TopoDS_Shape
from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Pnt, gp_Vec
from OCP.Interface import Interface_Static
from OCP.Message import Message
from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer
from OCP.TopoDS import TopoDS_Shape

FIN_MM, GAP_MM, HEIGHT_MM, BASE_MM = 2.0, 3.0, 12.0, 8.0
LEDGE_MM, GROOVE_MM, STEP_MM = 7.0, 4.0, 3.0
PITCH_MM, HOLE_MM, DEPTH_MM = 8.0, 4.0, 6.0


def comb(n_faces: int) -> TopoDS_Shape:
    """Return fins of FIN_MM with gaps of GAP_MM; each fin has 4 faces."""
    return _castellated(max(n_faces // 4, 2), FIN_MM, GAP_MM, HEIGHT_MM, 20.0)


def board(n_faces: int) -> TopoDS_Shape:
    """Return ledges with blind holes; a ledge has 4 faces, a hole 2."""
    rows = max(round(math.sqrt(n_faces / 2)), 2)
    columns = max(round((n_faces / rows - 4) / 2), 1)
    plate = _castellated(rows, LEDGE_MM, GROOVE_MM, STEP_MM, columns * PITCH_MM)
    holes = List_TopoDS_Shape()
    for x, y in _places(rows, columns):
        top = gp_Pnt(x, y, BASE_MM + STEP_MM + 1.0)
        holes.Append(BRepPrimAPI_MakeCylinder(gp_Ax2(top, gp_Dir(0, 0, -1)), HOLE_MM / 2, DEPTH_MM + 1.0).Shape())
    cut, whole = BRepAlgoAPI_Cut(), List_TopoDS_Shape()
    whole.Append(plate)
    cut.SetArguments(whole)
    cut.SetTools(holes)
    cut.Build()
    return cut.Shape()


def plate(n_faces: int) -> TopoDS_Shape:
    """Return a square plate; each hole is one face, and a loop in the top and the bottom one."""
    holes = max(n_faces - 6, 1)
    columns = math.ceil(math.sqrt(holes))
    width = columns * PITCH_MM
    corners = [gp_Pnt(x, y, 0.0) for x, y in ((0, 0), (width, 0), (width, width), (0, width))]
    face = BRepBuilderAPI_MakeFace(BRepBuilderAPI_MakePolygon(*corners, True).Wire())
    for hole in range(holes):
        row, column = divmod(hole, columns)
        middle = gp_Pnt((column + 0.5) * PITCH_MM, (row + 0.5) * PITCH_MM, 0.0)
        circle = BRepBuilderAPI_MakeEdge(gp_Circ(gp_Ax2(middle, gp_Dir(0, 0, -1)), HOLE_MM / 2)).Edge()
        face.Add(BRepBuilderAPI_MakeWire(circle).Wire())
    return BRepPrimAPI_MakePrism(face.Face(), gp_Vec(0, 0, BASE_MM)).Shape()


KINDS: dict[str, Callable[[int], TopoDS_Shape]] = {"comb": comb, "board": board, "plate": plate}


def made(kind: str, n_faces: int) -> Path:
    """Return the STEP file of a part of about so many faces."""
    path = Path(tempfile.gettempdir()) / "partsieve-benchmarks" / f"{kind}_{n_faces}.step"
    if not path.is_file():
        path.parent.mkdir(exist_ok=True)
        Message.DefaultMessenger_s().ChangePrinters().Clear()
        Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)  # as most programs write: no curves in the surfaces
        writer = STEPControl_Writer()
        writer.Transfer(KINDS[kind](n_faces), STEPControl_StepModelType.STEPControl_AsIs)
        writer.Write(str(path.with_suffix(".part")))
        path.with_suffix(".part").rename(path)
    return path


def _places(rows: int, columns: int) -> Iterator[tuple[float, float]]:
    for row in range(rows):
        for column in range(columns):
            yield row * (LEDGE_MM + GROOVE_MM) + LEDGE_MM / 2, (column + 0.5) * PITCH_MM


def _castellated(teeth: int, tooth_mm: float, gap_mm: float, height_mm: float, length_mm: float) -> TopoDS_Shape:
    """Return a base with teeth along x, drawn out along y."""
    outline = BRepBuilderAPI_MakePolygon()
    outline.Add(gp_Pnt(0.0, 0.0, 0.0))
    for tooth in range(teeth):
        start = tooth * (tooth_mm + gap_mm)
        for x, z in ((start, height_mm), (start + tooth_mm, height_mm), (start + tooth_mm, 0.0)):
            if tooth and x == start:
                outline.Add(gp_Pnt(start, 0.0, BASE_MM))
            outline.Add(gp_Pnt(x, 0.0, BASE_MM + z if not (tooth == teeth - 1 and z == 0.0) else 0.0))
    outline.Close()
    return BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(outline.Wire()).Face(), gp_Vec(0, length_mm, 0)).Shape()
