"""Bodies that are not sound, made from a sound one whose numbers are known."""

from collections.abc import Sequence

from OCP.BRep import BRep_Builder
from OCP.BRepGProp import BRepGProp
from OCP.gp import gp_Trsf, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Shape, TopoDS_Shell, TopoDS_Solid

from fixtures.make.vocabulary.draw import faces
from fixtures.make.vocabulary.work import copy
from tests.features._bench import box, cut, joined, rod
from tests.kernel._solids import moved, solid_of

SIZE_MM = (40.0, 30.0, 10.0)
BLOCK = box((0, 0, 0), SIZE_MM)
PLATE = cut(BLOCK, rod((20, 15, -1), 8, 12))
"""A block with a hole of 8 mm through it."""


def shell_of(some: Sequence[TopoDS_Shape]) -> TopoDS_Shell:
    """Return faces as one shell, as they are."""
    shell, builder = TopoDS_Shell(), BRep_Builder()
    builder.MakeShell(shell)
    for face in some:
        builder.Add(shell, face)
    return shell


def solid_from(some: Sequence[TopoDS_Shape]) -> TopoDS_Solid:
    """Return faces as one solid, whether they bound one or not."""
    shell, builder, solid = shell_of(some), BRep_Builder(), TopoDS_Solid()
    shell.Closed(True)
    builder.MakeSolid(solid)
    builder.Add(solid, shell)
    return solid


def middle_z_mm(face: TopoDS_Shape) -> float:
    """Return the height of a face's middle."""
    props = GProp_GProps()
    BRepGProp.SurfaceProperties_s(face, props)
    return float(props.CentreOfMass().Z())


def gaping(shape: TopoDS_Shape, gap_mm: float) -> list[TopoDS_Face]:
    """Return the faces of a shape, sharing nothing any more, the top lifted off by a gap."""
    lift = gp_Trsf()
    lift.SetTranslation(gp_Vec(0.0, 0.0, gap_mm))
    apart = [copy(each) for each in faces(shape)]
    return [TopoDS.Face(moved(each, lift) if middle_z_mm(each) > SIZE_MM[2] - 1e-6 else each) for each in apart]


def turned(shape: TopoDS_Shape, *numbers: int) -> TopoDS_Solid:
    """Return a solid some of whose faces look to the other side."""
    return solid_from([each.Reversed() if k in numbers else each for k, each in enumerate(faces(copy(shape)))])


def inside_out(shape: TopoDS_Shape) -> TopoDS_Solid:
    """Return a solid all of whose faces look into the material."""
    return turned(shape, *range(len(faces(shape))))


def with_slivers(width_mm: float) -> TopoDS_Solid:
    """Return the block, its four long sides with a strip of that width at one end."""
    edge = SIZE_MM[0] - width_mm
    return solid_of(joined(box((0, 0, 0), (edge, *SIZE_MM[1:])), box((edge, 0, 0), SIZE_MM)))
