"""Numbers of semantic annotations: measures with their units to mm and degrees, limits, deviations, fits.

Read from the file's own entities, since OpenCascade's dimension objects drop the sign of the lower deviation (checked
with 8.0.1: +0.4/+0.1 came back as +0.4/-0.1, and -0.1/-0.4 as the limits 0.4 and nominal).
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any, Literal

from OCP.StepBasic import StepBasic_MeasureWithUnit, StepBasic_NamedUnit
from OCP.STEPConstruct import STEPConstruct_UnitContext
from OCP.StepRepr import (
    StepRepr_CompoundRepresentationItem,
    StepRepr_DescriptiveRepresentationItem,
    StepRepr_Representation,
)
from OCP.StepShape import StepShape_LimitsAndFits, StepShape_PlusMinusTolerance, StepShape_ToleranceValue

from analyzers.data.tolerances import standard_tolerance_um

_MICROMETRES = 1000.0


@dataclass(frozen=True, slots=True)
class Quantity:
    """A length in millimetres or an angle in degrees."""

    value: float
    unit: Literal["mm", "deg"]


@dataclass(slots=True)
class Values:
    """What the file says about one dimension. Deviations are from nominal, upper above lower, all in mm or degrees."""

    unit: Literal["mm", "deg"] | None = None
    nominal: float | None = None
    upper: float | None = None
    lower: float | None = None
    zone: float | None = None
    fit: str = ""
    texts: list[str] = field(default_factory=list)


def quantity(entity: Any) -> Quantity | None:
    """Return what a measure of the file says; None for other entities, and for units that are no length or angle.

    Several classes of OpenCascade carry a measure, each in its own way: some are one, some have one.
    """
    measure = entity
    for name in ("GetMeasureWithUnit", "Measure"):
        if hasattr(entity, name):
            measure = getattr(entity, name)()
            break
    if not isinstance(measure, StepBasic_MeasureWithUnit):
        return None
    unit = measure.UnitComponent().Value()
    if not isinstance(unit, StepBasic_NamedUnit):
        return None
    context = STEPConstruct_UnitContext()
    context.ComputeFactors(unit)
    value = float(measure.ValueComponent())
    if context.LengthDone():
        return Quantity(value * context.LengthFactor(), "mm")
    if context.PlaneAngleDone():
        return Quantity(math.degrees(value * context.PlaneAngleFactor()), "deg")
    return None


def read_values(
    representations: Iterable[StepRepr_Representation], tolerances: Iterable[StepShape_PlusMinusTolerance]
) -> Values:
    """Return nominal, deviations and texts of one dimension.

    Parameters
    ----------
    representations : those that the dimension's characteristic names
    tolerances : the plus-minus tolerances of the dimension
    """
    values = Values()
    limits: dict[str, float] = {}
    for item in (item for each in representations for item in _items(each)):
        if isinstance(item, StepRepr_DescriptiveRepresentationItem):
            values.texts += [text for text in (_text(item.Description()), _text(item.Name())) if text]
        elif (found := quantity(item)) is not None:
            values.unit = found.unit
            limits[_role(item)] = found.value
    _apply_limits(values, limits)
    for tolerance in tolerances:
        bounds = tolerance.Range().Value()
        if isinstance(bounds, StepShape_ToleranceValue):
            _apply_bounds(values, bounds)
        elif isinstance(bounds, StepShape_LimitsAndFits):
            _apply_fit(values, bounds)
    return values


def _items(representation: StepRepr_Representation) -> Iterator[Any]:
    """Yield the items of a representation, those of its compounds too."""
    for i in range(1, representation.NbItems() + 1):
        item = representation.ItemsValue(i)
        if isinstance(item, StepRepr_CompoundRepresentationItem):
            inner = (item.ItemElementValue(k) for k in range(1, item.NbItemElement() + 1))
            yield from (each for each in inner if each is not None)
        elif item is not None:
            yield item


def _role(item: Any) -> str:
    """Return nominal, upper or lower, by the item's name or its qualifier (maximum, minimum)."""
    words = {_text(item.Name()).lower()} | set(_qualifiers(item))
    if words & {"upper limit", "maximum"}:
        return "upper"
    return "lower" if words & {"lower limit", "minimum"} else "nominal"


def _qualifiers(item: Any) -> Iterator[str]:
    carrier = item
    if hasattr(item, "GetQualifiedRepresentationItem"):
        carrier = item.GetQualifiedRepresentationItem()
    if carrier is None or not hasattr(carrier, "NbQualifiers"):
        return
    for i in range(1, carrier.NbQualifiers() + 1):
        qualifier = carrier.QualifiersValue(i).TypeQualifier()
        if qualifier is not None:
            yield _text(qualifier.Name()).lower()


def _apply_limits(values: Values, limits: dict[str, float]) -> None:
    """Set nominal and deviations from a dimension's own measures; of two limits alone nominal is the middle."""
    upper, lower = limits.get("upper"), limits.get("lower")
    nominal = limits.get("nominal")
    if nominal is None and upper is not None and lower is not None:
        nominal = (upper + lower) / 2
    elif nominal is None:
        nominal = upper if lower is None else lower
    if nominal is None:
        return
    values.nominal = nominal
    values.upper = None if upper is None else upper - nominal
    values.lower = None if lower is None else lower - nominal
    if upper is not None and lower is not None:
        values.zone = upper - lower


def _apply_bounds(values: Values, bounds: StepShape_ToleranceValue) -> None:
    upper, lower = quantity(bounds.UpperBound()), quantity(bounds.LowerBound())
    if upper is None or lower is None:
        return
    values.unit = values.unit or upper.unit
    values.upper, values.lower = max(upper.value, lower.value), min(upper.value, lower.value)
    values.zone = values.upper - values.lower


def _apply_fit(values: Values, fit: StepShape_LimitsAndFits) -> None:
    """Set the tolerance class; deviations only for H, h, JS and js, whose limits the grade alone gives (ISO 286-1)."""
    letter, grade = _text(fit.FormVariance()), _text(fit.Grade()).upper().removeprefix("IT").strip()
    zone = _text(fit.ZoneVariance()).lower()
    letter = {"hole": letter.upper(), "shaft": letter.lower()}.get(zone, letter)
    values.fit = f"{letter}{grade}"
    if values.nominal is None or not grade.isdigit():
        return
    micrometres = standard_tolerance_um(values.nominal, int(grade))
    if micrometres is None:
        return
    width = micrometres / _MICROMETRES
    values.zone = width
    low = {"H": 0.0, "h": -width, "JS": -width / 2, "js": -width / 2}.get(letter)
    if low is not None:
        values.lower, values.upper = low, low + width


def _text(string: Any) -> str:
    return "" if string is None else str(string.ToCString()).strip()
