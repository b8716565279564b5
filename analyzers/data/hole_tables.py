"""Tables about holes: drills, clearance, tap drills, counterbores, countersinks, dowels, reamers, thread run-out."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from analyzers.data.rows import Row


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberLetterDrill(Row):
    """Number (No.1 to No.80) and letter (A to Z) twist drills, ASME B94.11M."""

    table: ClassVar[str] = "drills_number_letter"

    size: str
    series: Literal["number", "letter"]
    diameter_in: float
    diameter_mm: float
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FractionDrill(Row):
    """Twist drills by 64ths of an inch, ASME B94.11M."""

    table: ClassVar[str] = "drills_fraction"

    size: str
    diameter_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MetricDrill(Row):
    """Metric twist drills; `preference` is this project's own order: A whole, B half millimetres, C the rest."""

    table: ClassVar[str] = "drills_metric"

    diameter_mm: float
    preference: Literal["A", "B", "C"]


@dataclass(frozen=True, slots=True, kw_only=True)
class IsoClearance(Row):
    """Clearance holes of ISO 273: fine H12, medium H13, coarse H14."""

    table: ClassVar[str] = "clearance_iso273"

    screw: str
    nominal_mm: float
    fine_mm: float
    medium_mm: float
    coarse_mm: float
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AsmeClearance(Row):
    """Clearance holes of ASME B18.2.8 for inch screws."""

    table: ClassVar[str] = "clearance_asme_b18_2_8"

    screw: str
    nominal_in: float
    close_drill: str
    close_in: float
    normal_drill: str
    normal_in: float
    loose_drill: str
    loose_in: float
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HandbookClearance(Row):
    """The older clearance drills for inch screws that tap charts still print."""

    table: ClassVar[str] = "clearance_inch_handbook"

    screw: str
    nominal_in: float
    close_drill: str
    close_in: float
    free_drill: str
    free_in: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MetricTapDrill(Row):
    """Tap drills for ISO metric threads, ISO 2306; the minor diameter's upper limit (6H) is from memory."""

    table: ClassVar[str] = "tap_drills_metric"

    thread: str
    nominal_mm: float
    pitch_mm: float
    series: Literal["coarse", "fine"]
    drill_mm: float
    minor_min_mm: float
    minor_max_mm: float | None
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UnifiedTapDrill(Row):
    """Tap drills for UNC and UNF threads, ASME B1.1, at about 75 and 50 percent thread."""

    table: ClassVar[str] = "tap_drills_unified"

    thread: str
    series: Literal["UNC", "UNF"]
    nominal_in: float
    tpi: float
    drill_75: str
    drill_75_in: float
    thread_75_pct: float
    drill_50: str
    drill_50_in: float
    thread_50_pct: float
    minor_basic_in: float
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PipeTapDrill(Row):
    """Drills for pipe threads: NPT, G (ISO 228-1), Rc (ISO 7-1). Charts disagree; all are kept."""

    table: ClassVar[str] = "tap_drills_pipe"

    thread: str
    size: str
    tpi: float
    method: str
    drill: str
    drill_in: float
    drill_mm: float
    minor_min_mm: float | None  # parallel threads only
    minor_max_mm: float | None
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MetricCounterbore(Row):
    """Counterbores of DIN 974-1, series 1, for socket head cap screws ISO 4762."""

    table: ClassVar[str] = "counterbore_din974"

    screw: str
    bore_mm: float
    depth_mm: float
    head_height_mm: float
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class InchCounterbore(Row):
    """Counterbores for ASME B18.3 socket head cap screws; the handbook's bore is from memory in every row."""

    table: ClassVar[str] = "counterbore_inch"

    screw: str
    head_diameter_in: float
    head_height_in: float
    handbook_size: str
    handbook_bore_in: float
    inhouse_bore_in: float | None
    inhouse_depth_in: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Countersink(Row):
    """Countersinks for flat heads. Inch rows give the sharp head diameter; metric rows the countersink's."""

    table: ClassVar[str] = "countersinks"

    standard: str
    screw: str
    angle_deg: float
    diameter_mm: float
    head_diameter_mm: float
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DowelPin(Row):
    """Dowel pins ISO 8734 and ISO 2338, m6, for a hole H7; the hole's depth is common practice without a source."""

    table: ClassVar[str] = "dowel_pins"

    nominal_mm: float
    pin_low_um: float
    pin_high_um: float
    hole_high_um: float
    end_chamfer_mm: float
    length_min_mm: float
    length_max_mm: float
    hole_depth_min_mm: float
    hole_depth_max_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class InchDowelPin(Row):
    """Hardened dowel pins ASME B18.8.2, with the hole suggested for a press fit."""

    table: ClassVar[str] = "dowel_pins_inch"

    size: str
    nominal_in: float
    pin_low_in: float
    pin_high_in: float
    hole_low_in: float | None
    hole_high_in: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reamer(Row):
    """Machine reamers H7, DIN 212 and DIN 208, with the allowance left by the drill."""

    table: ClassVar[str] = "reamers_h7"

    nominal_mm: float
    hole_upper_um: float
    hole_lower_um: float
    hole_max_mm: float
    allowance_min_mm: float
    allowance_max_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreadRunOut(Row):
    """Blind tapped holes: how much deeper than the thread the drill goes, DIN 76-2."""

    table: ClassVar[str] = "thread_runout_blind_din76"

    pitch_mm: float
    normal_mm: float
    short_mm: float
    long_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DeepHoleClass(Row):
    """What a hole of a given depth ratio asks for."""

    table: ClassVar[str] = "deep_hole_classes"

    from_ratio: float
    to_ratio: float
    name: str
    method: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeDistance(Row):
    """Smallest distance from a bolt hole's centre to an edge, AISC 360-16 (structural steel), in `unit`."""

    table: ClassVar[str] = "edge_distance_aisc360"

    unit: Literal["mm", "in"]
    bolt: float
    edge_distance: float
    ratio: float
