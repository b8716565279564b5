"""Each edge as numbers: curve, length, its two faces, the angle through the material; and each face's loops.

Free curves that are lines, circles or ellipses are found out (`curve_fit`).
"""

import math
from dataclasses import dataclass, field

import numpy as np
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Surface
from OCP.BRepLProp import BRepLProp_SLProps
from OCP.BRepTools import BRepTools
from OCP.collections import IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher
from OCP.GCPnts import GCPnts_AbscissaPoint
from OCP.GeomAbs import GeomAbs_CurveType
from OCP.gp import gp_Pnt, gp_Vec
from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
from OCP.TopExp import TopExp, TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Edge, TopoDS_Face, TopoDS_Shape

from analyzers.kernel.curve_fit import fit_curve
from analyzers.model.arrays import Floats, Ints, cross_product
from analyzers.model.part import Curve

_KINDS = {
    GeomAbs_CurveType.GeomAbs_Line: Curve.LINE,
    GeomAbs_CurveType.GeomAbs_Circle: Curve.CIRCLE,
    GeomAbs_CurveType.GeomAbs_Ellipse: Curve.ELLIPSE,
    GeomAbs_CurveType.GeomAbs_BSplineCurve: Curve.BSPLINE,
    GeomAbs_CurveType.GeomAbs_BezierCurve: Curve.BSPLINE,
}
_NAN3 = (math.nan, math.nan, math.nan)
_SAMPLES, _SAMPLES_PER_SPAN, _SAMPLES_MOST = 17, 3, 129  # points on a free curve


@dataclass(slots=True)
class EdgeTable:
    """E edges and C coedges (a face's use of an edge), columns as in model.part.Part.

    `coedge_forward`: the face is on the left when the edge is walked along its curve, seen from outside.
    """

    curve: list[int] = field(default_factory=list)
    length: list[float] = field(default_factory=list)
    mid: list[tuple[float, float, float]] = field(default_factory=list)
    mid_parameter: list[float] = field(default_factory=list)
    tangent: list[tuple[float, float, float]] = field(default_factory=list)
    vertices: list[tuple[int, int]] = field(default_factory=list)
    centre: list[tuple[float, float, float]] = field(default_factory=list)
    axis: list[tuple[float, float, float]] = field(default_factory=list)
    radius: list[float] = field(default_factory=list)
    vertex: list[tuple[float, float, float]] = field(default_factory=list)
    coedge_face: list[int] = field(default_factory=list)
    coedge_edge: list[int] = field(default_factory=list)
    coedge_loop: list[int] = field(default_factory=list)
    coedge_forward: list[bool] = field(default_factory=list)
    shapes: list[TopoDS_Edge] = field(default_factory=list)


def read_edges(shape: TopoDS_Shape, faces: list[TopoDS_Face]) -> EdgeTable:
    """Return the edge table of a solid whose faces are given in order."""
    table = EdgeTable()
    edge_map, vertex_map = (IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher() for _ in range(2))
    TopExp.MapShapes_s(shape, TopAbs_ShapeEnum.TopAbs_EDGE, edge_map)
    TopExp.MapShapes_s(shape, TopAbs_ShapeEnum.TopAbs_VERTEX, vertex_map)
    for i in range(1, vertex_map.Size() + 1):
        point = BRep_Tool.Pnt_s(TopoDS.Vertex(vertex_map.FindKey(i)))
        table.vertex.append(point.Coord())
    for i in range(1, edge_map.Size() + 1):
        _add_edge(table, TopoDS.Edge(edge_map.FindKey(i)), vertex_map)
    for index, face in enumerate(faces):
        _add_loops(table, index, face, edge_map)
    return table


def _add_edge(table: EdgeTable, edge: TopoDS_Edge, vertices: IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher) -> None:
    edge = TopoDS.Edge(edge.Oriented(TopAbs_Orientation.TopAbs_FORWARD))
    table.shapes.append(edge)
    first, last = (vertices.FindIndex(v) - 1 for v in (TopExp.FirstVertex_s(edge), TopExp.LastVertex_s(edge)))
    table.vertices.append((first, last))
    centre, axis, radius = _NAN3, _NAN3, math.nan
    if BRep_Tool.Degenerated_s(edge):
        mid = table.vertex[first] if first >= 0 else _NAN3
        row = (Curve.DEGENERATE, 0.0, mid, math.nan, _NAN3)
    else:
        curve = BRepAdaptor_Curve(edge)
        kind = _KINDS.get(curve.GetType(), Curve.OTHER)
        low, high = curve.FirstParameter(), curve.LastParameter()
        length, middle = high - low, 0.5 * (low + high)
        if kind == Curve.CIRCLE:
            circle = curve.Circle()
            place, line = circle.Location(), circle.Axis().Direction()
            centre, axis = place.Coord(), line.Coord()
            radius = circle.Radius()
            length *= radius
        elif kind != Curve.LINE:
            length = GCPnts_AbscissaPoint.Length_s(curve)
            plain = None if kind == Curve.ELLIPSE else fit_curve(_sampled(curve))
            if plain is not None:
                kind, radius = plain.kind, plain.radius
                centre, axis = plain.centre or _NAN3, plain.axis or _NAN3
                middle = GCPnts_AbscissaPoint(curve, 0.5 * length, low).Parameter()
        point, slope = gp_Pnt(), gp_Vec()
        curve.D1(middle, point, slope)
        size = slope.Magnitude()
        x, y, z = slope.Coord()
        tangent = (x / size, y / size, z / size) if size > 0 else _NAN3
        row = (kind, length, point.Coord(), middle, tangent)
    table.curve.append(int(row[0]))
    table.length.append(row[1])
    table.mid.append(row[2])
    table.mid_parameter.append(row[3])
    table.tangent.append(row[4])
    table.centre.append(centre)
    table.axis.append(axis)
    table.radius.append(radius)


def _sampled(curve: BRepAdaptor_Curve) -> Floats:
    """Return (N, 3) points along a curve, several in each span of a spline."""
    spline = curve.GetType() == GeomAbs_CurveType.GeomAbs_BSplineCurve
    count = min(max(_SAMPLES, _SAMPLES_PER_SPAN * (curve.NbKnots() - 1) + 1 if spline else 0), _SAMPLES_MOST)
    points = [curve.Value(at) for at in np.linspace(curve.FirstParameter(), curve.LastParameter(), count).tolist()]
    return np.array([point.Coord() for point in points])


def _add_loops(
    table: EdgeTable, index: int, face: TopoDS_Face, edges: IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher
) -> None:
    """Append the face's coedges; loop 0 is the outer boundary."""
    outer = BRepTools.OuterWire_s(face)
    loop = 0
    wires = TopExp_Explorer(face, TopAbs_ShapeEnum.TopAbs_WIRE)
    while wires.More():
        wire = wires.Current()
        number = 0
        if not wire.IsSame(outer):
            loop += 1
            number = loop
        around = TopExp_Explorer(wire, TopAbs_ShapeEnum.TopAbs_EDGE)
        while around.More():
            edge = around.Current()
            table.coedge_face.append(index)
            table.coedge_edge.append(edges.FindIndex(edge) - 1)
            table.coedge_loop.append(number)
            table.coedge_forward.append(edge.Orientation() == TopAbs_Orientation.TopAbs_FORWARD)
            around.Next()
        wires.Next()


def faces_of_edges(table: EdgeTable) -> tuple[Ints, Ints]:
    """Return (E, 2) the faces beside each edge, the one on its left first, and (E, 2) whether each walks it forward.

    -1 where there is no second face; edges with more than two uses keep the first two.
    """
    n = len(table.curve)
    faces = np.full((n, 2), -1, dtype=np.int64)
    forward = np.zeros((n, 2), dtype=np.int64)
    used = [0] * n
    uses = zip(table.coedge_face, table.coedge_edge, table.coedge_forward, strict=True)
    for face, edge, ahead in uses:
        if used[edge] < 2:
            faces[edge, used[edge]] = face
            forward[edge, used[edge]] = ahead
            used[edge] += 1
    swap = (forward[:, 0] == 0) & (forward[:, 1] == 1)
    faces[swap] = faces[swap][:, ::-1]
    forward[swap] = forward[swap][:, ::-1]
    return faces, forward


def free_normal(edge: TopoDS_Edge, parameter: float, face: TopoDS_Face, adaptor: BRepAdaptor_Surface) -> Floats:
    """Return (3,) the outward normal of a free surface where its edge has `parameter`; nan where undefined."""
    nothing = np.full(3, math.nan)
    if not math.isfinite(parameter):
        return nothing
    first, last = BRep_Tool.Range_s(edge)
    trace = BRep_Tool.CurveOnSurface_s(edge, face, first, last)
    if trace is None:
        return nothing
    place = trace.Value(parameter)
    props = BRepLProp_SLProps(adaptor, place.X(), place.Y(), 1, 1e-9)
    if not props.IsNormalDefined():
        return nothing
    normal = props.Normal()
    outward = np.array(normal.Coord())
    return -outward if face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED else outward


def angle_through_material(tangent: Floats, left_normal: Floats, right_normal: Floats) -> Floats:
    """Return (E,) angle in degrees, 0..360, from the left face through the material to the right one.

    Parameters
    ----------
    tangent : (E, 3) unit, along which the left face lies on the left, seen from outside
    left_normal, right_normal : (E, 3) outward unit normals; nan rows give nan
    """
    into_left = cross_product(left_normal, tangent)
    into_right = -cross_product(right_normal, tangent)
    ahead = np.einsum("ij,ij->i", into_right, into_left)
    inward = -np.einsum("ij,ij->i", into_right, left_normal)
    angle: Floats = np.degrees(np.arctan2(inward, ahead)) % 360.0
    return angle
