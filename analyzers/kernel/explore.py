"""The parts of a shape of one kind, in OpenCascade's own order."""

from collections.abc import Iterator

from OCP.collections import IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp, TopExp_Explorer
from OCP.TopoDS import TopoDS_Shape


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
