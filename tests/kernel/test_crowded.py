"""Planes with very many outlines, cut into triangles without OpenCascade's mesher and held against it."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy, BRepBuilderAPI_MakeFace
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCylinder
from OCP.collections import List_TopoDS_Shape
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Shape

from analyzers.kernel import crowded
from analyzers.kernel.crowded import CROWDED_LOOPS, cut_into_triangles, is_crowded
from analyzers.kernel.explore import distinct
from analyzers.kernel.mesh import box_of, triangulate
from analyzers.model.part import Mesh
from analyzers.report.views import STANDARD_VIEWS
from tests.kernel._solids import drawn

PITCH_MM, ACROSS, CHORD_MM = 4.0, 11, 0.05
WIDE_MM = ACROSS * PITCH_MM


def _cut(tools: list[TopoDS_Shape], high_mm: float) -> TopoDS_Shape:
    blocks, holes = List_TopoDS_Shape(), List_TopoDS_Shape()
    blocks.Append(BRepPrimAPI_MakeBox(WIDE_MM, WIDE_MM, high_mm).Shape())
    for tool in tools:
        holes.Append(tool)
    cut = BRepAlgoAPI_Cut()
    cut.SetArguments(blocks)
    cut.SetTools(holes)
    cut.Build()
    return distinct(cut.Shape(), TopAbs_ShapeEnum.TopAbs_SOLID)[0]


def _places() -> list[tuple[float, float]]:
    return [((i + 0.5) * PITCH_MM, (j + 0.5) * PITCH_MM) for i in range(ACROSS) for j in range(ACROSS)]


def _drill(x: float, y: float, z: float, way: tuple[float, float, float], deep_mm: float) -> TopoDS_Shape:
    return BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(x, y, z), gp_Dir(*way)), 1.0, deep_mm).Shape()


def drilled() -> TopoDS_Shape:
    """Return a plate with 121 through holes: top and bottom are crowded, one of them looks down."""
    return _cut([_drill(x, y, -1.0, (0, 0, 1), 5.0) for x, y in _places()], 3.0)


def placed() -> TopoDS_Shape:
    """Return the same plate, turned and moved as in an assembly."""
    turn, move = gp_Trsf(), gp_Trsf()
    turn.SetRotation(gp_Ax2(gp_Pnt(1, 2, 3), gp_Dir(1, 2, 3)).Axis(), 0.7)
    move.SetTranslation(gp_Vec(100.0, -50.0, 20.0))
    return drilled().Moved(TopLoc_Location(move.Multiplied(turn)))


def two_sided() -> TopoDS_Shape:
    """Return a block with blind holes in two sides that meet in a straight edge without any other neighbour."""
    top = [_drill(x, y, WIDE_MM + 1.0, (0, 0, -1), 2.0) for x, y in _places()]
    side = [_drill(WIDE_MM + 1.0, x, y, (-1, 0, 0), 2.0) for x, y in _places()]
    return _cut([*top, *side], WIDE_MM)


def windows() -> TopoDS_Shape:
    """Return a plate with 121 square openings: straight lines alone."""
    return _cut([BRepPrimAPI_MakeBox(gp_Pnt(x, y, -1.0), 1.5, 1.5, 5.0).Shape() for x, y in _places()], 3.0)


def _meshed(solid: TopoDS_Shape) -> tuple[Mesh, int]:
    faces = [TopoDS.Face(each) for each in distinct(solid, TopAbs_ShapeEnum.TopAbs_FACE)]
    return triangulate(solid, faces, CHORD_MM, box_of(solid)), sum(map(is_crowded, faces))


def _volume_mm3(found: Mesh) -> float:
    a, b, c = np.moveaxis(found.point_mm[found.triangle] - found.point_mm.mean(axis=0), 1, 0)
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)


def _open_edges(found: Mesh) -> int:
    """Return how many sides of triangles are not met by exactly one other, running the other way."""
    _, node = np.unique(found.point_mm.round(6), axis=0, return_inverse=True)
    sides = node.reshape(-1)[found.triangle[:, [0, 1, 1, 2, 2, 0]]].reshape(-1, 2)
    sides = sides[sides[:, 0] != sides[:, 1]]
    there = {tuple(each) for each in sides.tolist()}
    return sum((b, a) not in there for a, b in there) + len(sides) - len(there)


@pytest.mark.parametrize("made", [drilled, placed, two_sided, windows])
def test_it_is_the_mesh_of_the_same_borders(made: Callable[[], TopoDS_Shape], monkeypatch: pytest.MonkeyPatch) -> None:
    """Watertight, turned outwards, and of the volume that OpenCascade's own triangles over the same points hold."""
    solid = made()
    usual = BRepBuilderAPI_Copy(solid).Shape()
    found, count = _meshed(solid)
    assert count == 2
    assert _open_edges(found) == 0
    monkeypatch.setattr(crowded, "CROWDED_LOOPS", 10**6)
    theirs, count = _meshed(usual)
    assert count == 0
    assert _volume_mm3(found) == pytest.approx(_volume_mm3(theirs), rel=1e-9)


def test_the_volume_is_that_of_polygons_in_place_of_circles() -> None:
    """By hand: a plate less 121 prisms of regular polygons with as many corners as each hole's wall has."""
    found, _ = _meshed(drilled())
    walls = np.bincount(found.triangle_face)
    wall = int(np.flatnonzero(walls == np.median(walls))[0])
    corners = len(np.unique(found.point_mm[found.triangle[found.triangle_face == wall]].round(6), axis=0)) // 2
    prism = 0.5 * corners * math.sin(2.0 * math.pi / corners) * 3.0
    assert _volume_mm3(found) == pytest.approx(WIDE_MM**2 * 3.0 - len(_places()) * prism, rel=1e-9)


def test_few_outlines_are_left_to_the_mesher() -> None:
    """Exactly at the limit still."""
    few = [_drill(x, y, -1.0, (0, 0, 1), 5.0) for x, y in _places()[: CROWDED_LOOPS - 1]]
    assert [
        _meshed(_cut(few, 3.0))[1],
        _meshed(_cut([*few, _drill(*_places()[-1], -1.0, (0, 0, 1), 5.0)], 3.0))[1],
    ] == [0, 2]


def test_a_sheet_without_neighbours_goes_the_usual_way() -> None:
    """Its round outlines have no points to take: OpenCascade makes the triangles."""
    top = next(
        TopoDS.Face(each) for each in distinct(drilled(), TopAbs_ShapeEnum.TopAbs_FACE) if is_crowded(TopoDS.Face(each))
    )
    sheet = TopoDS.Face(BRepBuilderAPI_Copy(BRepBuilderAPI_MakeFace(top).Face()).Shape())
    assert not cut_into_triangles(sheet, [sheet])
    found = triangulate(sheet, [sheet], CHORD_MM, box_of(sheet))
    assert len(found.triangle) > len(_places())


def test_it_can_be_drawn() -> None:
    """Borders of the crowded faces are lines as on all others."""
    assert len(drawn(drilled(), STANDARD_VIEWS[1])[0].visible_mm) > len(_places())
