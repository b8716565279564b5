"""What a change does, as a machinist would put it, in the units the part was drawn in."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from analyzers.model.finding import Change, Outcome
from analyzers.rules import Case, drawn_in
from analyzers.tolerance import SAME_LENGTH_MM
from analyzers.units import UnitSystem, duration_text, inch_fraction, length_text, parse_length_mm

Unit = Literal["mm", "deg", "count", "ratio", "text"]

LEAST_MINUTES = 0.05
"""Minutes below this are not worth a word: they are rounded to tenths (judgement)."""


@dataclass(frozen=True, slots=True)
class Parameter:
    """One thing that can be changed: how it is called and in what it is counted."""

    words: str
    unit: Unit = "mm"


PARAMETERS: Mapping[str, Parameter] = {
    "corner_radius_mm": Parameter("inside corner radius"),
    "floor_radius_mm": Parameter("radius at the floor"),
    "radius_mm": Parameter("radius"),
    "min_concave_radius_mm": Parameter("tightest hollow"),
    "diameter_mm": Parameter("diameter"),
    "depth_mm": Parameter("depth"),
    "width_mm": Parameter("width"),
    "height_mm": Parameter("height"),
    "floor_thickness_mm": Parameter("floor"),
    "wall_mm": Parameter("wall"),
    "web_mm": Parameter("web beside the hole"),
    "gap_mm": Parameter("gap"),
    "length_mm": Parameter("length of the part"),
    "grip_mm": Parameter("height of flats to clamp on"),
    "zone_mm": Parameter("width of the tolerance"),
    "undercut_width_mm": Parameter("width of the undercut"),
    "angle_deg": Parameter("angle", "deg"),
    "countersink_angle_deg": Parameter("countersink angle", "deg"),
    "entry_angle_deg": Parameter("slope of the entry", "deg"),
    "count": Parameter("number of these features", "count"),
    "faults": Parameter("faults of the solid", "count"),
    "open_edges": Parameter("open edges", "count"),
    "narrow_faces": Parameter("too narrow faces", "count"),
    "short_edges": Parameter("too short edges", "count"),
    "freeform_faces": Parameter("freeform faces", "count"),
    "missing_places": Parameter("empty places", "count"),
    "scale": Parameter("scale of the model", "ratio"),
    "setup": Parameter("setup it is cut in", "text"),
    "material": Parameter("material", "text"),
}
"""What `Change.field` may be."""


def effect_text(change: Change, case: Case) -> str:
    """Return for example "Inside corner radius 2 mm to 3.7 mm: clears it; about 14 min less a part; spares flat 2."."""
    assert change.outcome is not None  # only a tried change has an effect
    return f"{change_text(change, drawn_in(case))}: {'; '.join(_said(change.outcome))}."


def change_text(change: Change, unit: UnitSystem) -> str:
    """Return what becomes what."""
    parameter = PARAMETERS[change.field]
    if change.field == "count":
        return "Without it" if len(change.features) == 1 else f"Without these {len(change.features)} features"
    name = parameter.words[0].upper() + parameter.words[1:]
    was = "" if change.was is None else f"{_value(change.was, parameter.unit, unit)} to "
    return f"{name} {was}{_value(change.value, parameter.unit, unit)}"


def _value(value: float | str, kind: Unit, unit: UnitSystem) -> str:
    if isinstance(value, str):
        return value
    if kind == "deg":
        return f"{value:.3g}°"
    if kind != "mm":
        return f"{value:.4g}"
    text = length_text(value, unit)
    fraction = inch_fraction(value) if unit == "inch" else None
    exact = fraction is not None and abs(parse_length_mm(fraction, unit) - value) <= SAME_LENGTH_MM
    return f"{text} ({fraction})" if exact else text


def _said(outcome: Outcome) -> list[str]:
    """Return what the change does, one clause each."""
    said = ["clears it" if outcome.leaves is None else f"leaves a {outcome.leaves}"]
    if outcome.raises:
        said[0] += f", but {', '.join(outcome.raises)} then {'warns' if len(outcome.raises) == 1 else 'warn'}"
    if outcome.made:
        said.append(f"{', '.join(outcome.made)} can then be made")
    if abs(outcome.minutes_saved) >= LEAST_MINUTES:
        said.append(f"about {_minutes(outcome.minutes_saved)} a part")
    else:
        said.append("the same time")
    if abs(outcome.setup_minutes_saved) >= LEAST_MINUTES:
        said.append(f"{_minutes(outcome.setup_minutes_saved)} setting up for the batch")
    if outcome.setups_saved:
        count = abs(outcome.setups_saved)
        said.append(f"{count} setup{'' if count == 1 else 's'} {'fewer' if outcome.setups_saved > 0 else 'more'}")
    if outcome.cutters_spared:
        said.append(f"spares {', '.join(outcome.cutters_spared)}")
    if outcome.cutters_added:
        said.append(f"takes {', '.join(outcome.cutters_added)}")
    return said


def _minutes(saved: float) -> str:
    return f"{duration_text(abs(saved))} {'less' if saved > 0 else 'more'}"
