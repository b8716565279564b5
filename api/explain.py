"""Texts about the rules and the shop file."""

import textwrap
from importlib.resources import files
from pathlib import Path

from analyzers.report.rules_page import rules_page
from analyzers.rules import RuleText, describe_rules, known_limits
from analyzers.settings import check_shop
from analyzers.settings.files import BUILT_IN_SHOP

_WIDTH = 100


def rules_text(names: tuple[str, ...] = ()) -> str:
    """Return all rules explained, or those named.

    Raises
    ------
    KeyError : there is no rule of that name; the message lists them all
    """
    return "\n\n".join(map(_rule, _asked(names)))


def rules_html(names: tuple[str, ...] = ()) -> str:
    """Return the page about all rules, or those named.

    Raises
    ------
    KeyError : there is no rule of that name; the message lists them all
    """
    return rules_page(_asked(names)).rstrip()


def _asked(names: tuple[str, ...]) -> list[RuleText]:
    rules = {each.name: each for each in describe_rules()}
    if unknown := [each for each in names if each not in rules]:
        raise KeyError(f"{unknown[0]}: no such rule; expected one of {', '.join(rules)}")
    return [rules[name] for name in names or rules]


def _rule(rule: RuleText) -> str:
    lines = [f"{rule.name}: {rule.title}"]
    for word, text in (("What", rule.what), ("Why", rule.why), ("Instead", rule.instead)):
        lines += textwrap.wrap(f"{word}: {text}", _WIDTH, initial_indent="  ", subsequent_indent="    ")
    for limit in rule.limits:
        bound = "at most" if limit.sense == "at_most" else "at least"
        text = f"{limit.level}: {limit.name} {bound} {limit.value:g} {limit.unit} [{limit.source}]"
        lines += textwrap.wrap(text, _WIDTH, initial_indent="  - ", subsequent_indent="    ")
    return "\n".join(lines)


def example_shop() -> str:
    """Return the built-in shop file."""
    return (files("analyzers.data") / BUILT_IN_SHOP).read_text("utf-8").rstrip()


def shop_mistakes(path: Path) -> tuple[str, ...]:
    """Return every mistake of a shop file, one line each."""
    return check_shop(path, known_limits())
