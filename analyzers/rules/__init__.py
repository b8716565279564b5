"""Rules: what an experienced machinist would say about a part, one file and one TOML of limits each."""

from analyzers.rules._base import (
    Case,
    RuleText,
    check_limits,
    describe_rules,
    judge,
    judge_all,
    judge_one,
    preload,
    warning_rules,
)
from analyzers.rules._limits import Limit, known_limits, rule_names
from analyzers.rules._units import drawn_in, grid_mm

__all__ = [
    "Case",
    "Limit",
    "RuleText",
    "check_limits",
    "describe_rules",
    "drawn_in",
    "grid_mm",
    "judge",
    "judge_all",
    "judge_one",
    "known_limits",
    "preload",
    "rule_names",
    "warning_rules",
]
