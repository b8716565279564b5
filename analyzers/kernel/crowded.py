"""Triangles of planes with very many outlines, cut from the points that their neighbours' triangles have on the border.

OpenCascade's mesher is more than quadratic in a face's outlines: 500 holes take 6 to 9 s, 2,000 take 65 s and 2 GB. A
plane needs no points inside, so its outlines are cut into triangles as they are (ear clipping: G. Meisters, 1975; the
library is a binding of mapbox's `earcut.hpp`). The points of the border are those of the faces beside it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import mapbox_earcut
import numpy as np
from OCP.BRep import BRep_Builder, BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Surface
from OCP.BRepTools import BRepTools, BRepTools_WireExplorer
from OCP.collections import IndexedDataMap_TopoDS_Shape_List_TopoDS_Shape_TopTools_ShapeMapHasher
from OCP.GeomAbs import GeomAbs_CurveType, GeomAbs_SurfaceType
from OCP.gp import gp_Ax3, gp_Pnt
from OCP.Poly import Poly_PolygonOnTriangulation, Poly_Triangle, Poly_Triangulation
from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
from OCP.TopExp import TopExp
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Edge, TopoDS_Face, TopoDS_Shape

from analyzers.kernel.explore import explored
from analyzers.model.arrays import Floats, Ints
from analyzers.tolerance import MASS_ERROR

CROWDED_LOOPS: Final = 100
"""From so many outlines on, OpenCascade takes longer for a face than for reading it."""

_PASSES: Final = 8
"""A triangle with points of others on several sides is split along one side in each pass."""

_IN_LINE: Final = 1e-9
"""Of the largest extent: points this near a side are on it."""


@dataclass(frozen=True, slots=True)
class _Line:
    """An edge with its points from its curve's beginning on, and where on the curve each lies.

    The mesher keeps these places too, and the hidden-line removal reads them without asking whether they are there.
    """

    edge: TopoDS_Edge
    points: list[gp_Pnt]
    places: list[float]

    @property
    def backwards(self) -> bool:
        """Whether the outline runs against the curve."""
        return bool(self.edge.Orientation() == TopAbs_Orientation.TopAbs_REVERSED)


Border = list[_Line]
"""The edges of an outline in order."""


def is_crowded(face: TopoDS_Face) -> bool:
    """Return whether a face is a plane with very many outlines."""
    if face.NbChildren() <= CROWDED_LOOPS:
        return False
    return bool(BRepAdaptor_Surface(face, False).GetType() == GeomAbs_SurfaceType.GeomAbs_Plane)


def cut_into_triangles(shape: TopoDS_Shape, crowded: list[TopoDS_Face]) -> bool:
    """Give triangles to the crowded faces of a solid whose other faces have theirs; return whether all have them now.

    False: a bent edge has no neighbour with triangles, or the triangles do not fill what the outlines hold.
    """
    beside = IndexedDataMap_TopoDS_Shape_List_TopoDS_Shape_TopTools_ShapeMapHasher()
    TopExp.MapShapesAndAncestors_s(shape, TopAbs_ShapeEnum.TopAbs_EDGE, TopAbs_ShapeEnum.TopAbs_FACE, beside)
    return all(_cut(face, beside) for face in crowded)


def _cut(face: TopoDS_Face, beside: IndexedDataMap_TopoDS_Shape_List_TopoDS_Shape_TopTools_ShapeMapHasher) -> bool:
    borders, outer = [], BRepTools.OuterWire_s(face)
    for wire in explored(face.Oriented(TopAbs_Orientation.TopAbs_FORWARD), TopAbs_ShapeEnum.TopAbs_WIRE):
        border: Border = []
        around = BRepTools_WireExplorer(TopoDS.Wire(wire), face)
        while around.More():
            line = _line_on(around.Current(), beside)
            if line is None:
                return False
            border.append(line)
            around.Next()
        if len(border) != sum(1 for _ in explored(wire, TopAbs_ShapeEnum.TopAbs_EDGE)):
            return False  # the walk along the outline came to an end too early
        borders.append((wire.IsSame(outer), border))
    borders.sort(key=lambda each: not each[0])  # the outer one first
    rings = [_ring(border) for _, border in borders]
    nodes = [node for ring in rings for node in ring]
    flat = _in_plane(nodes, BRepAdaptor_Surface(face, False).Plane().Position())
    ends = np.cumsum([len(ring) for ring in rings])
    triangle = mapbox_earcut.triangulate_float64(flat, ends.astype(np.uint32)).reshape(-1, 3).astype(np.int64)
    area = _areas(flat, triangle)
    triangle[area < 0.0] = triangle[area < 0.0][:, ::-1]
    triangle = _split(flat, triangle, _border_sides(ends))
    area = _areas(flat, triangle)
    held = [abs(float(_shoelace(ring))) for ring in np.split(flat, ends[:-1])]
    wanted = held[0] - sum(held[1:])
    if len(_lone(triangle, _border_sides(ends))) or not abs(float(area.sum()) - wanted) <= MASS_ERROR * held[0]:
        return False
    _keep(face, nodes, triangle, [border for _, border in borders])
    return True


def _line_on(
    edge: TopoDS_Edge, beside: IndexedDataMap_TopoDS_Shape_List_TopoDS_Shape_TopTools_ShapeMapHasher
) -> _Line | None:
    """Return an edge with points from a neighbour's triangles; None where it is bent and no neighbour has any."""
    for each in beside.FindFromKey(edge):
        place = TopLoc_Location()
        triangles = BRep_Tool.Triangulation_s(TopoDS.Face(each), place)
        line = None if triangles is None else BRep_Tool.PolygonOnTriangulation_s(edge, triangles, place)
        if triangles is not None and line is not None and line.HasParameters():
            move, numbers = place.Transformation(), range(1, line.NbNodes() + 1)
            points = [triangles.Node(line.Node(i)).Transformed(move) for i in numbers]
            return _Line(edge, points, [line.Parameter(i) for i in numbers])
    curve = BRepAdaptor_Curve(edge)
    if curve.GetType() != GeomAbs_CurveType.GeomAbs_Line:
        return None
    ends = [curve.FirstParameter(), curve.LastParameter()]  # between two crowded planes
    return _Line(edge, [curve.Value(each) for each in ends], ends)


def _ring(border: Border) -> list[gp_Pnt]:
    """Return the points of a closed outline, each once."""
    ring: list[gp_Pnt] = []
    for line in border:
        ring += line.points[:0:-1] if line.backwards else line.points[:-1]
    return ring


def _in_plane(nodes: list[gp_Pnt], frame: gp_Ax3) -> Floats:
    """Return (N, 2) the places of points in a plane's own frame."""
    point = np.array([each.Coord() for each in nodes])
    axes = np.array([frame.XDirection().Coord(), frame.YDirection().Coord()])
    flat: Floats = (point - np.array(frame.Location().Coord())) @ axes.T
    return np.ascontiguousarray(flat)


def _areas(flat: Floats, triangle: Ints) -> Floats:
    """Return (T,) areas of triangles of (N, 2) points, negative where they run clockwise."""
    u, v = flat[triangle[:, 1]] - flat[triangle[:, 0]], flat[triangle[:, 2]] - flat[triangle[:, 0]]
    area: Floats = 0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    return area


def _border_sides(ends: Ints) -> set[tuple[int, int]]:
    """Return the sides of all rings, each both ways; `ends`: where each ring's points end."""
    after = np.arange(1, int(ends[-1]) + 1)
    after[ends - 1] = np.append(0, ends[:-1])
    return {side for a, b in enumerate(after.tolist()) for side in ((a, b), (b, a))}


def _lone(triangle: Ints, border: set[tuple[int, int]]) -> list[tuple[int, int, int]]:
    """Return (row, corner, corner) of each side of a triangle that meets no other's and is not of the border."""
    sides = {(t[k], t[(k + 1) % 3]): row for row, t in enumerate(triangle.tolist()) for k in range(3)}
    return [(row, a, b) for (a, b), row in sides.items() if (b, a) not in sides and (a, b) not in border]


def _split(flat: Floats, triangle: Ints, border: set[tuple[int, int]]) -> Ints:
    """Return the triangles, those split that have points of others on a side.

    Where outlines lie in rows, points are in line with one another, and ear clipping passes some of them by.
    """
    near = _IN_LINE * float(np.ptp(flat, axis=0).max())
    for _ in range(_PASSES):
        lone = _lone(triangle, border)
        if not lone:
            break
        points = np.unique([corner for _, *side in lone for corner in side])
        pieces: dict[int, list[list[int]]] = {}
        for row, a, b in lone:
            between = _between(flat, points, a, b, near) if row not in pieces else []
            if between:
                (tip,) = set(triangle[row].tolist()) - {a, b}
                pieces[row] = [[one, other, tip] for one, other in pairwise([a, *between, b])]
        whole = np.delete(triangle, list(pieces), axis=0)
        triangle = np.concatenate([whole, np.array([t for some in pieces.values() for t in some]).reshape(-1, 3)])
        triangle = triangle.astype(np.int64)
    return triangle


def _between(flat: Floats, points: Ints, first: int, last: int, near: float) -> list[int]:
    """Return those of some points that lie on the way from one to another, in order."""
    way = flat[last] - flat[first]
    length = float(np.hypot(*way))
    offset = flat[points] - flat[first]
    along = offset @ way / length
    on = np.abs(offset[:, 0] * way[1] - offset[:, 1] * way[0]) <= near * length
    on &= (along > near) & (along < length - near)
    found: list[int] = points[on][np.argsort(along[on])].tolist()
    return found


def _shoelace(ring: Floats) -> float:
    """Return the area of a closed polygon of (N, 2) points, negative where it runs clockwise."""
    after = np.roll(ring, -1, axis=0)
    return 0.5 * float((ring[:, 0] * after[:, 1] - ring[:, 1] * after[:, 0]).sum())


def _keep(face: TopoDS_Face, nodes: list[gp_Pnt], triangle: Ints, borders: list[Border]) -> None:
    """Let a face and its edges have the triangles, as if the mesher had made them."""
    builder, back = BRep_Builder(), face.Location().Inverted().Transformation()
    found = Poly_Triangulation(len(nodes), len(triangle), False)
    for number, node in enumerate(nodes, start=1):
        found.SetNode(number, node.Transformed(back))
    for number, corners in enumerate((triangle + 1).tolist(), start=1):
        found.SetTriangle(number, Poly_Triangle(*corners))
    builder.UpdateFace(face, found)
    for each, numbers in _numbered(borders):
        line = Poly_PolygonOnTriangulation(len(numbers), True)
        for row, (number, place) in enumerate(zip(numbers, each.places, strict=True), start=1):
            line.SetNode(row, number)
            line.SetParameter(row, place)
        builder.UpdateEdge(each.edge, line, found, face.Location())


def _numbered(borders: list[Border]) -> Iterator[tuple[_Line, list[int]]]:
    """Yield each edge with the numbers of its points, counted from 1 along all rings, from its curve's beginning on."""
    first = 1
    for border in borders:
        length = sum(len(each.points) - 1 for each in border)
        begin = 0
        for each in border:
            numbers = [first + (begin + step) % length for step in range(len(each.points))]
            begin += len(each.points) - 1
            yield each, numbers[::-1] if each.backwards else numbers
        first += length
