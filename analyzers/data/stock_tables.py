"""Tables about bars and plates: sizes, and what has to come off their surface."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from analyzers.data.rows import Row


@dataclass(frozen=True, slots=True, kw_only=True)
class StockSize(Row):
    """Commonly stocked sizes in `unit`: plate thickness, bar diameter, flat bar thickness and width."""

    table: ClassVar[str] = "stock_sizes"

    form: str
    unit: Literal["mm", "in"]
    size: float
    width: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class HotRolledAllowance(Row):
    """Least removal per side from hot-rolled bar, by size in inches (AISI, 1986)."""

    table: ClassVar[str] = "allowance_hot_rolled_bar"

    over_in: float
    to_in: float
    per_side_in: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolSteelAllowance(Row):
    """Machining allowance per side on the thickness of hot-rolled tool-steel flats, inches."""

    table: ClassVar[str] = "allowance_tool_steel_flat"

    over_in: float
    to_in: float
    width_to_in: float
    per_side_in: float
