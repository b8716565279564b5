"""Solids whose answers are known from how they are built, loaded through the kernel without a file."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakePolygon,
    BRepBuilderAPI_MakeWire,
    BRepBuilderAPI_NurbsConvert,
    BRepBuilderAPI_Transform,
)
from OCP.BRepFilletAPI import BRepFilletAPI_MakeChamfer, BRepFilletAPI_MakeFillet
from OCP.BRepPrimAPI import (
    BRepPrimAPI_MakeBox,
    BRepPrimAPI_MakeCone,
    BRepPrimAPI_MakeCylinder,
    BRepPrimAPI_MakePrism,
    BRepPrimAPI_MakeRevol,
    BRepPrimAPI_MakeSphere,
    BRepPrimAPI_MakeTorus,
)
from OCP.collections import Array1_gp_Pnt, IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher
from OCP.Geom import Geom_Curve
from OCP.GeomAPI import GeomAPI_PointsToBSpline
from OCP.gp import gp_Ax1, gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp, TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Shape

from analyzers.features.hole import RoundHole
from analyzers.features.pocket import ClosedPocket
from analyzers.kernel.arrays import read_part
from analyzers.kernel.exact import ExactGeometry
from analyzers.measures import measure_function
from analyzers.model.feature import FaceClass, Feature
from analyzers.model.geometry import Geometry
from analyzers.model.measure import Measure
from analyzers.model.part import Part
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


def _askew_move() -> gp_Trsf:
    turn, shift = gp_Trsf(), gp_Trsf()
    turn.SetRotation(gp_Ax1(gp_Pnt(3.0, -2.0, 5.0), gp_Dir(0.3, -0.5, 0.8)), 0.7321)
    shift.SetTranslation(gp_Vec(31.7, -12.3, 55.1))
    return shift.Multiplied(turn)


def askew(shape: TopoDS_Shape) -> TopoDS_Shape:
    """Return the shape turned about no special axis and moved off the origin."""
    return BRepBuilderAPI_Transform(shape, _askew_move(), True).Shape()


def back_from_askew(point: Vec) -> Vec:
    """Return where a point of the askew shape lies on the shape as it was built."""
    moved = gp_Pnt(*point).Transformed(_askew_move().Inverted())
    return (moved.X(), moved.Y(), moved.Z())


def as_splines(shape: TopoDS_Shape) -> TopoDS_Shape:
    """Return the shape with every surface and curve as a B-spline."""
    return BRepBuilderAPI_NurbsConvert(shape, True).Shape()


def wave(*heights: float) -> Geom_Curve:
    """Return a free curve in the xz plane through these heights, 10 mm apart in x."""
    points = Array1_gp_Pnt(1, len(heights))
    for index, z in enumerate(heights):
        points.SetValue(index + 1, gp_Pnt(10.0 * index, 0.0, z))
    return GeomAPI_PointsToBSpline(points).Curve()


def wavy_strip(curve: Geom_Curve, height: float, depth: float) -> TopoDS_Shape:
    """Return the solid between a curve in the xz plane and the same curve lifted by `height`, swept along y."""
    low = BRepBuilderAPI_MakeEdge(curve).Edge()
    lift = gp_Trsf()
    lift.SetTranslation(gp_Vec(0.0, 0.0, height))
    top = TopoDS.Edge(BRepBuilderAPI_Transform(low, lift, True).Shape())
    ends = [curve.Value(t) for t in (curve.FirstParameter(), curve.LastParameter())]
    sides = [BRepBuilderAPI_MakeEdge(p, p.Transformed(lift)).Edge() for p in ends]
    wire = BRepBuilderAPI_MakeWire(low, sides[1], top, sides[0]).Wire()
    return BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(wire, True).Face(), gp_Vec(0.0, depth, 0.0)).Shape()


def broken(shape: TopoDS_Shape, size: float, rounded: bool) -> TopoDS_Shape:
    """Return the shape with every edge chamfered or rounded."""
    maker = BRepFilletAPI_MakeFillet(shape) if rounded else BRepFilletAPI_MakeChamfer(shape)
    edges = IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher()
    TopExp.MapShapes_s(shape, TopAbs_ShapeEnum.TopAbs_EDGE, edges)
    for index in range(1, edges.Size() + 1):
        maker.Add(size, TopoDS.Edge(edges.FindKey(index)))
    return maker.Shape()


def loaded(shape: TopoDS_Shape, face_class: FaceClass = "outer") -> tuple[Facts, ExactGeometry]:
    """Return the facts of a shape's one solid, every face of one class and no features, and its geometry."""
    solid = TopoDS.Solid(TopExp_Explorer(shape, TopAbs_ShapeEnum.TopAbs_SOLID).Current())
    part = read_part(solid, "shape", 1)
    made_by = MadeBy(process="milled", why="assumed by the test")
    facts = Facts(part=part, features=(), face_class=(face_class,) * part.n_faces, made_by=made_by)
    return facts, ExactGeometry(solid, part)


def faces_within(part: Part, low: Vec, high: Vec) -> tuple[int, ...]:
    """Return the faces whose centroid lies inside a box."""
    inside = (part.face_centroid_mm > low).all(axis=1) & (part.face_centroid_mm < high).all(axis=1)
    return tuple(np.flatnonzero(inside).tolist())


def featured(facts: Facts, *features: Feature) -> Facts:
    """Return the facts with these features, numbered, and their faces' classes."""
    numbered = tuple(replace(each, id=f"F{number}") for number, each in enumerate(features, start=1))
    classes = list(facts.face_class)
    for feature in numbered:
        for face in feature.faces:
            classes[face] = feature.face_class
    return replace(facts, features=numbered, face_class=tuple(classes))


def hole(part: Part, low: Vec, high: Vec, **numbers: Any) -> RoundHole:
    """Return a hole from above made of the faces within a box."""
    known: dict[str, Any] = {"diameter_mm": 6.0, "depth_mm": 20.0, "through": True, "bottom": "through"}
    return RoundHole(faces=faces_within(part, low, high), direction=Z, position_mm=(0, 0, 0), **(known | numbers))


def pocket(part: Part, low: Vec, high: Vec, **numbers: Any) -> ClosedPocket:
    """Return a pocket from above made of the faces within a box."""
    known: dict[str, Any] = {"depth_mm": 10.0, "length_mm": 30.0, "width_mm": 20.0, "through": False}
    known |= {"corner_radius_mm": 0.0, "floor_radius_mm": 0.0}
    return ClosedPocket(faces=faces_within(part, low, high), direction=Z, position_mm=(0, 0, 0), **(known | numbers))


def taken(name: str, facts: Facts, geometry: Geometry) -> Measure:
    """Return the one Measure of that name."""
    found = [each for each in measure_function(name)(facts, geometry) if isinstance(each, Measure)]
    assert [each.name for each in found] == [name]
    return found[0]
