"""The rows of the report's tables: equal features share a row, as on a drawing."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from typing import Any

from markupsafe import Markup

from analyzers.model.feature import Feature
from analyzers.model.report import Body, Facts
from analyzers.model.tolerance_note import is_limit
from analyzers.report import quantity
from analyzers.report.fits import probably_for
from analyzers.report.german import word
from analyzers.report.notes import tolerance_cell
from analyzers.report.text import plural
from analyzers.report.words import BOTTOM, KIND
from analyzers.units import UnitSystem

_POCKETS = ("pocket", "slot", "step", "boss", "groove")


@dataclass(frozen=True, slots=True)
class FeatureRow:
    """Equal features: how many, what they are, which ones, and what is said about them."""

    tag: str  # letter of the row, as in a hole chart
    quantity: int
    kind: str
    callout: Markup
    details: tuple[Markup, ...]
    features: tuple[str, ...]
    setups: tuple[str, ...]
    findings: tuple[int, ...]  # numbers of the findings about them
    unmade: bool


def letter(number: int) -> str:
    """Return A, B, .. Z, AA, AB, .. for 0, 1, .. (I, O and Q are left out: they read as digits on a drawing)."""
    alphabet = "ABCDEFGHJKLMNPRSTUVWXYZ"
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, len(alphabet))
        text = alphabet[rest] + text
    return text


def hole_chart(body: Body, numbers: dict[str, tuple[int, ...]], units: UnitSystem) -> list[FeatureRow]:
    """Return the hole chart, smallest first within each kind; `units` are those the body was drawn in."""
    holes = [each for each in body.facts.features if each.face_class == "hole"]
    return _rows(body, holes, numbers, partial(_hole_details, units, body.facts))


def recesses(body: Body, numbers: dict[str, tuple[int, ...]]) -> list[FeatureRow]:
    """Return pockets, slots, steps, bosses and grooves."""
    found = [each for each in body.facts.features if each.face_class in _POCKETS]
    return _rows(body, found, numbers, _recess_details)


def rounds(body: Body, numbers: dict[str, tuple[int, ...]]) -> list[FeatureRow]:
    """Return fillets, edge rounds and chamfers."""
    found = [each for each in body.facts.features if each.face_class in ("fillet", "edge_round", "chamfer")]
    return _rows(body, found, numbers, _round_details)


def others(body: Body, numbers: dict[str, tuple[int, ...]]) -> list[FeatureRow]:
    """Return turned diameters, free-form regions and whatever kind the other tables do not show."""
    shown = {"hole", *_POCKETS, "fillet", "edge_round", "chamfer"}
    found = [each for each in body.facts.features if each.face_class not in shown]
    return _rows(body, found, numbers, lambda _: [])


def _rows(
    body: Body, features: Iterable[Feature], numbers: dict[str, tuple[int, ...]], details: Any
) -> list[FeatureRow]:
    setup_of = {feature: setup.id for setup in body.plan.setups for feature in setup.features}
    unmade = {each.feature for each in body.plan.unmade}
    equal: dict[tuple[str, str, tuple[Markup, ...]], list[Feature]] = {}
    for each in features:
        equal.setdefault((each.kind, each.callout(), tuple(details(each))), []).append(each)
    order = sorted(equal.items(), key=lambda item: (list(KIND).index(item[0][0]), _size(item[1][0]), item[0][1]))
    return [
        FeatureRow(
            tag=letter(row),
            quantity=len(same),
            kind=KIND[kind],
            callout=quantity.callout(callout),
            details=said,
            features=tuple(each.id for each in same),
            setups=tuple(sorted({setup_of[each.id] for each in same if each.id in setup_of})),
            findings=tuple(sorted({number for each in same for number in numbers.get(each.id, ())})),
            unmade=any(each.id in unmade for each in same),
        )
        for row, ((kind, callout, said), same) in enumerate(order)
    ]


def _size(feature: Any) -> float:
    """Return what equal kinds are put in order by: diameter, radius, width or area."""
    sizes = (getattr(feature, name, None) for name in ("diameter_mm", "radius_mm", "width_mm", "area_mm2"))
    return next((float(size) for size in sizes if size is not None), 0.0)


def _ratio(value: float | None) -> Markup:
    return Markup("–") if value is None else Markup("{:.1f}").format(value)


def hole_heads(facts: Facts) -> list[str]:
    """Return the heads of the hole chart's own columns; tolerances have one where the model carries any."""
    noted = any(is_limit(each) for each in facts.tolerances)
    return ["Hole", "Probably for", "Depth ÷ ⌀", "Bottom", "Entry", *(["Tolerance"] if noted else [])]


def _hole_details(units: UnitSystem, facts: Facts, hole: Any) -> list[Markup]:
    """Return what `hole_heads` announces, but for the hole itself; its depth is in the callout."""
    bottom = f"{hole.point_angle_deg:.4g}° point" if hole.point_angle_deg else BOTTOM[hole.bottom]
    entry = {"flat": "square", "inclined": f"slanted {hole.entry_angle_deg:.3g}°", "curved": "on a curve"}
    cells = [
        probably_for(hole, units, facts.notes_of(hole)),
        _ratio(hole.depth_ratio),
        word(bottom),
        word(entry[hole.entry]),
        tolerance_cell(facts, hole),
    ]
    return cells[: len(hole_heads(facts)) - 1]


def _recess_details(feature: Any) -> list[Markup]:
    """Return inside corner radius, radius at the floor, floor left, depth over corner diameter."""
    floor = getattr(feature, "floor_thickness_mm", None)
    floor_text = Markup("–") if floor is None else quantity.length(floor)
    return [
        _radius(getattr(feature, "corner_radius_mm", None)),
        _radius(getattr(feature, "floor_radius_mm", None)),
        floor_text,
        _ratio(getattr(feature, "depth_ratio", None)),
    ]


def _radius(value: float | None) -> Markup:
    if value is None:
        return Markup("–")
    return word("sharp") if value == 0 else Markup("R") + quantity.length(value)


def _round_details(feature: Any) -> list[Markup]:
    """Return what the radius asks of the cutter."""
    changing = Markup(", ") + word("radius changes along it")
    if feature.kind == "fillet" and feature.radius_mm:
        text = word("cutter up to") + Markup(" ⌀") + quantity.length(2 * feature.radius_mm)
        return [text + changing if feature.variable else text]
    if feature.kind == "edge_round":
        return [word("form cutter or many passes") + (changing if feature.variable else "")]
    return [word("chamfer cutter") if feature.kind == "chamfer" else Markup("–")]


def feature_counts(body: Body) -> str:
    """Return for example "12 holes, 2 pockets, 1 slot, 8 fillets"."""
    many = {"boss": "bosses"}
    counted: dict[str, int] = {}
    for each in body.facts.features:
        word = {"edge_round": "edge round", "freeform": "free-form region", "outer": "outer diameter"}.get(
            each.face_class, each.face_class
        )
        counted[word] = counted.get(word, 0) + 1
    return ", ".join(plural(number, word, many.get(word)) for word, number in counted.items()) or "no features"
