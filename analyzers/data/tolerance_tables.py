"""Tables about tolerances and finish: ISO 286 grades, general tolerances, what processes reach."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from analyzers.data.rows import Row


@dataclass(frozen=True, slots=True, kw_only=True)
class ToleranceGrade(Row):
    """Standard tolerances of ISO 286-1, grades 5 to 13, nominal sizes to 500 mm."""

    table: ClassVar[str] = "iso286_it"

    over_mm: float
    to_mm: float
    grade: int
    tolerance_um: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GeneralLinear(Row):
    """General tolerances of lengths, ISO 2768-1 (each way)."""

    table: ClassVar[str] = "iso2768_1_linear"

    tolerance_class: Literal["f", "m", "c", "v"]
    over_mm: float
    to_mm: float
    deviation_mm: float
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GeneralEdge(Row):
    """General tolerances of outside radii and chamfers, ISO 2768-1 (each way)."""

    table: ClassVar[str] = "iso2768_1_edges"

    tolerance_class: Literal["f", "m", "c", "v"]
    over_mm: float
    to_mm: float | None
    deviation_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GeneralAngle(Row):
    """General tolerances of angles by the shorter side, ISO 2768-1 (each way)."""

    table: ClassVar[str] = "iso2768_1_angles"

    tolerance_class: Literal["f", "m", "c", "v"]
    over_mm: float
    to_mm: float | None
    deviation_arcmin: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GeneralGeometry(Row):
    """General geometrical tolerances of ISO 2768-2, withdrawn in 2021: for old drawings only."""

    table: ClassVar[str] = "iso2768_2_geometric"

    characteristic: str
    tolerance_class: Literal["H", "K", "L"]
    over_mm: float | None
    to_mm: float | None
    tolerance_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcessGrade(Row):
    """ISO 286 grades that processes reach; the number of grades was seen, where they begin is from memory."""

    table: ClassVar[str] = "process_it"

    process: str
    best_grade: int
    worst_grade: int
    spanned_grades: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcessFinish(Row):
    """Surface roughness Ra that processes usually leave, micrometres."""

    table: ClassVar[str] = "process_ra"

    process: str
    best_um: float
    worst_um: float
