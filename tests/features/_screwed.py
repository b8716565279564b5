"""Modelled threads to cut with: profiles swept along a helix about z."""

import math
from collections.abc import Sequence

from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeWire
from OCP.BRepLib import BRepLib
from OCP.BRepOffsetAPI import BRepOffsetAPI_MakePipeShell
from OCP.Geom import Geom_CylindricalSurface
from OCP.Geom2d import Geom2d_Line
from OCP.gp import gp_Ax3, gp_Dir, gp_Dir2d, gp_Pnt, gp_Pnt2d
from OCP.TopoDS import TopoDS_Shape, TopoDS_Wire

from fixtures.make.vocabulary.draw import Point2, polygon
from tests.kernel._solids import moved, turned_by

HEIGHT = math.sqrt(3.0) / 2.0  # of the fundamental triangle, in pitches (ISO 68-1)
OVER = 0.2  # how far a tool stands out of the surface it cuts


def helix(radius: float, lead: float, turns: float, foot: float, left: bool) -> TopoDS_Wire:
    """Return a helix about z that starts at a height."""
    surface = Geom_CylindricalSurface(gp_Ax3(gp_Pnt(0.0, 0.0, foot), gp_Dir(0.0, 0.0, 1.0)), radius)
    way = -2 * math.pi if left else 2 * math.pi
    line = Geom2d_Line(gp_Pnt2d(0.0, 0.0), gp_Dir2d(way, lead))
    edge = BRepBuilderAPI_MakeEdge(line, surface, 0.0, turns * math.hypot(2 * math.pi, lead)).Edge()
    BRepLib.BuildCurves3d_s(edge)
    return BRepBuilderAPI_MakeWire(edge).Wire()


def swept_along(
    profile: Sequence[Point2], radius: float, lead: float, turns: float, foot: float, left: bool = False
) -> TopoDS_Shape:
    """Return the solid of a profile of (radius, height) points carried along a helix without turning over."""
    maker = BRepOffsetAPI_MakePipeShell(helix(radius, lead, turns, foot, left))
    maker.SetMode(gp_Dir(0.0, 0.0, 1.0))
    maker.Add(polygon([(r, 0.0, foot + z) for r, z in profile]))
    maker.Build()
    maker.MakeSolid()
    return maker.Shape()


def outside_cutter(
    major: float, pitch: float, turns: float, foot: float, *, left: bool = False, starts: int = 1, depth: float = 0.625
) -> list[TopoDS_Shape]:
    """Return what cuts a thread of 60 degrees into a rod; `depth` in heights of the fundamental triangle.

    The root is as wide as the profile leaves it: a quarter of the height is flat at 0.625.
    """
    deep, lean = depth * HEIGHT * pitch, math.tan(math.radians(30.0))
    top = pitch * (7.0 / 8.0) / 2.0  # the crest's flat is an eighth of the pitch
    root = max(top - deep * lean, 1e-3)
    outer = top + OVER * lean
    radius = major / 2
    profile = [(radius - deep, -root), (radius - deep, root), (radius + OVER, outer), (radius + OVER, -outer)]
    cutter = swept_along(profile, radius, pitch * starts, turns / starts, foot, left)
    return [moved(cutter, turned_by((0.0, 0.0, 1.0), 360.0 * each / starts)) for each in range(starts)]


def inside_cutter(major: float, pitch: float, turns: float, foot: float, left: bool = False) -> TopoDS_Shape:
    """Return what cuts a thread of 60 degrees into a bore of the minor diameter."""
    deep, lean = 0.625 * HEIGHT * pitch, math.tan(math.radians(30.0))
    root = pitch / 16.0
    inner = root + (deep + OVER) * lean
    radius = major / 2
    profile = [(radius, -root), (radius, root), (radius - deep - OVER, inner), (radius - deep - OVER, -inner)]
    return swept_along(profile, radius, pitch, turns, foot, left)


def square_cutter(major: float, depth: float, width: float, lead: float, turns: float, foot: float) -> TopoDS_Shape:
    """Return what cuts a helical groove of rectangular section into a rod."""
    radius, half = major / 2, width / 2
    profile = [(radius - depth, -half), (radius - depth, half), (radius + OVER, half), (radius + OVER, -half)]
    return swept_along(profile, radius, lead, turns, foot)


def trapezoid_cutter(major: float, pitch: float, turns: float, foot: float) -> TopoDS_Shape:
    """Return what cuts a trapezoidal thread of 30 degrees and half a pitch depth (ISO 2904) into a rod."""
    radius, lean, deep = major / 2, math.tan(math.radians(15.0)), 0.5 * pitch
    root, outer = pitch / 4 - 0.5 * deep * lean, pitch / 4 + (0.5 * deep + OVER) * lean
    profile = [(radius - deep, -root), (radius - deep, root), (radius + OVER, outer), (radius + OVER, -outer)]
    return swept_along(profile, radius, pitch, turns, foot)


def minor_of(major: float, pitch: float) -> float:
    """Return the basic minor diameter, d - 1.082532 P (ISO 724)."""
    return major - 2 * 0.625 * HEIGHT * pitch
