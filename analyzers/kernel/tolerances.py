"""Reads the semantic annotations of a file: dimensions, geometric tolerances, datums, threads, each with its faces.

The forms are those of ISO 10303-242 as the CAx recommended practices for product and manufacturing information use
them (from memory). The XDE reader's own conversion is not used: see `pmi_values`; so loading costs nothing more.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any, Final, get_args

from OCP.Standard import Standard_Transient
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.StepDimTol import (
    StepDimTol_Datum,
    StepDimTol_DatumFeature,
    StepDimTol_DatumReference,
    StepDimTol_DatumSystem,
    StepDimTol_GeometricTolerance,
    StepDimTol_ToleranceZone,
)
from OCP.StepRepr import StepRepr_DescriptiveRepresentationItem, StepRepr_ShapeAspect, StepRepr_ShapeAspectRelationship
from OCP.StepShape import (
    StepShape_AdvancedFace,
    StepShape_AngularLocation,
    StepShape_AngularSize,
    StepShape_DimensionalCharacteristicRepresentation,
    StepShape_DimensionalLocation,
    StepShape_DimensionalSize,
    StepShape_PlusMinusTolerance,
)
from OCP.TopoDS import TopoDS_Shape, TopoDS_Solid

from analyzers.data.thread_names import NamedThread, find_thread
from analyzers.kernel.pmi_faces import AspectShapes, SolidFaces
from analyzers.kernel.pmi_values import Values, quantity, read_values
from analyzers.model.tolerance_note import GeometricKind, NoteKind, ToleranceNote

_SIZE_KINDS: Final[dict[str, NoteKind]] = {
    "diameter": "diameter",
    "radius": "radius",
    "spherical diameter": "spherical_diameter",
    "spherical radius": "spherical_radius",
    "thickness": "thickness",
    "curve length": "curve_length",
    "curved distance": "curve_length",
}
"""Names of dimensional sizes; any other one is a length."""

_GEOMETRIC: Final[dict[str, GeometricKind]] = {
    **{each.replace("_", ""): each for each in get_args(GeometricKind)},
    "concentricity": "coaxiality",
}
_MODIFIERS: Final = {"MaximumMaterialRequirement": "Ⓜ", "LeastMaterialRequirement": "Ⓛ", "FreeState": "Ⓕ"}
_ROUND_ZONES: Final = ("cylindrical or circular", "within a circle", "within a cylinder", "circular", "cylindrical")
_NO_VALUE: Final = "the file gives this dimension no value"


def read_tolerances(
    reader: STEPCAFControl_Reader, solids: Sequence[TopoDS_Solid]
) -> tuple[tuple[ToleranceNote, ...], ...]:
    """Return the notes of each solid, in the order of the file, numbered T1, T2, ... within the solid.

    A note that names no face belongs to the solid only where there is one; one whose faces lie on several is given to
    each of them.
    """
    notes = list(_Annotations(reader).all())
    return tuple(_of_solid(notes, SolidFaces(each), alone=len(solids) == 1) for each in solids)


def _of_solid(
    notes: list[tuple[ToleranceNote, list[TopoDS_Shape]]], faces: SolidFaces, alone: bool
) -> tuple[ToleranceNote, ...]:
    found: list[ToleranceNote] = []
    for note, shapes in notes:
        numbers = sorted({number for shape in shapes for number in faces.numbers(shape)})
        if numbers or alone:
            found.append(replace(note, id=f"T{len(found) + 1}", faces=tuple(numbers)))
    return tuple(found)


class _Annotations:
    """The annotations of one transferred file."""

    def __init__(self, reader: STEPCAFControl_Reader) -> None:
        basic = reader.ChangeReader()
        model = basic.StepModel()
        self.entities: list[Any] = [model.Value(i) for i in range(1, model.NbEntities() + 1)]
        process = basic.WS().TransferReader().TransientProcess()
        self.aspects = AspectShapes(process, self.entities)

    def all(self) -> Iterator[tuple[ToleranceNote, list[TopoDS_Shape]]]:
        """Yield each note with the shapes it points at."""
        yield from self._dimensions()
        yield from self._geometric()
        yield from self._datums()
        yield from self._threads()

    def _of_type(self, *kinds: type[Any]) -> list[Any]:
        return [each for each in self.entities if isinstance(each, kinds)]

    # --- dimensions

    def _dimensions(self) -> Iterator[tuple[ToleranceNote, list[TopoDS_Shape]]]:
        said: dict[Standard_Transient, list[Any]] = {}
        for each in self._of_type(StepShape_DimensionalCharacteristicRepresentation):
            said.setdefault(each.Dimension().Value(), []).append(each.Representation())
        tolerances: dict[Standard_Transient, list[Any]] = {}
        for each in self._of_type(StepShape_PlusMinusTolerance):
            tolerances.setdefault(each.TolerancedDimension().Value(), []).append(each)
        for dimension in self._of_type(StepShape_DimensionalSize, StepShape_DimensionalLocation):
            shapes = [shape for aspect in _ends(dimension) for shape in self.aspects.shapes(aspect)]
            values = read_values(said.get(dimension, []), tolerances.get(dimension, []))
            yield _dimension(_size_kind(dimension), _text(dimension.Name()), values), shapes

    # --- geometric tolerances

    def _geometric(self) -> Iterator[tuple[ToleranceNote, list[TopoDS_Shape]]]:
        round_ones: set[Standard_Transient] = set()
        for zone in self._of_type(StepDimTol_ToleranceZone):
            if _text(zone.Form().Name()).lower() in _ROUND_ZONES:
                tolerances = range(1, zone.NbDefiningTolerances() + 1)
                round_ones |= {zone.DefiningToleranceValue(i).Value() for i in tolerances}
        for tolerance in self._of_type(StepDimTol_GeometricTolerance):
            kind = _geometric_kind(tolerance)
            if kind is None:
                continue
            zone = quantity(tolerance.Magnitude())
            in_mm = zone is not None and zone.unit == "mm"
            note = ToleranceNote(
                kind=kind,
                zone_mm=zone.value if zone is not None and in_mm else None,
                round_zone=tolerance in round_ones,
                datums=tuple(_datum_letters(tolerance)),
                modifiers=tuple(_modifiers(tolerance)),
                written=_text(tolerance.Name()),
                why_none=None if in_mm else "the file gives this tolerance no width",
            )
            target = tolerance.TolerancedShapeAspect().Value()
            aspects = _ends(target) if not isinstance(target, StepRepr_ShapeAspect) else [target]
            yield note, [shape for aspect in aspects for shape in self.aspects.shapes(aspect)]

    # --- datums and threads

    def _datums(self) -> Iterator[tuple[ToleranceNote, list[TopoDS_Shape]]]:
        """Yield the datum features: the faces that a datum is taken from, with its letter."""
        letters = {
            each.RelatingShapeAspect(): _text(each.RelatedShapeAspect().Identification())
            for each in self._of_type(StepRepr_ShapeAspectRelationship)
            if isinstance(each.RelatedShapeAspect(), StepDimTol_Datum)
        }
        for feature in self._of_type(StepDimTol_DatumFeature):
            letter = letters.get(feature)
            note = ToleranceNote(kind="datum", datums=(letter,) if letter else (), written=_text(feature.Name()))
            yield note, self.aspects.shapes(feature)

    def _threads(self) -> Iterator[tuple[ToleranceNote, list[TopoDS_Shape]]]:
        """Yield each thread that names and notes speak of, once, with all faces that are said to carry it."""
        found: dict[NamedThread, tuple[str, list[TopoDS_Shape]]] = {}
        for text, shapes in self._named_shapes():
            thread = find_thread(text)
            if thread is not None and shapes:
                found.setdefault(thread, (text, []))[1].extend(shapes)
        for thread, (text, shapes) in found.items():
            note = ToleranceNote(
                kind="thread",
                nominal_mm=thread.major_mm,
                pitch_mm=thread.pitch_mm,
                thread=thread.designation,
                written=text,
            )
            yield note, shapes

    def _named_shapes(self) -> Iterator[tuple[str, list[TopoDS_Shape]]]:
        """Yield every text that stands at faces: names of faces and of shape aspects, notes of dimensions."""
        for face in self._of_type(StepShape_AdvancedFace):
            if name := _text(face.Name()):
                shape = self.aspects.shape_of(face)
                yield name, [] if shape is None else [shape]
        for aspect in self._of_type(StepRepr_ShapeAspect):
            text = " ".join(each for each in (_text(aspect.Name()), _text(aspect.Description())) if each)
            if find_thread(text):
                yield text, self.aspects.shapes(aspect)
        for each in self._of_type(StepShape_DimensionalCharacteristicRepresentation):
            representation = each.Representation()
            items = (representation.ItemsValue(i) for i in range(1, representation.NbItems() + 1))
            for item in items:
                if isinstance(item, StepRepr_DescriptiveRepresentationItem):
                    ends = _ends(each.Dimension().Value())
                    yield _text(item.Description()), [s for aspect in ends for s in self.aspects.shapes(aspect)]


def _ends(dimension: Any) -> list[StepRepr_ShapeAspect]:
    """Return the aspects that a dimension measures: one of a size, two of a location; none of other entities."""
    if isinstance(dimension, StepShape_DimensionalSize):
        aspects = [dimension.AppliesTo()]
    elif isinstance(dimension, StepShape_DimensionalLocation):
        aspects = [dimension.RelatingShapeAspect(), dimension.RelatedShapeAspect()]
    else:
        aspects = []
    return [each for each in aspects if each is not None]


def _size_kind(dimension: Any) -> NoteKind:
    if isinstance(dimension, StepShape_AngularSize | StepShape_AngularLocation):
        return "angle"
    return _SIZE_KINDS.get(_text(dimension.Name()).lower(), "length")


def _dimension(kind: NoteKind, written: str, values: Values) -> ToleranceNote:
    """Return a dimension; a value in degrees makes an angle of it, whatever it is called."""
    use = next((text for text in values.texts if text in ("theoretical", "auxiliary")), "toleranced")
    shared: dict[str, Any] = {"fit": values.fit, "use": use, "written": written}
    if values.unit == "deg":
        return ToleranceNote(
            kind="angle", nominal_deg=values.nominal, upper_deg=values.upper, lower_deg=values.lower, **shared
        )
    return ToleranceNote(
        kind=kind,
        nominal_mm=values.nominal,
        upper_mm=values.upper,
        lower_mm=values.lower,
        zone_mm=values.zone,
        why_none=_NO_VALUE if values.nominal is None and values.zone is None else None,
        **shared,
    )


def _geometric_kind(tolerance: Any) -> GeometricKind | None:
    """Return what a geometric tolerance limits: by its class, or by the type that a complex one carries."""
    if hasattr(tolerance, "GetToleranceType"):
        word = tolerance.GetToleranceType().name.removeprefix("StepDimTol_GTT")
    else:
        word = type(tolerance).__name__.removeprefix("StepDimTol_")
        word = "PositionTolerance" if word.endswith("AndPosTol") else word
    return _GEOMETRIC.get(word.removesuffix("Tolerance").lower())


def _datum_letters(tolerance: Any) -> Iterator[str]:
    """Yield the letters of the referenced datums, primary first; a common datum as "A-B"."""
    carrier = tolerance
    if hasattr(tolerance, "GetGeometricToleranceWithDatumReference"):
        carrier = tolerance.GetGeometricToleranceWithDatumReference()
    systems = carrier.DatumSystemAP242() if hasattr(carrier, "DatumSystemAP242") else None
    if systems is None:
        return
    for i in range(systems.Lower(), systems.Upper() + 1):
        reference = systems.Value(i).Value()
        if isinstance(reference, StepDimTol_DatumSystem):
            for k in range(1, reference.NbConstituents() + 1):
                yield _base_letters(reference.ConstituentsValue(k).Base())
        elif isinstance(reference, StepDimTol_DatumReference):
            yield _text(reference.ReferencedDatum().Identification())


def _base_letters(base: Any) -> str:
    datum = base.Datum()
    if datum is not None:
        return _text(datum.Identification())
    common = base.CommonDatumList()
    if common is None:
        return "?"
    return "-".join(_base_letters(common.Value(i).Base()) for i in range(common.Lower(), common.Upper() + 1))


def _modifiers(tolerance: Any) -> Iterator[str]:
    """Yield the material and state requirements with a symbol of their own."""
    carrier = tolerance
    if hasattr(tolerance, "GetGeometricToleranceWithModifiers"):
        carrier = tolerance.GetGeometricToleranceWithModifiers()
    if carrier is None or not hasattr(carrier, "NbModifiers"):
        return
    for i in range(1, carrier.NbModifiers() + 1):
        word = carrier.ModifierValue(i).name.removeprefix("StepDimTol_GTM")
        if word in _MODIFIERS:
            yield _MODIFIERS[word]


def _text(string: Any) -> str:
    return "" if string is None else str(string.ToCString()).strip()
