"""Which faces of which solid a shape aspect of the file means (ISO 10303-47, geometric item-specific usages)."""

from collections.abc import Iterable, Iterator

from OCP.collections import IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher
from OCP.Standard import Standard_Transient
from OCP.StepAP242 import StepAP242_ItemIdentifiedRepresentationUsage
from OCP.STEPConstruct import STEPConstruct
from OCP.StepRepr import StepRepr_RepresentationItem, StepRepr_ShapeAspect, StepRepr_ShapeAspectRelationship
from OCP.StepShape import StepShape_DimensionalLocation
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Shape, TopoDS_Solid
from OCP.Transfer import Transfer_TransientProcess

from analyzers.kernel.arrays import faces_of
from analyzers.kernel.explore import explored


class SolidFaces:
    """Finds the face numbers of one solid for shapes that the reader made, wherever the solid was placed."""

    def __init__(self, solid: TopoDS_Solid) -> None:
        self._face_map = IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher()
        self._edge_map = IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher()
        self._faces: dict[int, set[int]] = {}
        self._beside: dict[int, set[int]] = {}
        for number, face in enumerate(faces_of(solid)):
            self._faces.setdefault(self._face_map.Add(_unplaced(face)), set()).add(number)
            for edge in explored(face, TopAbs_ShapeEnum.TopAbs_EDGE):
                self._beside.setdefault(self._edge_map.Add(_unplaced(edge)), set()).add(number)

    def numbers(self, shape: TopoDS_Shape) -> set[int]:
        """Return the faces in a shape; where it has none, the faces beside its edges. Empty: not of this solid."""
        found: set[int] = set()
        for face in explored(shape, TopAbs_ShapeEnum.TopAbs_FACE):
            found |= self._faces.get(self._face_map.FindIndex(_unplaced(face)), set())
        if not found:
            for edge in explored(shape, TopAbs_ShapeEnum.TopAbs_EDGE, TopAbs_ShapeEnum.TopAbs_FACE):
                found |= self._beside.get(self._edge_map.FindIndex(_unplaced(edge)), set())
        return found


class AspectShapes:
    """The shapes that the file's shape aspects stand for: their own, else those of the aspects they are made of.

    `entities` must stay alive as long as this: only then is an entity met twice the same object.
    """

    def __init__(self, process: Transfer_TransientProcess, entities: Iterable[Standard_Transient]) -> None:
        self._process = process
        self._parts: dict[Standard_Transient, list[StepRepr_ShapeAspect]] = {}
        self._items: dict[Standard_Transient, list[StepRepr_RepresentationItem]] = {}
        for each in entities:
            if isinstance(each, StepAP242_ItemIdentifiedRepresentationUsage):
                self._add_usage(each)
            elif isinstance(each, StepRepr_ShapeAspectRelationship) and not _is_dimension(each):
                whole, part = each.RelatingShapeAspect(), each.RelatedShapeAspect()
                if whole is not None and part is not None:
                    self._parts.setdefault(whole, []).append(part)

    def _add_usage(self, usage: StepAP242_ItemIdentifiedRepresentationUsage) -> None:
        aspect = usage.Definition().Value()
        if isinstance(aspect, StepRepr_ShapeAspect):
            items = [usage.IdentifiedItemValue(i) for i in range(1, usage.NbIdentifiedItem() + 1)]
            self._items.setdefault(aspect, []).extend(each for each in items if each is not None)

    def shapes(self, aspect: StepRepr_ShapeAspect | None) -> list[TopoDS_Shape]:
        """Return the transferred shapes of an aspect; none where it means only axes, points or planes."""
        return [] if aspect is None else list(self._shapes(aspect, set()))

    def shape_of(self, item: StepRepr_RepresentationItem) -> TopoDS_Shape | None:
        """Return what a face, edge or the like of the file became; None where it became nothing."""
        shape = STEPConstruct.FindShape_s(self._process, item)
        return None if shape is None or shape.IsNull() else shape

    def _shapes(self, aspect: StepRepr_ShapeAspect, seen: set[Standard_Transient]) -> Iterator[TopoDS_Shape]:
        if aspect in seen:  # aspects may be related in a ring
            return
        seen.add(aspect)
        own = [shape for item in self._items.get(aspect, []) if (shape := self.shape_of(item)) is not None]
        yield from own
        if not own:
            for part in self._parts.get(aspect, []):
                yield from self._shapes(part, seen)


def _is_dimension(relationship: StepRepr_ShapeAspectRelationship) -> bool:
    return isinstance(relationship, StepShape_DimensionalLocation)


def _unplaced(shape: TopoDS_Shape) -> TopoDS_Shape:
    return shape.Located(TopLoc_Location())
