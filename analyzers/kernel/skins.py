"""Bodies from a file that holds surfaces only: faces that meet are sewn together (BRepBuilderAPI_Sewing).

A skin that closes is a solid. One that stays open still shows its features; it is kept as an open body, whose volume
and whose inside nobody knows. The material is taken to lie where the faces of the file look away from, or, where a
skin that is nearly closed would then be inside out, on the other side.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from OCP.BRep import BRep_Builder, BRep_Tool
from OCP.BRepBuilderAPI import BRepBuilderAPI_Sewing
from OCP.BRepGProp import BRepGProp
from OCP.gp import gp_Pnt
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Shape, TopoDS_Shell, TopoDS_Solid

from analyzers.kernel.explore import explored
from analyzers.kernel.faults import largest_gap_mm
from analyzers.kernel.mesh import box_of
from analyzers.model.health import Repair
from analyzers.tolerance import SAME_PLACE_MM


@dataclass(frozen=True, slots=True)
class Skin:
    """One connected skin as a body; `closed`: it bounds a solid."""

    body: TopoDS_Solid
    shell: TopoDS_Shell  # of the body
    closed: bool
    area_mm2: float
    repairs: tuple[Repair, ...]  # what was done to the file's faces


def sewn(shape: TopoDS_Shape) -> list[Skin]:
    """Return the connected skins of all faces in a shape, in the order of the sewing; empty where it has no face."""
    sewing = BRepBuilderAPI_Sewing(SAME_PLACE_MM)
    faces = 0
    for face in explored(shape, TopAbs_ShapeEnum.TopAbs_FACE):
        sewing.Add(face)
        faces += 1
    if not faces:
        return []
    sewing.Perform()
    together = sewing.SewedShape()
    shells = [TopoDS.Shell(each) for each in explored(together, TopAbs_ShapeEnum.TopAbs_SHELL)]
    lone = explored(together, TopAbs_ShapeEnum.TopAbs_FACE, TopAbs_ShapeEnum.TopAbs_SHELL)
    return [_as_body(each) for each in [*shells, *(shell_of([TopoDS.Face(face)]) for face in lone)]]


def _as_body(shell: TopoDS_Shell) -> Skin:
    """Return a shell as a body that is not inside out."""
    turned = signed_volume_mm3(shell) < 0
    if turned:
        shell = TopoDS.Shell(shell.Reversed())
    props = GProp_GProps()
    BRepGProp.SurfaceProperties_s(shell, props, False, False)
    closed = bool(BRep_Tool.IsClosed_s(shell))
    what = "loose faces were joined to a solid" if closed else "loose faces were joined to an open body"
    joining = Repair(
        what=what + (" and turned outwards" if turned else ""),
        volume_after_mm3=signed_volume_mm3(shell) if closed else None,
        largest_deviation_mm=largest_gap_mm(shell),
    )
    return Skin(body_of(shell), shell, closed, float(props.Mass()), (joining,))


def body_of(shell: TopoDS_Shell) -> TopoDS_Solid:
    """Return a shell as a body."""
    builder, body = BRep_Builder(), TopoDS_Solid()
    builder.MakeSolid(body)
    builder.Add(body, shell)
    return body


def signed_volume_mm3(shape: TopoDS_Shape) -> float:
    """Return the sum of the cones from the middle of the box over the faces; < 0 where most look inwards."""
    middle = box_of(shape).mean(axis=0)
    props = GProp_GProps(gp_Pnt(*(float(v) for v in middle)))
    BRepGProp.VolumeProperties_s(shape, props, False, False, False)
    return float(props.Mass())


def shell_of(faces: Iterable[TopoDS_Face]) -> TopoDS_Shell:
    """Return some faces as one shell."""
    builder, shell = BRep_Builder(), TopoDS_Shell()
    builder.MakeShell(shell)
    for face in faces:
        builder.Add(shell, face)
    return shell
