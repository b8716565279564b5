"""The one triangulation of a solid that all stages share."""

import numpy as np
from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Tool
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools
from OCP.Poly import Poly_Triangulation
from OCP.TopAbs import TopAbs_Orientation
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Shape

from analyzers.errors import KernelFailure
from analyzers.model.arrays import Floats, Ints, frozen
from analyzers.model.part import Mesh
from analyzers.tolerance import LARGEST_MM, MESH_ANGLE_RAD, MESH_CHORD_MAX_MM, MESH_CHORD_MIN_MM, MESH_CHORD_RATIO

_OTHER_STEPS = ((0.5, 0.7), (0.2, 0.6), (2.0, 1.4))  # times chord and angle, finest useful first


def box_of(shape: TopoDS_Shape) -> Floats:
    """Return (2, 3) lowest and highest corner, from the exact geometry; KernelFailure where there is none."""
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, box, False, False)
    if box.IsVoid():
        raise KernelFailure("the solid has no extent: its geometry is empty")
    low, high = box.CornerMin(), box.CornerMax()
    corners = np.array([[low.X(), low.Y(), low.Z()], [high.X(), high.Y(), high.Z()]])
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
    BRepMesh_IncrementalMesh(shape, chord_mm, False, MESH_ANGLE_RAD, False)
    points: list[Floats] = []
    triangles: list[Ints] = []
    owners: list[Ints] = []
    base = 0
    beyond = np.linalg.norm(box[1] - box[0])
    for index, face in enumerate(faces):
        location = TopLoc_Location()
        own = BRep_Tool.Triangulation_s(face, location) or _second_try(face, chord_mm)
        if own is None:
            continue
        corner = np.array([(p.X(), p.Y(), p.Z()) for p in map(own.Node, range(1, own.NbNodes() + 1))])
        rows = np.array([t.Get() for t in map(own.Triangle, range(1, own.NbTriangles() + 1))], dtype=np.int64)
        if not location.IsIdentity():
            corner = _moved(corner, location)
        if not ((corner >= box[0] - beyond) & (corner <= box[1] + beyond)).all():
            continue
        if face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
            rows = rows[:, [0, 2, 1]]
        points.append(corner)
        triangles.append(rows - 1 + base)
        owners.append(np.full(len(rows), index, dtype=np.int64))
        base += len(corner)
    if not points:
        raise KernelFailure("no face of the solid could be triangulated")
    return Mesh(
        point_mm=frozen(np.concatenate(points)),
        triangle=frozen(np.concatenate(triangles)),
        triangle_face=frozen(np.concatenate(owners)),
        chord_mm=chord_mm,
    )


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
