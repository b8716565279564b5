"""The parts of a shape of one kind, in OpenCascade's own order."""

from collections.abc import Iterator

from OCP.BOPTools import BOPTools_AlgoTools3D
from OCP.collections import IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher
from OCP.gp import gp_Pnt, gp_Pnt2d
from OCP.IntTools import IntTools_Context
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp, TopExp_Explorer
from OCP.TopoDS import TopoDS_Face, TopoDS_Shape


def explored(
    shape: TopoDS_Shape, kind: TopAbs_ShapeEnum, avoid: TopAbs_ShapeEnum | None = None
) -> Iterator[TopoDS_Shape]:
    """Yield the parts of that kind, but those within a part of the kind to `avoid`; shared ones as often as used."""
    explorer = TopExp_Explorer(shape, kind) if avoid is None else TopExp_Explorer(shape, kind, avoid)
    while explorer.More():
        yield explorer.Current()
        explorer.Next()


def mapped(shape: TopoDS_Shape, kind: TopAbs_ShapeEnum) -> IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher:
    """Return the distinct parts of that kind, counted from 1 in OpenCascade's order."""
    found = IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher()
    TopExp.MapShapes_s(shape, kind, found)
    return found


def distinct(shape: TopoDS_Shape, kind: TopAbs_ShapeEnum) -> list[TopoDS_Shape]:
    """Return the parts of that kind in OpenCascade's order, shared ones once."""
    found = mapped(shape, kind)
    return [found.FindKey(i) for i in range(1, found.Size() + 1)]


def point_inside(face: TopoDS_Face, context: IntTools_Context) -> gp_Pnt | None:
    """Return a point inside a face; None where it has none, or curves that make no sense."""
    point = gp_Pnt()
    try:
        found = BOPTools_AlgoTools3D.PointInFace_s(face, point, gp_Pnt2d(), context) == 0
    except MemoryError:  # the sandbox must be able to say so
        raise
    except Exception:  # noqa: BLE001 - OpenCascade's exception classes share no importable base
        return None
    return point if found else None
