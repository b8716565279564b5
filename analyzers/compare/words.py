"""A comparison in plain words: one line for each difference, the same in the table, in Markdown and on the page."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from analyzers.compare.changes import BodyComparison, Comparison, Difference, FeatureChange, FeatureMet
from analyzers.report.quantity import mm_number
from analyzers.report.words import BUCKET, KIND
from analyzers.units import duration_text

What = Literal["changed", "added", "removed", "number"]

_UNITS: Final = {"mm": "mm", "mm2": "mm²", "mm3": "mm³", "deg": "°"}
_NAMES: Final = {
    "size_x_mm": "size along x",
    "size_y_mm": "size along y",
    "size_z_mm": "size along z",
    "machining_minutes": "machining time",
    "count": "pieces in the file",
    "min_internal_radius_mm": "smallest inside radius",
    "max_hole_depth_ratio": "deepest hole, in diameters",
    "max_pocket_depth_ratio": "deepest pocket, in corner diameters",
    "min_wall_mm": "thinnest wall",
    "min_floor_mm": "thinnest floor",
    "min_gap_mm": "narrowest gap",
    "min_web_mm": "thinnest web",
    "sharp_internal_corners": "sharp inside corners",
    "external_sharp_edge_length_mm": "length of sharp outside edges",
    "volume_mm3": "volume",
    "area_mm2": "surface",
}


@dataclass(frozen=True, slots=True)
class Line:
    """One difference: what kind of one, in words, and the features it concerns in either revision."""

    what: What
    text: str
    old: str | None = None  # ids
    new: str | None = None


def headline(comparison: Comparison) -> str:
    """Return in one sentence what a comparison comes to."""
    if comparison.notes and not comparison.bodies:
        return comparison.notes[0]
    if comparison.same:
        moved = any(each.move.angle_deg > _TURNED or any(each.move.shift_mm) for each in comparison.bodies)
        return "Same geometry" + (", lying elsewhere or turned." if moved else ".")
    if all(each.relation == "mirrored" for each in comparison.bodies) and not _bodies(comparison):
        return "The mirror image: a left-hand and a right-hand part."
    features = [each for body in comparison.bodies for each in (*body.changed, *body.added, *body.removed)]
    numbers = [each.field for body in comparison.bodies for each in body.numbers]
    parts = [f"{len(features)} {'feature differs' if len(features) == 1 else 'features differ'}"] if features else []
    parts += ["the size differs"] if any(each.startswith("size") for each in numbers) else []
    parts += [f"{_bodies(comparison)} bodies added or removed"] if _bodies(comparison) else []
    return ("; ".join(parts) or "Small differences in the body") + "."


_TURNED: Final = 1e-3


def _bodies(comparison: Comparison) -> int:
    return len(comparison.added_bodies) + len(comparison.removed_bodies)


def lines(body: BodyComparison) -> Iterator[Line]:
    """Yield the differences of one body: features first, then the numbers that follow from them."""
    for change in body.changed:
        yield Line("changed", changed(change), change.old, change.new)
    for each in body.removed:
        yield Line("removed", met(each), old=each.id)
    for each in body.added:
        yield Line("added", met(each), new=each.id)
    for number in body.numbers:
        yield Line("number", f"{name(number.field)}: {values(number)}")


def changed(change: FeatureChange) -> str:
    """Return for example "hole ⌀6 THRU → ⌀8 THRU: diameter 6 → 8 mm"."""
    parts = [f"{name(each.field)} {values(each)}" for each in change.differences]
    parts += [f"moved by {mm_number(change.moved_mm)} mm"] if change.moved_mm else []
    arrow = "" if change.old_callout == change.new_callout else f" → {change.new_callout}"
    with_it = f"; {len(change.with_it)} rounds or chamfers with it" if change.with_it else ""
    return f"{KIND.get(change.kind, change.kind)} {change.old_callout}{arrow}: {', '.join(parts)}{with_it}"


def met(feature: FeatureMet) -> str:
    """Return for example "hole ⌀6 THRU at 12, 20, 18 mm"."""
    place = ", ".join(mm_number(each) for each in feature.position_mm)
    return f"{KIND.get(feature.kind, feature.kind)} {feature.callout} at {place} mm"


def name(field: str) -> str:
    """Return a field's name without its unit, in words."""
    if field in _NAMES:
        return _NAMES[field]
    stem, _, unit = field.rpartition("_")
    return (stem if unit in _UNITS and stem else field).replace("_", " ")


def values(difference: Difference) -> str:
    """Return for example "6 → 8 mm"."""
    if difference.field == "machining_minutes":
        return _times(difference)
    unit = _UNITS.get(difference.field.rpartition("_")[2], "")
    power = {"mm²": 2, "mm³": 3}.get(unit, 1)
    old, new = (_value(each, power) for each in (difference.old, difference.new))
    return f"{old} → {new}{'' if unit == '°' else ' ' if unit else ''}{unit}"


def _times(difference: Difference) -> str:
    """Return for example "14 min → 18 min"; of less than what is shown, how much it is."""
    old, new = float(difference.old or 0.0), float(difference.new or 0.0)
    first, second = duration_text(old), duration_text(new)
    small = f" ({duration_text(abs(new - old))} {'less' if new < old else 'more'})" if first == second else ""
    return f"{first} → {second}{small}"


def _value(value: float | str | bool | None, power: int) -> str:
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float | int):
        return mm_number(float(value), power)
    return BUCKET.get(value, value.replace("_", " "))  # type: ignore[call-overload, no-any-return]
