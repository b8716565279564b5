"""What a shop has and can do. Lengths are millimetres here, whatever unit the shop file is written in.

The constraints beside the fields are what the shop file is checked against; a key of the file is the field's name
without `_mm`, because a length there is in the shop's own unit.
"""

from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

from annotated_types import Ge, Gt, Le, Lt, MinLen
from pydantic import ConfigDict, Strict

from analyzers.model.finding import Level
from analyzers.settings.file_values import FILE_KEYS, LENGTH

CutterKind = Literal["flat", "bull", "ball", "drill", "spot", "chamfer", "slot", "tap", "reamer"]
MachineKind = Literal["mill", "lathe", "mill_turn"]
StockForm = Literal["plate", "round_bar", "flat_bar"]
Refused = Literal["material", "process", "feature"]

Name = Annotated[str, MinLen(1)]
Flag = Annotated[bool, Strict()]
Count = Annotated[int, Strict(), Ge(1)]
Number = Annotated[float, Strict()]
PositiveMm = Annotated[Number, Gt(0.0), LENGTH]
LengthMm = Annotated[Number, Ge(0.0), LENGTH]
Positive = Annotated[Number, Gt(0.0)]
NotNegative = Annotated[Number, Ge(0.0)]
Angle = Annotated[Number, Gt(0.0), Le(180.0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Holder:
    """What stands above a cutter: a cylinder from the cutter's end of the stick-out up to the spindle."""

    __pydantic_config__: ClassVar[ConfigDict] = FILE_KEYS

    id: Name
    diameter_mm: PositiveMm
    length_mm: PositiveMm


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutter:
    """One cutter on the shelf.

    A tap's `diameter_mm` is the thread's outside diameter, a slot cutter's `flute_length_mm` the width of its head,
    a chamfer or spot tool's `point_angle_deg` the included angle of its point.
    """

    __pydantic_config__: ClassVar[ConfigDict] = FILE_KEYS

    id: Name
    kind: CutterKind
    diameter_mm: PositiveMm
    flute_length_mm: PositiveMm
    reach_mm: PositiveMm  # longest usable stick-out below the holder
    corner_radius_mm: LengthMm = 0.0  # flat 0, ball half the diameter, bull in between
    flutes: Annotated[Count, Le(100)] = 2
    point_angle_deg: Angle | None = None
    made_of: Literal["carbide", "hss"] = "carbide"
    thread: str | None = None  # taps: "M6", "1/4-20"
    pitch_mm: PositiveMm | None = None  # taps
    neck_diameter_mm: PositiveMm | None = None  # slot cutters, necked end mills: what runs above the head
    holder: str | None = None  # id of a holder; None = the shop's first

    def __post_init__(self) -> None:
        _cutter_agrees(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """One machine. `travel_mm` is the usable room: X, Y and the height between table and spindle nose.

    On a lathe it is the turning diameter twice and the turning length.
    """

    __pydantic_config__: ClassVar[ConfigDict] = FILE_KEYS

    id: Name
    name: Name
    kind: MachineKind
    axes: Annotated[Count, Ge(2), Le(9)]
    travel_mm: tuple[PositiveMm, PositiveMm, PositiveMm]
    max_rpm: Positive
    power_kw: Positive  # of the drive, continuous
    rate_per_hour: NotNegative  # in the shop's currency
    tool_change_s: NotNegative
    max_feed_mm_min: PositiveMm = 10_000.0
    efficiency_ratio: Annotated[Number, Gt(0.0), Le(1.0)] = 0.8  # share of power_kw that reaches the cutter
    indexed: Flag = False  # turns the part between cuts (3+2, or a fourth axis); always so with five axes


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One material as the shop cuts it, with its own starting values (carbide, milling)."""

    __pydantic_config__: ClassVar[ConfigDict] = FILE_KEYS

    id: Name
    name: Name
    density_kg_m3: Positive
    kc1_n_mm2: Positive | None = None  # Kienzle: specific cutting force at 1 mm chip thickness; None = none published
    mc: Annotated[Number, Gt(0.0), Lt(1.0)] | None = None  # Kienzle: exponent
    cutting_speed_m_min: Positive  # carbide
    cutting_speed_hss_m_min: Positive | None = None  # None = a third of carbide's (common practice, no source)
    feed_per_tooth_ratio: Annotated[Number, Gt(0.0), Le(0.1)]  # feed per tooth / cutter diameter
    modulus_gpa: Positive | None = None
    min_wall_mm: PositiveMm
    aliases: tuple[Name, ...] = ()
    source: Name

    def __post_init__(self) -> None:
        if (self.kc1_n_mm2 is None) != (self.mc is None):
            raise ValueError("kc1_n_mm2 and mc belong together: give both or neither")


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Sizes of one form that the shop can buy at short notice; no materials named = all of them."""

    __pydantic_config__: ClassVar[ConfigDict] = FILE_KEYS

    form: StockForm
    sizes_mm: Annotated[tuple[PositiveMm, ...], MinLen(1)]  # plate: thickness, round bar: diameter, flat bar: thickness
    widths_mm: tuple[PositiveMm, ...] = ()  # flat bar
    materials: tuple[Name, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """Something the shop does not take on: a material's id, a process or a feature kind of the report."""

    __pydantic_config__: ClassVar[ConfigDict] = FILE_KEYS

    what: Refused
    name: Name
    why: Name


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitOverride:
    """The shop's own figure for one limit of one rule, in the rule's unit; `level` "off" silences that limit."""

    rule: str
    limit: str
    value: float | None = None  # None = the rule's own
    level: Level | Literal["off"] | None = None  # None = the rule's own


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """One shop: what it owns, how it works, what it charges, what it refuses."""

    __pydantic_config__: ClassVar[ConfigDict] = FILE_KEYS

    name: Name
    unit: Literal["mm", "inch"]
    machines: Annotated[tuple[Machine, ...], MinLen(1)]
    cutters: Annotated[tuple[Cutter, ...], MinLen(1)]
    holders: Annotated[tuple[Holder, ...], MinLen(1)]
    materials: Annotated[tuple[Material, ...], MinLen(1)]
    default_material: Name
    stock: tuple[Stock, ...] = ()
    stock_allowance_mm: LengthMm  # on each side, before the first cut
    grip_mm: PositiveMm  # height the vise jaws need
    vise_opening_mm: PositiveMm  # widest part the vise takes
    corner_clearance_ratio: Annotated[Number, Gt(0.0), Le(1.0)]  # cutter radius / inside corner radius, at most
    scallop_height_mm: PositiveMm  # left between passes on freeform surfaces
    max_deflection_mm: PositiveMm  # of a finishing cutter
    setup_minutes: NotNegative  # once per setup and batch
    load_minutes: NotNegative  # per part and setup
    deburr_minutes_per_m: NotNegative  # by hand, along sharp edges
    held_it_grade: Annotated[Count, Le(18)]  # ISO 286 grade the shop holds without extra care
    max_setups: Count
    currency: Name = "EUR"
    refuses: tuple[Refusal, ...] = ()
    limits: tuple[LimitOverride, ...] = ()
    note: str = ""


def _cutter_agrees(cutter: Cutter) -> None:
    """Raise ValueError where a cutter's numbers contradict one another."""
    half = cutter.diameter_mm / 2.0
    if cutter.kind != "slot" and cutter.reach_mm < cutter.flute_length_mm:
        raise ValueError("reach is shorter than flute_length: it counts from the holder to the tip")
    if cutter.kind == "ball" and abs(cutter.corner_radius_mm - half) > half * 1e-3:
        raise ValueError("a ball cutter's corner_radius is half its diameter")
    if cutter.kind == "bull" and not 0.0 < cutter.corner_radius_mm < half:
        raise ValueError("a bull cutter's corner_radius lies between 0 and half its diameter")
    if cutter.kind == "flat" and cutter.corner_radius_mm != 0.0:
        raise ValueError('a flat cutter has corner_radius 0; with a radius its kind is "bull"')
    if cutter.kind in ("drill", "spot", "chamfer") and cutter.point_angle_deg is None:
        raise ValueError(f"a {cutter.kind} needs its point_angle_deg")
    if cutter.kind == "tap" and (cutter.thread is None or cutter.pitch_mm is None):
        raise ValueError("a tap needs its thread and its pitch")
    if cutter.kind == "slot" and cutter.neck_diameter_mm is None:
        raise ValueError("a slot cutter needs its neck_diameter: it decides how deep an undercut can be")
