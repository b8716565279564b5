"""Solids built on the spot, copies of them in other places and other forms, and their arrays."""

import math

import numpy as np
from OCP.BRep import BRep_Builder
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeSolid, BRepBuilderAPI_NurbsConvert, BRepBuilderAPI_Transform
from OCP.gp import gp_Ax1, gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Shape, TopoDS_Shell, TopoDS_Solid

from analyzers.kernel.arrays import read_part
from analyzers.kernel.drawing import draw_lines
from analyzers.kernel.exact import ExactGeometry
from analyzers.model.arrays import Vec
from analyzers.model.drawing import LineDrawing, View
from analyzers.model.part import Part, Surface
from fixtures.make.vocabulary.work import copy


def solid_of(shape: TopoDS_Shape) -> TopoDS_Solid:
    """Return the one solid of a shape; AssertionError where there is none or more than one."""
    explorer = TopExp_Explorer(shape, TopAbs_ShapeEnum.TopAbs_SOLID)
    solid = TopoDS.Solid(explorer.Current())
    explorer.Next()
    assert not explorer.More(), "expected one solid"
    return solid


def part_of(shape: TopoDS_Shape) -> Part:
    """Return the arrays of a shape's one solid."""
    return read_part(solid_of(shape), "solid", 1)


def loaded(shape: TopoDS_Shape) -> tuple[Part, ExactGeometry]:
    """Return the arrays of a shape's one solid, and its geometry."""
    solid = solid_of(shape)
    part = read_part(solid, "solid", 1)
    return part, ExactGeometry(solid, part)


def drawn(shape: TopoDS_Shape, *views: View) -> list[LineDrawing]:
    """Return line drawings of a shape's one solid."""
    _, geometry = loaded(shape)
    return draw_lines(geometry, views)


def turned_by(axis: Vec, angle_deg: float, shift: Vec = (0.0, 0.0, 0.0)) -> gp_Trsf:
    """Return a turn about an axis through the origin, followed by a shift."""
    turn, move = gp_Trsf(), gp_Trsf()
    turn.SetRotation(gp_Ax1(gp_Pnt(0.0, 0.0, 0.0), gp_Dir(*axis)), math.radians(angle_deg))
    move.SetTranslation(gp_Vec(*shift))
    return move.Multiplied(turn)


def mirrored_in(normal: Vec, through: Vec = (0.0, 0.0, 0.0)) -> gp_Trsf:
    """Return the mirroring in a plane."""
    mirror = gp_Trsf()
    mirror.SetMirror(gp_Ax2(gp_Pnt(*through), gp_Dir(*normal)))
    return mirror


def scaled_by(factor: float) -> gp_Trsf:
    """Return the scaling about the origin."""
    scale = gp_Trsf()
    scale.SetScaleFactor(factor)
    return scale


def moved(shape: TopoDS_Shape, move: gp_Trsf) -> TopoDS_Shape:
    """Return a copy whose surfaces themselves are moved: mirrored ones come out left-handed."""
    return BRepBuilderAPI_Transform(shape, move, True).Shape()


def as_splines(shape: TopoDS_Shape) -> TopoDS_Shape:
    """Return a copy whose surfaces and curves are all rational B-splines, exact but without their names.

    The converter crashed on shapes that hold splines already; on a deep copy of them it does not.
    """
    return BRepBuilderAPI_NurbsConvert(copy(shape), True).Shape()


def shuffled(shape: TopoDS_Shape, seed: int) -> TopoDS_Solid:
    """Return the same solid with its faces in another order."""
    builder = BRep_Builder()
    maker = BRepBuilderAPI_MakeSolid()
    order = np.random.default_rng(seed)
    shells = TopExp_Explorer(solid_of(shape), TopAbs_ShapeEnum.TopAbs_SHELL)
    while shells.More():
        old, faces = shells.Current(), []
        inside = TopExp_Explorer(old, TopAbs_ShapeEnum.TopAbs_FACE)
        while inside.More():
            faces.append(inside.Current())
            inside.Next()
        shell = TopoDS_Shell()
        builder.MakeShell(shell)
        for index in order.permutation(len(faces)).tolist():
            builder.Add(shell, faces[index])
        shell.Closed(old.Closed())
        maker.Add(shell)
        shells.Next()
    return maker.Solid()


def faces_of_kind(part: Part, kind: Surface) -> list[int]:
    """Return the faces of one surface kind."""
    return [int(face) for face in np.flatnonzero(part.face_surface == kind)]


def only(part: Part, kind: Surface) -> int:
    """Return the one face of a surface kind."""
    (face,) = faces_of_kind(part, kind)
    return face


def facing(part: Part, direction: Vec) -> int:
    """Return the one plane that looks along a direction and lies farthest out."""
    planes = faces_of_kind(part, Surface.PLANE)
    looking = [f for f in planes if float(part.face_normal[f] @ np.array(direction)) > 0.999]
    return max(looking, key=lambda f: float(part.face_origin_mm[f] @ np.array(direction)))
