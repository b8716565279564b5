"""Every standard hole size of the tables in one list, each with what it is for and where it is written."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, Final, Literal

import numpy as np

from analyzers.data.hole_tables import (
    AsmeClearance,
    DowelPin,
    FractionDrill,
    HandbookClearance,
    InchDowelPin,
    IsoClearance,
    MetricDrill,
    MetricTapDrill,
    NumberLetterDrill,
    PipeTapDrill,
    Reamer,
    UnifiedTapDrill,
)
from analyzers.data.rows import Provenance, Row, rows
from analyzers.model.arrays import Floats
from analyzers.tolerance import STANDARD_SIZE_MM
from analyzers.units import MM_PER_INCH, UnitSystem, parse_length_mm

HoleUse = Literal[
    "clearance",  # a screw passes
    "tap_drill",  # a thread is cut
    "thread_minor",  # a thread drawn at its inside diameter
    "thread_major",  # a thread drawn at its outside diameter
    "pipe_tap_drill",
    "dowel",
    "reamed",
    "threaded",  # the model names the thread
    "fitted",  # the model names the fit
    "drill",  # the size of a stock drill, and no other use known
    "screw_head",  # a counterbore or countersink
    "bored",  # larger than any stock drill
    "none",  # no standard size
]

COMMON: Final = frozenset(
    {"M2", "M2.5", "M3", "M4", "M5", "M6", "M8", "M10", "M12", "M16", "M20", "M24"}
    | {"M8x1", "M10x1", "M10x1.25", "M12x1.25", "M12x1.5", "M14x1.5", "M16x1.5", "M20x1.5"}
    | {"No.2", "No.4", "No.6", "No.8", "No.10", "1/4", "5/16", "3/8", "1/2", "5/8", "3/4", "1"}
)
"""Screws that are to be had everywhere; inch sizes stand for UNC and UNF (judgement, no source)."""

RARE: Final = 3.0
NEAR_MM: Final = 1.001 * STANDARD_SIZE_MM
"""So that none is lost to rounding: who asks for the sizes near a diameter compares each of them itself."""
_NEEDS_SCREW: Final = frozenset({"clearance", "tap_drill", "thread_minor", "thread_major"})


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardHole:
    """One standard size. `demerit` is how far this use stands behind the usual one of its kind (judgement)."""

    use: HoleUse
    text: str
    standard: str
    system: UnitSystem
    diameter_mm: float
    band_mm: tuple[float, float]  # the size may be drawn anywhere between
    fastener: str = ""  # screw, thread or pin
    nominal_mm: float | None = None  # of the fastener
    demerit: float = 0.0
    prov: Provenance
    src: str


@cache
def standard_holes() -> tuple[StandardHole, ...]:
    """Return all standard sizes, smallest first."""
    families = (_metric_clearance, _inch_clearance, _metric_threads, _inch_threads, _pipe_threads, _reamed, drill_sizes)
    everything = [hole for family in families for hole in family()]
    return tuple(sorted(everything, key=lambda hole: (hole.diameter_mm, hole.use, hole.text)))


def holes_near(diameter_mm: float) -> list[StandardHole]:
    """Return the standard sizes that are, or whose band comes, within STANDARD_SIZE_MM of a diameter; smallest first.

    A few among a thousand, found in 10 us: asking each of them takes 1.5 ms.
    """
    low, high = _reaches()
    holes = standard_holes()
    return [holes[row] for row in np.flatnonzero((low <= diameter_mm) & (diameter_mm <= high)).tolist()]


@cache
def _reaches() -> tuple[Floats, Floats]:
    """Return (N,) and (N,) between which diameters each standard size is near."""
    sizes = np.array([(*each.band_mm, each.diameter_mm) for each in standard_holes()])
    return sizes.min(axis=1) - NEAR_MM, sizes.max(axis=1) + NEAR_MM


@cache
def drill_sizes() -> tuple[StandardHole, ...]:
    """Return the sizes of stock drills, smallest first."""
    inch, metric = "ASME B94.11M", "stock sizes (DIN 338, DIN 345)"
    found = [
        _hole(
            row, "drill", f"drill {row.diameter_mm:g} mm", metric, row.diameter_mm, demerit=_odd(row.diameter_mm, 1.0)
        )
        for row in rows(MetricDrill)
    ]
    for each in rows(FractionDrill):
        size_mm = parse_length_mm(each.size, "inch")
        odd = _odd(size_mm, MM_PER_INCH / 16.0)
        found.append(_hole(each, "drill", f"drill {each.size} in", inch, size_mm, system="inch", demerit=odd))
    for drill in rows(NumberLetterDrill):
        name = drill.size if drill.series == "number" else f"letter {drill.size}"  # a letter alone is easily overlooked
        size_mm = drill.diameter_in * MM_PER_INCH
        found.append(_hole(drill, "drill", f"drill {name}", inch, size_mm, system="inch", demerit=1.0))
    return tuple(sorted(found, key=lambda hole: (hole.diameter_mm, hole.text)))


def _odd(size_mm: float, round_mm: float) -> float:
    """Return 0 for a round size, 0.5 for a half one, 1 for another: an odd size is drilled for a reason."""
    halves = size_mm / round_mm * 2.0
    return 1.0 if abs(halves - round(halves)) > 1e-6 else 0.5 * (round(halves) % 2)


def _hole(
    row: Row, use: HoleUse, text: str, standard: str, diameter_mm: float, *, system: UnitSystem = "mm", **more: Any
) -> StandardHole:
    """Return a standard size with the provenance of its row; a rare fastener stands behind a common one."""
    rare = use in _NEEDS_SCREW and more["fastener"].split("-")[0] not in COMMON
    more["demerit"] = more.get("demerit", 0.0) + (RARE if rare else 0.0)
    shared = {"band_mm": (diameter_mm, diameter_mm), "prov": row.prov, "src": row.src, "system": system}
    return StandardHole(use=use, text=text, standard=standard, diameter_mm=diameter_mm, **(shared | more))


def _metric_clearance() -> Iterator[StandardHole]:
    """Yield the clearance holes of ISO 273."""
    for row in rows(IsoClearance):
        fits = (("medium", row.medium_mm, 0.0), ("fine", row.fine_mm, 0.5), ("coarse", row.coarse_mm, 1.0))
        for fit, size_mm, demerit in fits:
            text = f"clearance for {row.screw}, {fit} fit"
            more: dict[str, Any] = {"fastener": row.screw, "nominal_mm": row.nominal_mm, "demerit": demerit}
            yield _hole(row, "clearance", text, "ISO 273", size_mm, **more)


def _inch_clearance() -> Iterator[StandardHole]:
    """Yield the clearance holes of ASME B18.2.8 and the older ones of the handbooks."""
    fits: list[tuple[AsmeClearance | HandbookClearance, str, str, float, float]] = []
    for row in rows(AsmeClearance):
        sizes = (("normal", row.normal_in, 0.0), ("close", row.close_in, 0.5), ("loose", row.loose_in, 1.0))
        fits += [(row, "ASME B18.2.8", fit, size, demerit) for fit, size, demerit in sizes]
    for old in rows(HandbookClearance):
        old_sizes = (("free", old.free_in, 0.25), ("close", old.close_in, 0.75))
        fits += [(old, "machinists' handbooks", fit, size, demerit) for fit, size, demerit in old_sizes]
    for each, standard, fit, size_in, demerit in fits:
        text = f"clearance for {each.screw} screw, {fit} fit"
        more: dict[str, Any] = {"fastener": each.screw, "nominal_mm": each.nominal_in * MM_PER_INCH, "demerit": demerit}
        yield _hole(each, "clearance", text, standard, size_in * MM_PER_INCH, system="inch", **more)


def _metric_threads() -> Iterator[StandardHole]:
    """Yield tap drills, inside diameters and, for common coarse threads, the outside diameter."""
    for row in rows(MetricTapDrill):
        fine = 0.75 if row.series == "fine" else 0.0
        more: dict[str, Any] = {"fastener": row.thread, "nominal_mm": row.nominal_mm}
        yield _hole(row, "tap_drill", f"tap drill {row.thread}", "ISO 2306", row.drill_mm, **more, demerit=fine)
        minor = f"{row.thread} drawn at its inside diameter"
        yield _hole(row, "thread_minor", minor, "ISO 724", row.minor_min_mm, **more, demerit=fine, prov="derived")
        if row.minor_max_mm is not None and row.thread in COMMON:
            text = f"{row.thread} drawn within its inside limits 6H ({row.minor_min_mm:g} to {row.minor_max_mm:g})"
            more |= {"band_mm": (row.minor_min_mm + STANDARD_SIZE_MM, row.minor_max_mm), "prov": "memory"}
            yield _hole(row, "thread_minor", text, "ISO 965-1", row.minor_min_mm, **more, demerit=fine)
        if row.thread in COMMON:
            text = f"{row.thread} drawn at its outside diameter"
            more |= {"band_mm": (row.nominal_mm, row.nominal_mm), "prov": "memory", "src": "PRACTICE"}
            yield _hole(row, "thread_major", text, "common practice, no source", row.nominal_mm, **more)


def _inch_threads() -> Iterator[StandardHole]:
    """Yield tap drills and inside diameters of UNC and UNF threads."""
    for row in rows(UnifiedTapDrill):
        finer = 0.25 if row.series == "UNF" else 0.0
        name = f"{row.thread} {row.series}"
        more: dict[str, Any] = {"fastener": row.thread, "nominal_mm": row.nominal_in * MM_PER_INCH, "system": "inch"}
        drills = ((row.drill_75_in, row.thread_75_pct, 0.0), (row.drill_50_in, row.thread_50_pct, 1.0))
        for size_in, percent, demerit in drills:
            text = f"tap drill {name} ({percent:g} % thread)"
            yield _hole(row, "tap_drill", text, "ASME B1.1", size_in * MM_PER_INCH, **more, demerit=demerit + finer)
        text = f"{name} drawn at its inside diameter"
        minor_mm = row.minor_basic_in * MM_PER_INCH
        yield _hole(row, "thread_minor", text, "ASME B1.1", minor_mm, **more, demerit=finer, prov="derived")


def _pipe_threads() -> Iterator[StandardHole]:
    """Yield the drills of pipe threads; parallel ones also within the limits of their inside diameter."""
    standards = {"NPT": "ASME B1.20.1", "G (BSPP)": "ISO 228-1", "Rc (BSPT)": "ISO 7-1"}
    for row in rows(PipeTapDrill):
        name = f"{row.thread.split()[0]} {row.size}"
        system: UnitSystem = "inch" if row.thread == "NPT" else "mm"
        size_mm = row.drill_in * MM_PER_INCH if row.thread == "NPT" else row.drill_mm
        band = (row.minor_min_mm or size_mm, row.minor_max_mm or size_mm)
        more: dict[str, Any] = {"system": system, "fastener": name, "band_mm": band}
        yield _hole(row, "pipe_tap_drill", f"drill for pipe thread {name}", standards[row.thread], size_mm, **more)


def _reamed() -> Iterator[StandardHole]:
    """Yield holes for dowel pins, and the other sizes of reamers."""
    pins = rows(DowelPin)
    for row in pins:
        band = (row.nominal_mm, row.nominal_mm + row.hole_high_um * 1e-3)
        more: dict[str, Any] = {"fastener": f"dowel {row.nominal_mm:g}", "nominal_mm": row.nominal_mm, "band_mm": band}
        yield _hole(row, "dowel", f"dowel pin {row.nominal_mm:g}, reamed H7", "ISO 8734", row.nominal_mm, **more)
    for inch in rows(InchDowelPin):
        high_mm = inch.nominal_in * MM_PER_INCH
        low_mm = high_mm if inch.hole_low_in is None else inch.hole_low_in * MM_PER_INCH
        more = {"fastener": f"dowel {inch.size}", "nominal_mm": high_mm, "band_mm": (low_mm, high_mm)}
        text = f"dowel pin {inch.size} in, reamed for a press fit"
        yield _hole(inch, "dowel", text, "ASME B18.8.2", high_mm, system="inch", **more)
    for each in rows(Reamer):
        if all(each.nominal_mm != pin.nominal_mm for pin in pins):
            band = (each.nominal_mm, each.hole_max_mm)
            yield _hole(each, "reamed", f"reamed {each.nominal_mm:g} H7", "DIN 212", each.nominal_mm, band_mm=band)
