"""How the part could be made: setups, cutters, what stays unmade, minutes."""

from dataclasses import dataclass

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
class Plan:
    """The whole plan for one body in one shop."""

    machine: str | None
    stock_mm: Vec  # block the part is cut from, after allowance
    removed_mm3: float
    setups: tuple[Setup, ...]
    tools: tuple[CutterUse, ...]
    unmade: tuple[Unmade, ...]
    minutes: Minutes
    setup_minutes: float
    assumptions: tuple[str, ...]
