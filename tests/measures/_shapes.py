"""Solids whose answers are known from how they are built, loaded through the kernel without a file."""

import math
from collections.abc import Sequence

from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon, BRepBuilderAPI_Transform
from OCP.BRepPrimAPI import (
    BRepPrimAPI_MakeBox,
    BRepPrimAPI_MakeCone,
    BRepPrimAPI_MakeCylinder,
    BRepPrimAPI_MakePrism,
    BRepPrimAPI_MakeRevol,
    BRepPrimAPI_MakeSphere,
    BRepPrimAPI_MakeTorus,
)
from OCP.gp import gp_Ax1, gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Shape

from analyzers.kernel.arrays import read_part
from analyzers.kernel.exact import ExactGeometry
from analyzers.model.feature import FaceClass
from analyzers.model.report import Facts, MadeBy

Vec = tuple[float, float, float]
Z: Vec = (0.0, 0.0, 1.0)


def box(low: Vec, high: Vec) -> TopoDS_Shape:
    """Return the block between two corners."""
    return BRepPrimAPI_MakeBox(gp_Pnt(*low), gp_Pnt(*high)).Shape()


def rod(foot: Vec, radius: float, height: float, axis: Vec = Z) -> TopoDS_Shape:
    """Return a cylinder."""
    return BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(*foot), gp_Dir(*axis)), radius, height).Shape()


def taper(foot: Vec, foot_radius: float, top_radius: float, height: float, axis: Vec = Z) -> TopoDS_Shape:
    """Return a cone or its frustum."""
    return BRepPrimAPI_MakeCone(gp_Ax2(gp_Pnt(*foot), gp_Dir(*axis)), foot_radius, top_radius, height).Shape()


def ball(centre: Vec, radius: float) -> TopoDS_Shape:
    """Return a sphere."""
    return BRepPrimAPI_MakeSphere(gp_Pnt(*centre), radius).Shape()


def ring(centre: Vec, radius: float, tube_radius: float) -> TopoDS_Shape:
    """Return a torus about z."""
    return BRepPrimAPI_MakeTorus(gp_Ax2(gp_Pnt(*centre), gp_Dir(*Z)), radius, tube_radius).Shape()


def prism(outline: Sequence[tuple[float, float]], depth: float) -> TopoDS_Shape:
    """Return the solid of a polygon in the xz plane, swept along y."""
    wire = BRepBuilderAPI_MakePolygon()
    for x, z in outline:
        wire.Add(gp_Pnt(x, 0.0, z))
    wire.Close()
    return BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(wire.Wire(), True).Face(), gp_Vec(0.0, depth, 0.0)).Shape()


def turned(outline: Sequence[tuple[float, float]]) -> TopoDS_Shape:
    """Return the solid of a (radius, z) polygon turned about z."""
    wire = BRepBuilderAPI_MakePolygon()
    for r, z in outline:
        wire.Add(gp_Pnt(r, 0.0, z))
    wire.Close()
    face = BRepBuilderAPI_MakeFace(wire.Wire(), True).Face()
    return BRepPrimAPI_MakeRevol(face, gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(*Z)), 2 * math.pi).Shape()


def cut(shape: TopoDS_Shape, *tools: TopoDS_Shape) -> TopoDS_Shape:
    """Return the shape without the tools."""
    for tool in tools:
        shape = BRepAlgoAPI_Cut(shape, tool).Shape()
    return shape


def fuse(shape: TopoDS_Shape, *others: TopoDS_Shape) -> TopoDS_Shape:
    """Return the shapes as one, faces in one plane merged."""
    for other in others:
        shape = BRepAlgoAPI_Fuse(shape, other).Shape()
    merge = ShapeUpgrade_UnifySameDomain(shape, True, True, False)
    merge.Build()
    return merge.Shape()


def common(first: TopoDS_Shape, second: TopoDS_Shape) -> TopoDS_Shape:
    """Return what two shapes share."""
    return BRepAlgoAPI_Common(first, second).Shape()


def askew(shape: TopoDS_Shape) -> TopoDS_Shape:
    """Return the shape turned about no special axis and moved off the origin."""
    turn, shift = gp_Trsf(), gp_Trsf()
    turn.SetRotation(gp_Ax1(gp_Pnt(3.0, -2.0, 5.0), gp_Dir(0.3, -0.5, 0.8)), 0.7321)
    shift.SetTranslation(gp_Vec(31.7, -12.3, 55.1))
    return BRepBuilderAPI_Transform(shape, shift.Multiplied(turn), True).Shape()


def place_askew(point: Vec) -> Vec:
    """Return where `askew` moves a point."""
    turn, shift = gp_Trsf(), gp_Trsf()
    turn.SetRotation(gp_Ax1(gp_Pnt(3.0, -2.0, 5.0), gp_Dir(0.3, -0.5, 0.8)), 0.7321)
    shift.SetTranslation(gp_Vec(31.7, -12.3, 55.1))
    moved = gp_Pnt(*point).Transformed(shift.Multiplied(turn))
    return (moved.X(), moved.Y(), moved.Z())


def loaded(shape: TopoDS_Shape, face_class: FaceClass = "outer") -> tuple[Facts, ExactGeometry]:
    """Return the facts of a shape's one solid, every face of one class and no features, and its geometry."""
    explorer = TopExp_Explorer(shape, TopAbs_ShapeEnum.TopAbs_SOLID)
    solid = TopoDS.Solid(explorer.Current())
    part = read_part(solid, "shape", 1)
    made_by = MadeBy(process="milled", why="assumed by the test")
    facts = Facts(part=part, features=(), face_class=(face_class,) * part.n_faces, made_by=made_by)
    return facts, ExactGeometry(solid, part)
