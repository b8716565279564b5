"""The one triangulation of a solid that all stages share."""

from itertools import compress

import numpy as np
from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Builder, BRep_Tool
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools
from OCP.Poly import Poly_Triangulation
from OCP.TopAbs import TopAbs_Orientation
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Compound, TopoDS_Face, TopoDS_Shape

from analyzers.errors import KernelFailure
from analyzers.kernel.crowded import cut_into_triangles, is_crowded
from analyzers.model.arrays import Floats, Ints, Vec, frozen
from analyzers.model.part import Mesh
from analyzers.tolerance import (
    LARGEST_MM,
    MESH_ANGLE_RAD,
    MESH_CHORD_MAX_MM,
    MESH_CHORD_MIN_MM,
    MESH_CHORD_RATIO,
    SAME_PLACE_MM,
)

_OTHER_STEPS = ((0.5, 0.7), (0.2, 0.6), (2.0, 1.4))  # times chord and angle, finest useful first


def box_of(shape: TopoDS_Shape) -> Floats:
    """Return (2, 3) lowest and highest corner, from the exact geometry; KernelFailure where there is none."""
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, box, False, False)
    return _corners(box)


def box_around(faces: list[TopoDS_Face], known_mm: Floats) -> Floats:
    """Return the same for a body's faces, of which (N, 3) points are known.

    The exact box of a face costs much, one that is a little too large next to nothing. A face whose large box lies
    within that of the points is not looked at; where what was looked at then falls short of the points, all are.
    """
    if not len(known_mm):
        return _corners(_exact_box(faces))
    low, high = known_mm.min(axis=0) + SAME_PLACE_MM, known_mm.max(axis=0) - SAME_PLACE_MM
    box = _exact_box([each for each in faces if not _lies_within(each, low, high)])
    if box.IsVoid() or not _reaches(box, low, high):
        box = _exact_box(faces)
    return _corners(box)


def _exact_box(faces: list[TopoDS_Face]) -> Bnd_Box:
    box = Bnd_Box()
    for face in faces:
        BRepBndLib.AddOptimal_s(face, box, False, False)
    return box


def _lies_within(face: TopoDS_Face, low: Floats, high: Floats) -> bool:
    """Return whether a face is sure to lie wholly between two corners."""
    large = Bnd_Box()
    BRepBndLib.Add_s(face, large, False)
    if large.IsVoid():
        return False
    first, last = large.CornerMin().Coord(), large.CornerMax().Coord()
    return all(a < b for a, b in zip(low.tolist(), first, strict=True)) and all(
        a < b for a, b in zip(last, high.tolist(), strict=True)
    )


def _reaches(box: Bnd_Box, low: Floats, high: Floats) -> bool:
    """Return whether a box reaches as far as two corners on every side."""
    first, last = box.CornerMin().Coord(), box.CornerMax().Coord()
    return all(a <= b for a, b in zip(first, low.tolist(), strict=True)) and all(
        a <= b for a, b in zip(high.tolist(), last, strict=True)
    )


def _corners(box: Bnd_Box) -> Floats:
    """Return (2, 3) lowest and highest corner of a box; KernelFailure where it has none of use."""
    if box.IsVoid():
        raise KernelFailure("the solid has no extent: its geometry is empty")
    low, high = box.CornerMin(), box.CornerMax()
    corners = np.array([low.Coord(), high.Coord()])
    if not np.isfinite(corners).all() or np.abs(corners).max() > LARGEST_MM:
        raise KernelFailure("the solid's coordinates are not finite numbers of a usable size")
    return corners


def chord_for(diagonal_mm: float) -> float:
    """Return the chord error that suits a part of that diagonal."""
    return float(np.clip(diagonal_mm * MESH_CHORD_RATIO, MESH_CHORD_MIN_MM, MESH_CHORD_MAX_MM))


def triangulate(shape: TopoDS_Shape, faces: list[TopoDS_Face], chord_mm: float, box: Floats) -> Mesh:
    """Triangulate the solid and return its triangles, in face order, turned so that they face outwards.

    A face whose triangles run far out of the solid's box, (2, 3) lowest and highest corner, counts as not triangulated.

    Raises
    ------
    KernelFailure : no face could be triangulated
    """
    _mesh(shape, faces, chord_mm)
    nodes: list[Vec] = []
    rows: list[tuple[int, int, int]] = []
    count = np.zeros((len(faces), 2), dtype=np.int64)  # of nodes and of triangles
    for index, face in enumerate(faces):
        location = TopLoc_Location()
        own = BRep_Tool.Triangulation_s(face, location) or _second_try(face, chord_mm)
        if own is None:
            continue
        count[index] = own.NbNodes(), own.NbTriangles()
        corner = [own.Node(i).Coord() for i in range(1, own.NbNodes() + 1)]
        nodes += corner if location.IsIdentity() else _moved(np.array(corner), location).tolist()
        rows += [own.Triangle(i).Get() for i in range(1, own.NbTriangles() + 1)]
    if not nodes:
        raise KernelFailure("no face of the solid could be triangulated")
    point, owner = np.array(nodes), np.repeat(np.arange(len(faces)), count[:, 1])
    triangle = np.array(rows, dtype=np.int64) - 1 + (np.cumsum(count[:, 0]) - count[:, 0])[owner, None]
    turned = np.array([each.Orientation() == TopAbs_Orientation.TopAbs_REVERSED for each in faces])[owner]
    triangle[turned] = triangle[turned][:, [0, 2, 1]]
    beyond = np.linalg.norm(box[1] - box[0])
    near = ((point >= box[0] - beyond) & (point <= box[1] + beyond)).all(axis=1)
    if not near.all():
        point, triangle, owner = _without_faces(
            point, triangle, owner, np.repeat(np.arange(len(faces)), count[:, 0])[~near]
        )
    return Mesh(point_mm=frozen(point), triangle=frozen(triangle), triangle_face=frozen(owner), chord_mm=chord_mm)


def _mesh(shape: TopoDS_Shape, faces: list[TopoDS_Face], chord_mm: float) -> None:
    """Let every face have triangles: crowded planes ours, on the borders of OpenCascade's."""
    crowded = [is_crowded(each) for each in faces]
    if any(crowded):
        others, builder = TopoDS_Compound(), BRep_Builder()
        builder.MakeCompound(others)
        for each, alone in zip(faces, crowded, strict=True):
            if not alone:
                builder.Add(others, each)
        BRepMesh_IncrementalMesh(others, chord_mm, False, MESH_ANGLE_RAD, False)
        if cut_into_triangles(shape, list(compress(faces, crowded))):
            return
    BRepMesh_IncrementalMesh(shape, chord_mm, False, MESH_ANGLE_RAD, False)


def _without_faces(point: Floats, triangle: Ints, owner: Ints, lost: Ints) -> tuple[Floats, Ints, Ints]:
    """Return points, triangles and their faces without some faces, and without the points that only these use.

    Raises
    ------
    KernelFailure : nothing is left
    """
    kept = ~np.isin(owner, lost)
    if not kept.any():
        raise KernelFailure("no face of the solid could be triangulated")
    used, triangle = np.unique(triangle[kept], return_inverse=True)
    return point[used], triangle.reshape(-1, 3).astype(np.int64), owner[kept]


def _second_try(face: TopoDS_Face, chord_mm: float) -> Poly_Triangulation | None:
    """Return a triangulation of a face that failed, with other step sizes on a copy; None where all fail.

    The mesher gives up on some valid faces at one step size and not at the next. The copy's border no longer shares
    its neighbours' points, which costs a gap below the chord.
    """
    for step, angle in _OTHER_STEPS:
        copy = TopoDS.Face(BRepBuilderAPI_Copy(face).Shape())
        BRepTools.Clean_s(copy)
        BRepMesh_IncrementalMesh(copy, chord_mm * step, False, MESH_ANGLE_RAD * angle, False)
        found = BRep_Tool.Triangulation_s(copy, TopLoc_Location())
        if found is not None:
            return found
    return None


def _moved(point_mm: Floats, location: TopLoc_Location) -> Floats:
    """Return (N, 3) points under the location's transformation."""
    place = location.Transformation()
    matrix = np.array([[place.Value(row, column) for column in (1, 2, 3, 4)] for row in (1, 2, 3)])
    moved: Floats = point_mm @ matrix[:, :3].T + matrix[:, 3]
    return moved
