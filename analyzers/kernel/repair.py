"""Repair of a body that is not sound, by OpenCascade's own means, only where the settings ask for it.

Edges and faces are fixed (ShapeFix), strips and edges too small to be meant are taken out (ShapeUpgrade, ShapeFix),
faces that should meet are sewn (BRepBuilderAPI_Sewing), each with the smallest of REPAIR_GAPS_MM that suffices. What
comes out counts only as a valid, closed solid that is better than what was there and hardly differs from it.
"""

import logging
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np
from OCP.BRep import BRep_Tool
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy, BRepBuilderAPI_MakeVertex, BRepBuilderAPI_Sewing
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp
from OCP.gp import gp_Pnt
from OCP.GProp import GProp_GProps
from OCP.ShapeFix import ShapeFix_FixSmallFace, ShapeFix_Shape, ShapeFix_Shell, ShapeFix_Solid, ShapeFix_Wireframe
from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopoDS import TopoDS, TopoDS_Edge, TopoDS_Face, TopoDS_Shape, TopoDS_Solid

from analyzers.errors import KernelFailure
from analyzers.kernel.arrays import faces_of
from analyzers.kernel.explore import distinct, explored
from analyzers.kernel.faults import checkable, largest_gap_mm
from analyzers.kernel.mesh import box_of, chord_for, triangulate
from analyzers.kernel.skins import shell_of, signed_volume_mm3
from analyzers.model.arrays import Floats
from analyzers.model.health import Repair
from analyzers.model.part import Mesh
from analyzers.tolerance import GAP_MM, REPAIR_GAPS_MM, REPAIR_SAMPLES, REPAIR_SHARE, SAME_PLACE_MM, SLIVER_MM

log = logging.getLogger(__name__)

_VALID: Final = "does not pass the kernel's check"
_CLOSED: Final = "is not closed"
_OUTWARDS: Final = "is inside out"
_VOLUME: Final = ("volume_mm3", "centroid_mm")
_THICKNESS: Final = ("min_wall_mm", "min_floor_mm", "min_web_mm", "min_gap_mm", "walls")
_SMALL: Final = ("sharp_internal_corners", "external_sharp_edge_length_mm")


@dataclass(frozen=True)
class Look:
    """One body with what is wrong with it."""

    solid: TopoDS_Solid

    @cached_property
    def faces(self) -> list[TopoDS_Face]:
        """All faces in the kernel's order."""
        return faces_of(self.solid)

    @cached_property
    def edges(self) -> list[TopoDS_Edge]:
        """All edges with a length of their own."""
        found = map(TopoDS.Edge, distinct(self.solid, TopAbs_ShapeEnum.TopAbs_EDGE))
        return [each for each in found if not BRep_Tool.Degenerated_s(each)]

    @cached_property
    def closed(self) -> bool:
        """Whether every shell is closed."""
        shells = list(explored(self.solid, TopAbs_ShapeEnum.TopAbs_SHELL))
        return bool(shells) and all(BRep_Tool.IsClosed_s(each) for each in shells)

    @cached_property
    def volume_mm3(self) -> float | None:
        """Negative where it is inside out; None where the faces bound nothing, or do not agree on a side."""
        return signed_volume_mm3(self.solid) if self.closed and _VALID not in self.troubles else None

    @cached_property
    def area_mm2(self) -> float:
        """Of all faces."""
        return sum(map(_area_mm2, self.faces))

    @cached_property
    def troubles(self) -> list[str]:
        """What keeps it from being a valid closed solid, in words."""
        found = [] if not checkable(self.faces) or BRepCheck_Analyzer(self.solid).IsValid() else [_VALID]
        if not self.closed:
            found.append(_CLOSED)
        elif signed_volume_mm3(self.solid) <= 0.0:
            found.append(_OUTWARDS)
        return found

    @cached_property
    def narrow(self) -> list[TopoDS_Face]:
        """Faces whose width, twice the area over the outline, is below SLIVER_MM."""
        return [each for each in self.faces if 2.0 * _area_mm2(each) < SLIVER_MM * sum(map(_length_mm, _edges(each)))]

    @cached_property
    def tiny(self) -> int:
        """How many edges are shorter than SLIVER_MM."""
        return sum(_length_mm(each) < SLIVER_MM for each in self.edges)

    @cached_property
    def badness(self) -> tuple[int, int, bool]:
        """The smaller the better; all nothing: sound."""
        return len(self.troubles), len(self.narrow) + self.tiny, largest_gap_mm(self.solid) > GAP_MM

    @cached_property
    def mesh(self) -> Mesh:
        """A triangulation of a copy, so that the body itself stays as it is."""
        copy = TopoDS.Solid(BRepBuilderAPI_Copy(self.solid).Shape())
        box = box_of(copy)
        return triangulate(copy, faces_of(copy), chord_for(float(np.linalg.norm(box[1] - box[0]))), box)


def repaired(solid: TopoDS_Solid) -> tuple[TopoDS_Solid, Repair | None]:
    """Return the repaired body, or the body itself, and what was done or refused; None = it is sound.

    Raises
    ------
    Exception : OpenCascade raised while it looked at the body
    """
    before = Look(solid)
    if before.badness == (0, 0, False):
        return solid, None
    refusals = []
    for gap_mm in REPAIR_GAPS_MM:
        try:
            after = Look(_mended(before, gap_mm))
            repair = _weighed(before, after, gap_mm)
        except KernelFailure as error:
            repair = Repair(what=NOT_REPAIRED, asked=True, refused=str(error), tolerance_mm=gap_mm)
        except Exception as error:  # OpenCascade's exception classes share no importable base
            log.exception("a repair with %g mm failed", gap_mm)
            repair = Repair(
                what=NOT_REPAIRED, asked=True, refused=f"OpenCascade gave up on it: {error}", tolerance_mm=gap_mm
            )
        if repair.made:
            return after.solid, repair
        refusals.append(repair)
    return solid, refusals[-1]


NOT_REPAIRED: Final = "a repair was tried, and what was sent is measured as it is"


def _weighed(before: Look, after: Look, gap_mm: float) -> Repair:
    """Return what a repair changed, refused where it may not count."""
    largest_mm, measured = _deviation(before, after)
    repair = Repair(
        what="; ".join(_done(before, after)),
        asked=True,
        volume_before_mm3=before.volume_mm3,
        volume_after_mm3=after.volume_mm3,
        area_before_mm2=before.area_mm2,
        area_after_mm2=after.area_mm2,
        faces_before=len(before.faces),
        faces_after=len(after.faces),
        edges_before=len(before.edges),
        edges_after=len(after.edges),
        tolerance_mm=gap_mm,
        largest_deviation_mm=largest_mm,
        deviation_measured=measured,
        doubted=_doubted(before, largest_mm),
    )
    refusal = _refusal(before, after)
    return repair if refusal is None else replace(repair, what=NOT_REPAIRED, refused=refusal, doubted=())


def _refusal(before: Look, after: Look) -> str | None:
    if after.troubles:
        return f"what came out {after.troubles[-1]}"
    if after.badness >= before.badness:
        return "what came out is no better"
    if before.volume_mm3 is not None and _share(before.volume_mm3, after.volume_mm3 or 0.0) > REPAIR_SHARE:
        return f"it would change the volume by more than {REPAIR_SHARE:.0%}"
    if _share(before.area_mm2, after.area_mm2) > REPAIR_SHARE:
        return f"it would change the area by more than {REPAIR_SHARE:.0%}"
    return None


def _share(before: float, after: float) -> float:
    """Return by which share a size changed; a solid that was inside out has changed its sign alone."""
    return abs(abs(after) - abs(before)) / max(abs(before), SAME_PLACE_MM)


def _done(before: Look, after: Look) -> Iterator[str]:
    """Yield in words what a repair has come to."""
    if _OUTWARDS in before.troubles:
        yield "the solid was turned outwards"
    if _CLOSED in before.troubles:
        yield "faces were sewn to a closed solid"
    elif _VALID in before.troubles:
        yield "what did not pass the kernel's check was fixed"
    if before.narrow:
        yield f"{len(before.narrow) - len(after.narrow)} of {len(before.narrow)} sliver faces were taken out"
    if before.tiny:
        yield f"{before.tiny - after.tiny} of {before.tiny} tiny edges were taken out"
    if not before.troubles and not before.narrow and not before.tiny:
        yield "gaps were closed"


def _doubted(before: Look, largest_mm: float) -> tuple[str, ...]:
    names: tuple[str, ...] = ()
    if before.volume_mm3 is None:
        names += _VOLUME
    if largest_mm > SAME_PLACE_MM:
        names += _THICKNESS
    if before.narrow or before.tiny:
        names += _SMALL
    return names


# --- the repair itself ----------------------------------------------------------------------------------------------


def _mended(before: Look, gap_mm: float) -> TopoDS_Solid:
    """Return a repaired copy.

    Raises
    ------
    KernelFailure : the faces make more than one shell, or none
    """
    shape = BRepBuilderAPI_Copy(before.solid).Shape()
    fix = ShapeFix_Shape(shape)
    fix.SetPrecision(SAME_PLACE_MM)
    fix.SetMaxTolerance(gap_mm)
    fix.Perform()
    shape = fix.Shape()
    if not before.closed:
        shape = _sewn(shape, gap_mm)
    if before.narrow:
        shape = _without_slivers(shape)
    if before.tiny:
        shape = _without_tiny_edges(shape)
    solid = _one_solid(shape)
    last = ShapeFix_Solid(solid)
    last.Perform()
    solid = _one_solid(last.Solid())
    return TopoDS.Solid(solid.Reversed()) if Look(solid).closed and signed_volume_mm3(solid) < 0.0 else solid


def _sewn(shape: TopoDS_Shape, gap_mm: float) -> TopoDS_Shape:
    sewing = BRepBuilderAPI_Sewing(gap_mm)
    for face in faces_of(shape):
        sewing.Add(face)
    sewing.Perform()
    shells = list(explored(sewing.SewedShape(), TopAbs_ShapeEnum.TopAbs_SHELL))
    if len(shells) != 1:
        raise KernelFailure(f"the faces make {len(shells)} shells, expected one")
    turning = ShapeFix_Shell()
    turning.FixFaceOrientation(TopoDS.Shell(shells[0]))
    return turning.Shell()


def _without_slivers(shape: TopoDS_Shape) -> TopoDS_Shape:
    """Return the shape without its sliver faces: first those that only cut off a strip of a face in the same surface.

    All other borders between faces of one surface stay.
    """
    look = Look(shape)
    between = {hash(edge) for face in look.narrow for edge in _edges(face)}
    merging = ShapeUpgrade_UnifySameDomain(shape, False, True, False)
    for edge in look.edges:
        if hash(edge) not in between:
            merging.KeepShape(edge)
    merging.Build()
    shape = merging.Shape()
    if not Look(shape).narrow:
        return shape
    small = ShapeFix_FixSmallFace()
    small.Init(shape)
    small.SetPrecision(SLIVER_MM)
    small.Perform()
    return small.FixShape()


def _without_tiny_edges(shape: TopoDS_Shape) -> TopoDS_Shape:
    wires = ShapeFix_Wireframe(shape)
    wires.SetPrecision(SLIVER_MM)
    wires.SetMaxTolerance(SLIVER_MM)
    wires.ModeDropSmallEdges = True
    wires.FixSmallEdges()
    return wires.Shape()


def _one_solid(shape: TopoDS_Shape) -> TopoDS_Solid:
    """Return the one solid of a shape, or the one that its shell bounds."""
    solids = list(explored(shape, TopAbs_ShapeEnum.TopAbs_SOLID))
    if len(solids) == 1:
        return TopoDS.Solid(solids[0])
    shells = list(explored(shape, TopAbs_ShapeEnum.TopAbs_SHELL))
    if solids or len(shells) != 1:
        raise KernelFailure(f"what came out has {len(solids)} solids and {len(shells)} shells, expected one")
    return ShapeFix_Solid().SolidFromShell(TopoDS.Shell(shells[0]))


# --- how far it moved -----------------------------------------------------------------------------------------------


def _deviation(before: Look, after: Look) -> tuple[float, str]:
    """Return the largest distance between two bodies' surfaces, mm, and how it was measured."""
    sides = [(_nodes(before.mesh), after), (_nodes(after.mesh), before)]
    largest = max(_farthest_mm(points, other) for points, other in sides)
    counts = [len(points) for points, _ in sides]
    spacing = (max(before.area_mm2, after.area_mm2) / max(min(counts), 1)) ** 0.5
    text = (
        f"{counts[0]} mesh nodes of the model as sent from the exact surfaces of the repaired one, and {counts[1]} of "
        f"the repaired one from those as sent: one node for each {spacing:.2g} mm in both directions on average"
    )
    return largest, text


def _nodes(mesh: Mesh) -> Floats:
    """Return (N, 3) nodes of a mesh, evenly taken, some of every face."""
    _, first = np.unique(mesh.triangle_face, return_index=True)
    of_faces = mesh.triangle[first].ravel()
    step = max(1, len(mesh.point_mm) // REPAIR_SAMPLES)
    return mesh.point_mm[np.union1d(of_faces, np.arange(0, len(mesh.point_mm), step))]


def _farthest_mm(points: Floats, other: Look) -> float:
    """Return the largest distance of some points from the faces of a body."""
    search = BRepExtrema_DistShapeShape()
    search.LoadS2(shell_of(other.faces))  # its skin: points inside a solid would be no distance away
    far = 0.0
    for x, y, z in points.tolist():
        search.LoadS1(BRepBuilderAPI_MakeVertex(gp_Pnt(x, y, z)).Vertex())
        if not search.Perform():
            raise KernelFailure("the distance between the model and the repaired one could not be measured")
        far = max(far, float(search.Value()))
    return far


def _edges(face: TopoDS_Face) -> Sequence[TopoDS_Edge]:
    return [TopoDS.Edge(each) for each in explored(face, TopAbs_ShapeEnum.TopAbs_EDGE)]


def _area_mm2(face: TopoDS_Face) -> float:
    props = GProp_GProps()
    BRepGProp.SurfaceProperties_s(face, props, False, False)
    return float(props.Mass())


def _length_mm(edge: TopoDS_Edge) -> float:
    props = GProp_GProps()
    BRepGProp.LinearProperties_s(edge, props)
    return float(props.Mass())
