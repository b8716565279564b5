"""Plans, findings and sources to sort by; parts and features come from the plan's builders."""

from dataclasses import replace

from analyzers.model.arrays import Vec
from analyzers.model.finding import Change, Finding, Level
from analyzers.model.plan import CutterUse, Minutes, Plan, Setup, Unmade
from analyzers.model.source import Source

UP: Vec = (0.0, 0.0, 1.0)
MM = Source("bracket.step", "0" * 64, 1000, length_unit="mm")
INCH = replace(MM, length_unit="inch")


def setup(number: int = 1, **more: object) -> Setup:
    """Return a setup held in a vise unless said otherwise."""
    values: dict[str, object] = {
        "id": f"S{number}",
        "direction": UP,
        "features": (),
        "why": "top",
        "held_by": "vise",
        "vise_faces": (1, 3),
    }
    return Setup(**(values | more))  # type: ignore[arg-type]  # the values are those of the class


def plan(**more: object) -> Plan:
    """Return the plan of something easy: one setup, two cutters, ten minutes."""
    values: dict[str, object] = {
        "machine": "mill-3",
        "stock_mm": (64.0, 44.0, 25.0),
        "removed_mm3": 20_000.0,
        "setups": (setup(),),
        "tools": tuple(cutter(name) for name in ("drill 5", "flat 10")),
        "unmade": (),
        "minutes": minutes(10.0),
        "setup_minutes": 25.0,
        "assumptions": (),
    }
    return Plan(**(values | more))  # type: ignore[arg-type]  # the values are those of the class


def minutes(likely: float) -> Minutes:
    """Return a range around a likely value."""
    return Minutes(low=0.7 * likely, likely=likely, high=1.5 * likely)


def cutter(name: str) -> CutterUse:
    """Return one cutter in the first setup."""
    return CutterUse(cutter=name, features=(), setup="S1", minutes=1.0)


def unmade(feature: str = "F1", why: str = "no drill of ⌀7.5 on the shelf") -> Unmade:
    """Return one feature that stays unmade."""
    return Unmade(feature=feature, why=why)


def finding(level: Level = "warning", rule: str = "some_rule", change: Change | None = None, **more: object) -> Finding:
    """Return a finding; its features are those of the change."""
    values: dict[str, object] = {
        "rule": rule,
        "level": level,
        "message": "Hole ⌀5 is deep.",
        "suggestion": "⌀6.",
        "features": change.features if change else (),
        "change": change,
    }
    return Finding(**(values | more))  # type: ignore[arg-type]  # the values are those of the class


def change(field: str, value: float, *features: str) -> Change:
    """Return a change of a field of some features (F1 unless said otherwise)."""
    return Change(features=features or ("F1",), field=field, value=value)
