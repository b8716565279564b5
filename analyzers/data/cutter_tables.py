"""Tables about cutters and the shapes they leave: lengths, points, T-slots, keyways, radii, thread mills, undercuts."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from analyzers.data.rows import Row
from analyzers.units import MM_PER_INCH


@dataclass(frozen=True, slots=True, kw_only=True)
class MetricEndMill(Row):
    """Flute lengths of end mills: carbide DIN 6527 (short K, long L), high-speed steel DIN 844."""

    table: ClassVar[str] = "endmill_lengths_metric"

    diameter_mm: float
    carbide_short_mm: float | None
    carbide_long_mm: float | None
    hss_short_mm: float | None
    hss_long_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class InchEndMill(Row):
    """Flute lengths of inch carbide end mills by style."""

    table: ClassVar[str] = "endmill_lengths_inch"

    size: str
    stub_in: float
    regular_in: float
    long_in: float
    extra_long_in: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillPoint(Row):
    """Point angles of drills and the height of the cone over the diameter."""

    table: ClassVar[str] = "drill_points"

    point_angle_deg: float
    cone_ratio: float
    use: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TSlot(Row):
    """T-slots ISO 299 and their cutters DIN 851."""

    table: ClassVar[str] = "t_slots"

    slot_width_mm: float
    cutter_diameter_mm: float
    cutter_width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreadMill(Row):
    """Usual cutter diameter of solid carbide thread mills."""

    table: ClassVar[str] = "thread_mills"

    thread: str
    cutter_diameter_mm: float
    hole_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Woodruff(Row):
    """Woodruff keyseat cutters ASME B17.2; the number says 32nds of width and 8ths of diameter."""

    table: ClassVar[str] = "woodruff_b17_2"

    key: str
    width_in: float
    diameter_in: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Keyway(Row):
    """Parallel keys and keyways DIN 6885-1."""

    table: ClassVar[str] = "keyways_din6885"

    width_mm: float
    key_height_mm: float
    hub_depth_mm: float
    from_shaft_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardRadius(Row):
    """Radii and chamfers that stock cutters or DIN 250 offer."""

    table: ClassVar[str] = "radii_series"

    series: str
    unit: Literal["mm", "in"]
    value: float

    @property
    def value_mm(self) -> float:
        """The radius in millimetres."""
        return self.value * MM_PER_INCH if self.unit == "in" else self.value


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreadUndercut(Row):
    """Undercuts of external threads, DIN 76-1 form A: groove diameter = nominal - `below_nominal_mm`."""

    table: ClassVar[str] = "thread_undercut_external_din76"

    pitch_mm: float
    below_nominal_mm: float
    width_min_mm: float
    width_max_mm: float
    radius_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ShoulderUndercut(Row):
    """Undercuts of turned shoulders, DIN 509 forms E and F."""

    table: ClassVar[str] = "undercut_din509"

    form: str
    radius_mm: float
    depth_mm: float
    width_mm: float
    run_out_mm: float
    face_depth_mm: float
    shaft_mm: str  # range of shafts, with remarks
