"""Holes on one axis that do not meet are holes of their own, each with its own place."""

import pytest
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCylinder
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS

from analyzers.features import recognise
from analyzers.features.hole import RoundHole
from analyzers.kernel.arrays import read_part
from analyzers.kernel.exact import ExactGeometry


@pytest.mark.parametrize("depths", [(12.0, 12.0), (20.0, 7.0)], ids=["alike", "of-two-depths"])
def test_blind_holes_drilled_towards_one_another_keep_their_places(depths: tuple[float, float]) -> None:
    """Two blind holes on one axis, from opposite sides of a 60 mm block, each start at their own side."""
    shape = BRepPrimAPI_MakeBox(60.0, 30.0, 20.0).Shape()
    for x, way, depth in ((0.0, 1.0, depths[0]), (60.0, -1.0, depths[1])):
        drill = BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(x, 15.0, 10.0), gp_Dir(way, 0.0, 0.0)), 4.0, depth)
        shape = BRepAlgoAPI_Cut(shape, drill.Shape()).Shape()
    solid = TopoDS.Solid(TopExp_Explorer(shape, TopAbs_ShapeEnum.TopAbs_SOLID).Current())
    part = read_part(solid, "block", 1)
    holes = [each for each in recognise(part, ExactGeometry(solid, part)).features if isinstance(each, RoundHole)]
    found = sorted((hole.position_mm[0], hole.direction[0], hole.depth_mm) for hole in holes)
    assert found == [pytest.approx((0.0, -1.0, depths[0])), pytest.approx((60.0, 1.0, depths[1]))]
