"""How the part could be made: setups, cutters, what stays unmade, minutes."""

from dataclasses import dataclass
from typing import Literal

from analyzers.model.arrays import Vec


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """One clamping: the spindle's direction and the features reached from it."""

    id: str  # "S1", ...
    direction: Vec  # unit, out of the part towards the spindle
    features: tuple[str, ...]
    why: str
    vise_faces: tuple[int, ...] = ()  # two parallel faces the vise can hold; empty = none found
    grip_width_mm: float | None = None
    machine: str | None = None  # id
    held_by: Literal["vise", "chuck", "fixture"] | None = None
    held_why: str = ""  # in plain words, with the sizes
    indexed: tuple[Vec, ...] = ()  # further directions reached by turning the part on the machine, without unclamping


@dataclass(frozen=True, slots=True, kw_only=True)
class CutterUse:
    """One shelf cutter in one setup, and the features it makes."""

    cutter: str
    features: tuple[str, ...]
    setup: str
    minutes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Unmade:
    """A feature that no cutter of the shop can make as modelled."""

    feature: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Minutes:
    """Machining time of one part, an estimate."""

    low: float
    likely: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeShare:
    """Where a part of the minutes goes, for example "rough", "drill", "tool changes"."""

    name: str
    minutes: float  # of one part, as in `Minutes.likely`


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The whole plan for one body in one shop."""

    machine: str | None
    stock_mm: Vec  # block the part is cut from, after allowance
    removed_mm3: float
    setups: tuple[Setup, ...]
    tools: tuple[CutterUse, ...]
    unmade: tuple[Unmade, ...]
    minutes: Minutes  # of one part, without setting up
    setup_minutes: float  # once for the whole batch
    assumptions: tuple[str, ...]
    stock_form: Literal["plate", "flat_bar", "round_bar", "block"] = "block"
    stock_why: str = ""
    time_shares: tuple[TimeShare, ...] = ()  # largest first; they add up to `minutes.likely`
    unreached_faces: tuple[int, ...] = ()  # that no direction reaches, wholly or partly
