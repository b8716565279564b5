"""Tables about materials and cutting: speeds, specific cutting force, unit power."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from analyzers.data.rows import Row


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialData(Row):
    """One material. `cells_from_memory` names the cells of a row that no source stands behind."""

    table: ClassVar[str] = "materials"

    id: str
    alias: str
    density_kg_m3: float
    modulus_low_gpa: float
    modulus_high_gpa: float
    hardness: str
    machinability_pct: float | None
    machinability_src: str
    vdi3323_group: str
    kc1_n_mm2: float | None
    mc: float | None
    kc_src: str
    hss_low_m_min: float | None
    hss_high_m_min: float | None
    carbide_low_m_min: float
    carbide_high_m_min: float
    feed_low: float
    feed_high: float
    feed_unit: Literal["D", "mm"]  # of the cutter's diameter, or millimetres per tooth
    note: str
    cells_from_memory: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Kienzle(Row):
    """Specific cutting force by VDI 3323 group: k_c = kc1 h^-mc."""

    table: ClassVar[str] = "kienzle_vdi3323"

    group: str
    material: str
    strength_n_mm2: float | None
    kc1_n_mm2: float
    mc: float | None
    hardness_hb: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ForceByFeed(Row):
    """Specific cutting force of milling (N/mm2) at feeds per tooth of 0.1 to 0.6 mm."""

    table: ClassVar[str] = "kc_milling_by_feed"

    material: str
    strength_n_mm2: str
    kc_at_01: float
    kc_at_02: float
    kc_at_03: float
    kc_at_04: float
    kc_at_06: float
    fitted_exponent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitPower(Row):
    """Energy to remove a cubic millimetre with a sharp tool at 0.25 mm chip thickness (Groover)."""

    table: ClassVar[str] = "unit_power"

    material: str
    hardness_hb: str
    energy_j_mm3: float
    hp_per_in3_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingSpeed(Row):
    """Cutting speeds as makers print them: starting points, not limits."""

    table: ClassVar[str] = "cutting_speeds"

    operation: str
    material: str
    low_m_min: float
    high_m_min: float
