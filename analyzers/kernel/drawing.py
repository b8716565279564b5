"""Hidden-line drawings from the shared triangulation (OpenCascade's polyhedral hidden-line removal)."""

import numpy as np
from OCP.BRep import BRep_Tool
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import HLRBRep_PolyAlgo, HLRBRep_PolyHLRToShape
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Shape, TopoDS_Solid

from analyzers.errors import KernelFailure
from analyzers.model.arrays import Floats
from analyzers.model.drawing import LineDrawing, View


def draw_lines(solid: TopoDS_Solid, view: View) -> LineDrawing:
    """Return what is seen and what is hidden of a triangulated solid in parallel projection.

    The mesh's own accuracy: a drawing of a part that fills a page is off by less than a line's width. The exact
    algorithm took up to 0.6 s for a view of crossing bores where this one takes 7 ms.

    Raises
    ------
    KernelFailure : OpenCascade raised
    """
    try:
        axes = gp_Ax2(gp_Pnt(0.0, 0.0, 0.0), gp_Dir(*view.out), gp_Dir(*view.right))
        removal = HLRBRep_PolyAlgo()
        removal.Load(solid)
        removal.Projector(HLRAlgo_Projector(axes))
        removal.Update()
        found = HLRBRep_PolyHLRToShape()
        found.Update(removal)
        return LineDrawing(
            view=view,
            visible_mm=np.concatenate([_pieces(found.VCompound()), _pieces(found.OutLineVCompound())]),
            smooth_mm=np.concatenate([_pieces(found.Rg1LineVCompound()), _pieces(found.RgNLineVCompound())]),
            hidden_mm=np.concatenate([_pieces(found.HCompound()), _pieces(found.OutLineHCompound())]),
        )
    except Exception as error:  # OpenCascade's exception classes share no importable base
        raise KernelFailure(f"the {view.name.lower()} view could not be drawn: {error}") from error


def _pieces(lines: TopoDS_Shape | None) -> Floats:
    """Return (N, 2, 2) the ends of each straight edge of a flat compound."""
    ends: list[tuple[float, float]] = []
    if lines is not None and not lines.IsNull():
        vertices = TopExp_Explorer(lines, TopAbs_ShapeEnum.TopAbs_VERTEX)
        point = BRep_Tool.Pnt_s
        while vertices.More():
            at = point(TopoDS.Vertex(vertices.Current()))
            ends.append((at.X(), at.Y()))
            vertices.Next()
    return np.array(ends, dtype=float).reshape(-1, 2, 2)
