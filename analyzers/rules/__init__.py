"""Rules: what an experienced machinist would say about a part, one file and one TOML of limits each."""

from analyzers.rules._base import Case, RuleText, check_limits, describe_rules, judge, preload
from analyzers.rules._limits import Limit, known_limits, rule_names

__all__ = [
    "Case",
    "Limit",
    "RuleText",
    "check_limits",
    "describe_rules",
    "judge",
    "known_limits",
    "preload",
    "rule_names",
]
