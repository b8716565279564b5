"""The parts of a shape of one kind, in OpenCascade's own order."""

from collections.abc import Iterator

from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS_Shape


def explored(
    shape: TopoDS_Shape, kind: TopAbs_ShapeEnum, avoid: TopAbs_ShapeEnum | None = None
) -> Iterator[TopoDS_Shape]:
    """Yield the parts of that kind, but those within a part of the kind to `avoid`; shared ones as often as used."""
    explorer = TopExp_Explorer(shape, kind) if avoid is None else TopExp_Explorer(shape, kind, avoid)
    while explorer.More():
        yield explorer.Current()
        explorer.Next()
