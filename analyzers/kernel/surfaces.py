"""Each face's surface as numbers; free surfaces that are plane, cylinder, cone, sphere or torus are found out."""

import math
from dataclasses import dataclass

import numpy as np
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepLProp import BRepLProp_SLProps
from OCP.BRepTools import BRepTools
from OCP.GeomAbs import GeomAbs_SurfaceType
from OCP.gp import gp_Ax1, gp_Cone, gp_Cylinder, gp_Pln, gp_Pnt, gp_Sphere, gp_Torus
from OCP.ShapeAnalysis import ShapeAnalysis_CanonicalRecognition
from OCP.TopoDS import TopoDS_Face

from analyzers.kernel.hollows import FLAT_PER_MM, sharpest_hollow_mm
from analyzers.kernel.round_fit import fit_cone, fit_cylinder, fit_sphere
from analyzers.kernel.torus_fit import fit_torus
from analyzers.model.arrays import Floats, Vec
from analyzers.model.part import Surface
from analyzers.tolerance import ANALYTIC_FIT_MM, SAME_LENGTH_MM

_KINDS = {
    GeomAbs_SurfaceType.GeomAbs_Plane: Surface.PLANE,
    GeomAbs_SurfaceType.GeomAbs_Cylinder: Surface.CYLINDER,
    GeomAbs_SurfaceType.GeomAbs_Cone: Surface.CONE,
    GeomAbs_SurfaceType.GeomAbs_Sphere: Surface.SPHERE,
    GeomAbs_SurfaceType.GeomAbs_Torus: Surface.TORUS,
    GeomAbs_SurfaceType.GeomAbs_SurfaceOfRevolution: Surface.REVOLUTION,
    GeomAbs_SurfaceType.GeomAbs_SurfaceOfExtrusion: Surface.EXTRUSION,
    GeomAbs_SurfaceType.GeomAbs_BSplineSurface: Surface.BSPLINE,
    GeomAbs_SurfaceType.GeomAbs_BezierSurface: Surface.BSPLINE,
}
_NO_VEC: Vec = (math.nan, math.nan, math.nan)
_GRID = 9  # samples a side on a free surface


@dataclass(slots=True)
class SurfaceRow:
    """One face's surface; nan where the kind has no such number."""

    kind: Surface
    origin: Vec = _NO_VEC
    axis: Vec = _NO_VEC
    radius: float = math.nan
    tube_radius: float = math.nan
    half_angle_deg: float = math.nan


def is_free(adaptor: BRepAdaptor_Surface) -> bool:
    """Return whether a surface is written as something else than plane, cylinder, cone, sphere or torus."""
    return _KINDS.get(adaptor.GetType(), Surface.OTHER) > Surface.TORUS


def read_surface(face: TopoDS_Face, adaptor: BRepAdaptor_Surface) -> SurfaceRow:
    """Return the surface of a face, the plainest kind that follows it within ANALYTIC_FIT_MM.

    What is round with a radius of nothing is no round surface: `other`.
    """
    row = _row(face, adaptor)
    nothing = row.radius <= SAME_LENGTH_MM or row.tube_radius <= SAME_LENGTH_MM
    return SurfaceRow(Surface.OTHER) if nothing else row


def _row(face: TopoDS_Face, adaptor: BRepAdaptor_Surface) -> SurfaceRow:
    kind = _KINDS.get(adaptor.GetType(), Surface.OTHER)
    if kind == Surface.PLANE:
        return _plane(adaptor.Plane())
    if kind == Surface.CYLINDER:
        return _cylinder(adaptor.Cylinder())
    if kind == Surface.CONE:
        return _cone(adaptor.Cone())
    if kind == Surface.SPHERE:
        return _sphere(adaptor.Sphere())
    if kind == Surface.TORUS:
        return _torus(adaptor.Torus())
    return _hidden(face, adaptor) or _free(kind, adaptor)


def _free(kind: Surface, adaptor: BRepAdaptor_Surface) -> SurfaceRow:
    """Return the row of a free surface; one that turns about an axis keeps that axis."""
    if kind != Surface.REVOLUTION:
        return SurfaceRow(kind)
    axis = adaptor.AxeOfRevolution()
    return SurfaceRow(kind, _point(axis.Location()), _direction(axis))


def _hidden(face: TopoDS_Face, adaptor: BRepAdaptor_Surface) -> SurfaceRow | None:
    """Return the analytic surface that a free surface follows, plainest first; None where there is none."""
    test = ShapeAnalysis_CanonicalRecognition(face)
    plane, cylinder, cone, sphere = gp_Pln(), gp_Cylinder(), gp_Cone(), gp_Sphere()
    if test.IsPlane(ANALYTIC_FIT_MM, plane):
        return _plane(plane)
    if test.IsCylinder(ANALYTIC_FIT_MM, cylinder):
        return _cylinder(cylinder)
    if test.IsCone(ANALYTIC_FIT_MM, cone):
        return _cone(cone)
    if test.IsSphere(ANALYTIC_FIT_MM, sphere):
        return _sphere(sphere)
    return _fitted(*_sample(face, adaptor))


def _fitted(points: Floats, normals: Floats, bends: Floats) -> SurfaceRow | None:
    """Return the round surface that samples of a free one follow, plainest first; None where there is none."""
    if cylinder := fit_cylinder(points, normals):
        return SurfaceRow(Surface.CYLINDER, cylinder.point_mm, cylinder.axis, cylinder.radius_mm)
    if cone := fit_cone(points, normals):
        return SurfaceRow(Surface.CONE, cone.tip_mm, cone.axis, half_angle_deg=cone.half_angle_deg)
    if sphere := fit_sphere(points):
        return SurfaceRow(Surface.SPHERE, sphere.centre_mm, (0.0, 0.0, 1.0), sphere.radius_mm)
    if torus := fit_torus(points, normals, bends):
        return SurfaceRow(Surface.TORUS, torus.centre, torus.axis, torus.radius, torus.tube_radius)
    return None


def _sample(face: TopoDS_Face, adaptor: BRepAdaptor_Surface) -> tuple[Floats, Floats, Floats]:
    """Return (N, 3) points, (N, 3) surface normals and (N, 2) principal curvatures on a grid in the parameter box.

    A curvature is positive where the centre of curvature lies on the normal's side.
    """
    u0, u1, v0, v1 = BRepTools.UVBounds_s(face)
    props = BRepLProp_SLProps(adaptor, 2, 1e-9)
    rows = []
    for u in np.linspace(u0, u1, _GRID):
        for v in np.linspace(v0, v1, _GRID):
            props.SetParameters(float(u), float(v))
            if not props.IsNormalDefined() or not props.IsCurvatureDefined():
                continue
            p, n = props.Value(), props.Normal()
            bends = (props.MinCurvature(), props.MaxCurvature())
            rows.append((*p.Coord(), *n.Coord(), *bends))
    table = np.array(rows, dtype=float).reshape(-1, 8)
    return table[:, :3], table[:, 3:6], table[:, 6:]


def bend_radii(face: TopoDS_Face, adaptor: BRepAdaptor_Surface, outward: bool) -> tuple[float, float, float]:
    """Return radii of curvature of a face: the smallest hollow one, and on a grid those of a ball rolling along it.

    The first is inf where the face is nowhere hollow. A ball that rolls along an edge touches the face it leaves along
    a circle of its own, so one principal curvature is the ball's, the sharper one unless the edge bends more tightly:
    the least and the largest such radius, negative where the face bulges, nan where it is flat.
    `outward`: the surface's own normal points out of the material.
    """
    _, _, bends = _sample(face, adaptor)
    if not len(bends):
        return math.inf, math.nan, math.nan
    hollow = bends if outward else -bends
    smallest = sharpest_hollow_mm(face, adaptor, outward)
    sharper = np.take_along_axis(hollow, np.abs(hollow).argmax(axis=1)[:, None], axis=1)[:, 0]
    sense = 1.0 if sharper.sum() > 0 else -1.0
    ball = sense * sharper
    ball = ball[ball > FLAT_PER_MM]
    if not len(ball):
        return smallest, math.nan, math.nan
    return smallest, sense / float(ball.max()), sense / float(ball.min())


def _plane(plane: gp_Pln) -> SurfaceRow:
    return SurfaceRow(Surface.PLANE, _point(plane.Location()), _direction(plane.Axis()))


def _cylinder(cylinder: gp_Cylinder) -> SurfaceRow:
    return SurfaceRow(
        Surface.CYLINDER, _point(cylinder.Location()), _direction(cylinder.Axis()), abs(cylinder.Radius())
    )


def _cone(cone: gp_Cone) -> SurfaceRow:
    return SurfaceRow(
        Surface.CONE, _point(cone.Apex()), _direction(cone.Axis()), half_angle_deg=math.degrees(abs(cone.SemiAngle()))
    )


def _sphere(sphere: gp_Sphere) -> SurfaceRow:
    return SurfaceRow(
        Surface.SPHERE, _point(sphere.Location()), _direction(sphere.Position().Axis()), abs(sphere.Radius())
    )


def _torus(torus: gp_Torus) -> SurfaceRow:
    return SurfaceRow(
        Surface.TORUS,
        _point(torus.Location()),
        _direction(torus.Axis()),
        abs(torus.MajorRadius()),
        abs(torus.MinorRadius()),
    )


def _point(point: gp_Pnt) -> Vec:
    return point.Coord()


def _direction(axis: gp_Ax1) -> Vec:
    direction = axis.Direction()
    return direction.Coord()
