"""What exactly the kernel's own check finds wrong with a solid, and where (BRepCheck)."""

from collections.abc import Iterator
from typing import Final

from OCP.BRep import BRep_Tool
from OCP.BRepCheck import BRepCheck_Analyzer, BRepCheck_Face, BRepCheck_Shell, BRepCheck_Status, BRepCheck_Wire
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopoDS import TopoDS, TopoDS_Edge, TopoDS_Face, TopoDS_Shape, TopoDS_Solid

from analyzers.kernel.explore import explored, mapped
from analyzers.model.part import Fault

_CODES: Final = {
    BRepCheck_Status.BRepCheck_SelfIntersectingWire: "crossing_outline",
    BRepCheck_Status.BRepCheck_IntersectingWires: "crossing_outlines",
    BRepCheck_Status.BRepCheck_InvalidImbricationOfWires: "crossing_outlines",
    BRepCheck_Status.BRepCheck_NotClosed: "open_outline",
    BRepCheck_Status.BRepCheck_NotConnected: "open_outline",
    BRepCheck_Status.BRepCheck_EmptyWire: "open_outline",
    BRepCheck_Status.BRepCheck_UnorientableShape: "turned_face",
    BRepCheck_Status.BRepCheck_BadOrientation: "turned_face",
    BRepCheck_Status.BRepCheck_BadOrientationOfSubshape: "turned_face",
    BRepCheck_Status.BRepCheck_RedundantFace: "duplicate_face",
    BRepCheck_Status.BRepCheck_InvalidMultiConnexity: "shared_edge",
}
"""Codes of model.health.KINDS by the kernel's words; all others are `invalid_geometry`."""


CHECK_LOOPS: Final = 500
CHECK_EDGES: Final = 500
"""BRepCheck is quadratic in the loops of one face (2,000: 63 s) and more than linear in its edges (500: 0.1 s, 2,000:
0.9 s)."""


def checkable(faces: list[TopoDS_Face]) -> bool:
    """Return whether BRepCheck comes to an end in a useful time on these faces."""
    most = ((TopAbs_ShapeEnum.TopAbs_WIRE, CHECK_LOOPS), (TopAbs_ShapeEnum.TopAbs_EDGE, CHECK_EDGES))
    return all(mapped(face, kind).Size() <= limit for face in faces for kind, limit in most)


def faults(check: BRepCheck_Analyzer, solid: TopoDS_Solid, faces: list[TopoDS_Face]) -> tuple[Fault, ...]:
    """Return each fault once for each face, with the face's number; None where it is the shell's."""
    found = dict.fromkeys(_of_shells(solid))
    for number, face in enumerate(faces):
        if not check.IsValid(face):
            codes = list(_of_face(check, face)) or ["invalid_geometry"]
            found.update(dict.fromkeys(Fault(code, number) for code in codes))
    return tuple(found)


def largest_gap_mm(shape: TopoDS_Shape) -> float:
    """Return the largest distance that the kernel bridges between edges, corners and the faces that meet there."""
    kinds = (TopAbs_ShapeEnum.TopAbs_EDGE, TopAbs_ShapeEnum.TopAbs_VERTEX)
    return max(float(BRep_Tool.MaxTolerance_s(shape, kind)) for kind in kinds)


def _of_shells(solid: TopoDS_Solid) -> Iterator[Fault]:
    for shell in explored(solid, TopAbs_ShapeEnum.TopAbs_SHELL):
        check = BRepCheck_Shell(TopoDS.Shell(shell))
        if check.Closed() != BRepCheck_Status.BRepCheck_NoError:
            yield Fault("open_shell", None)
        elif (code := _code(check.Orientation())) is not None:
            yield Fault(code, None)


def _of_face(check: BRepCheck_Analyzer, face: TopoDS_Face) -> Iterator[str]:
    """Yield the codes of what is wrong with one face, its outlines, edges and corners."""
    own = BRepCheck_Face(face)
    statuses = [own.IntersectWires(), own.ClassifyWires(), own.OrientationOfWires()]
    for each in explored(face, TopAbs_ShapeEnum.TopAbs_WIRE):
        wire = BRepCheck_Wire(TopoDS.Wire(each))
        statuses += [wire.Closed(), wire.Closed2d(face), wire.SelfIntersect(face, TopoDS_Edge(), TopoDS_Edge())]
    yield from (code for code in map(_code, statuses) if code is not None)
    if any(not check.IsValid(corner) for corner in explored(face, TopAbs_ShapeEnum.TopAbs_VERTEX)):
        yield "corner_off_edge"
    elif any(not check.IsValid(edge) for edge in explored(face, TopAbs_ShapeEnum.TopAbs_EDGE)):
        yield "edge_off_surface"


def _code(status: BRepCheck_Status) -> str | None:
    return None if status == BRepCheck_Status.BRepCheck_NoError else _CODES.get(status, "invalid_geometry")
