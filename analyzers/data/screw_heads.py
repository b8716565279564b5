"""Which screw head a counterbore or countersink is probably for."""

from collections.abc import Iterable
from typing import Final

from analyzers.data.hole_catalogue import standard_holes
from analyzers.data.hole_sizes import OTHER_UNITS, Use
from analyzers.data.hole_tables import Countersink, InchCounterbore, MetricCounterbore
from analyzers.data.rows import Provenance, Row, rows
from analyzers.tolerance import SAME_ANGLE_DEG, STANDARD_SIZE_MM
from analyzers.units import MM_PER_INCH, UnitSystem, length_text

SINK_OVER_HEAD_MM: Final = 0.3
"""A countersink is drawn up to this much wider than the head's sharp edge (common practice, no source)."""

_Ranked = tuple[float, Use]


def counterbore_uses(
    hole_mm: float, bore_mm: float, bore_depth_mm: float | None, unit_system: UnitSystem
) -> tuple[Use, ...]:
    """Return the socket head cap screws that a counterbore is made for, the most plausible first; may be empty.

    Parameters
    ----------
    hole_mm : diameter of the drilled hole below; a screw that passes it comes first
    bore_mm : diameter of the counterbore
    bore_depth_mm : its depth; None = not known. Where the head would stand out, the text says by how much
    unit_system : the one the model was evidently drawn in

    Examples
    --------
    >>> [use.text for use in counterbore_uses(6.6, 11.0, 6.4, "mm")]
    ['counterbore for M6 socket head cap screw']
    """
    found: list[_Ranked] = []
    for row in rows(MetricCounterbore):
        head = (row.screw, row.head_height_mm)
        found += _bore(row, "DIN 974-1", "mm", row.bore_mm, head, bore_mm, bore_depth_mm, row.prov)
    for each in rows(InchCounterbore):
        inch_head = (each.screw, each.head_height_in * MM_PER_INCH)
        handbook_mm = each.handbook_bore_in * MM_PER_INCH
        found += _bore(each, "machinists' handbooks", "inch", handbook_mm, inch_head, bore_mm, bore_depth_mm, "memory")
        if each.inhouse_bore_in is not None:
            inhouse_mm = each.inhouse_bore_in * MM_PER_INCH
            what = "a machine builder's own standard"
            found += _bore(each, what, "inch", inhouse_mm, inch_head, bore_mm, bore_depth_mm, "seen")
    return _in_order(found, hole_mm, unit_system)


def countersink_uses(hole_mm: float, sink_mm: float, angle_deg: float, unit_system: UnitSystem) -> tuple[Use, ...]:
    """Return the flat head screws that a countersink is made for, the most plausible first; may be empty.

    Parameters
    ----------
    hole_mm : diameter of the drilled hole below; a screw that passes it comes first
    sink_mm : diameter of the countersink at the surface
    angle_deg : its included angle
    unit_system : the one the model was evidently drawn in
    """
    found: list[_Ranked] = []
    for row in rows(Countersink):
        low_mm, high_mm = sorted((row.head_diameter_mm, row.diameter_mm))
        wide = low_mm - STANDARD_SIZE_MM <= sink_mm <= high_mm + SINK_OVER_HEAD_MM
        if wide and abs(row.angle_deg - angle_deg) <= SAME_ANGLE_DEG:
            off_mm = sink_mm - row.diameter_mm
            text = f"countersink for {row.screw} flat head screw, {row.angle_deg:g}°"
            found.append((abs(off_mm), _head(row, text, row.standard, row.screw, row.diameter_mm, off_mm, row.prov)))
    return _in_order(found, hole_mm, unit_system)


def _bore(
    row: Row,
    standard: str,
    system: UnitSystem,
    standard_mm: float,
    head: tuple[str, float],
    bore_mm: float,
    depth_mm: float | None,
    prov: Provenance,
) -> list[_Ranked]:
    """Return the counterbore as a use where the bore is the standard's; `head` is the screw and its head's height."""
    screw, height_mm = head
    if abs(bore_mm - standard_mm) > STANDARD_SIZE_MM:
        return []
    text = f"counterbore for {screw} socket head cap screw"
    proud_mm = 0.0 if depth_mm is None else height_mm - depth_mm
    if proud_mm > STANDARD_SIZE_MM:
        text += f"; its head stands out by {length_text(proud_mm, system)}"
    return [(max(proud_mm, 0.0), _head(row, text, standard, screw, standard_mm, bore_mm - standard_mm, prov))]


def _head(row: Row, text: str, standard: str, screw: str, standard_mm: float, off_mm: float, prov: Provenance) -> Use:
    """Return a screw head as a use."""
    return Use(
        use="screw_head",
        text=text,
        standard=standard,
        diameter_mm=standard_mm,
        off_mm=off_mm,
        fastener=screw,
        prov=prov,
        src=row.src,
    )


def _in_order(found: Iterable[_Ranked], hole_mm: float, unit_system: UnitSystem) -> tuple[Use, ...]:
    """Return the uses, first those whose screw has this clearance hole, then those that fit best.

    A screw that is thicker than the hole below cannot pass, whatever its head fits.
    """
    clearances = [hole for hole in standard_holes() if hole.use == "clearance"]
    passing = {hole.fastener for hole in clearances if abs(hole.diameter_mm - hole_mm) <= STANDARD_SIZE_MM}
    thick = {hole.fastener for hole in clearances if (hole.nominal_mm or 0.0) > hole_mm + STANDARD_SIZE_MM}

    def demerit(each: _Ranked) -> tuple[float, float]:
        misfit, use = each
        other = use.fastener.startswith("M") != (unit_system == "mm")
        return (2.0 * (use.fastener not in passing) + OTHER_UNITS * other + 0.25 * (use.prov == "memory"), misfit)

    return tuple(use for _, use in sorted(found, key=demerit) if use.fastener not in thick)
