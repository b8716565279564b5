"""From TOML files to settings; every mistake says file, line, key, what was found and what was expected."""

import re
import tomllib
from collections.abc import Collection
from dataclasses import replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import TypeAdapter, ValidationError

from analyzers.errors import SettingsError
from analyzers.settings.limits import KnownLimits, split_limits
from analyzers.settings.mistakes import Mistake, explain, in_order, unknown
from analyzers.settings.policy import Policy
from analyzers.settings.references import contradictions
from analyzers.settings.settings import Settings
from analyzers.settings.shop import Material, Shop
from analyzers.settings.toml_lines import Where, find_lines, line_of

BUILT_IN_SHOP: Final = "example_shop.toml"
BUILT_IN_POLICY: Final = "default_policy.toml"
LARGEST_FILE_BYTES: Final = 4_000_000  # a shop file with ten thousand cutters; more is not a settings file

_Record = TypeVar("_Record", Shop, Policy)


def load_settings(
    shop: Path | None = None,
    policy: Path | None = None,
    material: str | None = None,
    quantity: int = 1,
    known_limits: KnownLimits | None = None,
    *,
    repair: bool = False,
) -> Settings:
    """Return the settings of one order.

    Parameters
    ----------
    shop, policy : TOML files; None = the built-in example shop, the built-in policy
    material : id, name or alias of one of the shop's materials, any case; None = the shop's default
    quantity : pieces ordered, 1 or more
    known_limits : names of each rule's limits, to find misspelt ones; None = not looked at
    repair : whether a model that is not sound is repaired before it is measured

    Raises
    ------
    SettingsError : one line: the file, the line, what was found, what was expected
    """
    if quantity < 1:
        raise SettingsError(f"quantity: found {quantity}, expected 1 or more")
    the_shop, shop_mistakes = _read_shop(shop, known_limits)
    if the_shop is None or shop_mistakes:
        raise SettingsError(_first(shop_mistakes, shop or Path(BUILT_IN_SHOP)))
    the_policy, policy_mistakes = _read_policy(policy, known_limits)
    if the_policy is None or policy_mistakes:
        raise SettingsError(_first(policy_mistakes, policy or Path(BUILT_IN_POLICY)))
    chosen = _choose_material(the_shop, material)
    return Settings(shop=the_shop, policy=the_policy, material=chosen, quantity=quantity, repair=repair)


def check_shop(path: Path, known_limits: KnownLimits | None = None) -> tuple[str, ...]:
    """Return every mistake of a shop file, one line each, from top to bottom; empty = none."""
    return tuple(each.text(path.name) for each in _read_shop(path, known_limits)[1])


def check_policy(path: Path, known_limits: KnownLimits | None = None) -> tuple[str, ...]:
    """Return every mistake of a policy file, one line each, from top to bottom; empty = none."""
    return tuple(each.text(path.name) for each in _read_policy(path, known_limits)[1])


def _first(mistakes: list[Mistake], path: Path) -> str:
    """Return the first mistake and how many more there are."""
    more = f" (and {len(mistakes) - 1} more)" if len(mistakes) > 1 else ""
    return mistakes[0].text(str(path)) + more


def _choose_material(shop: Shop, asked: str | None) -> Material:
    """Return the shop's material of that id, name or alias."""
    if asked is None:
        asked = shop.default_material
    for each in shop.materials:
        if asked.casefold() in {name.casefold() for name in (each.id, each.name, *each.aliases)}:
            return each
    names = [each.id for each in shop.materials]
    raise SettingsError(f'material: {unknown(asked, names, "material")} (shop "{shop.name}")')


def _read_shop(path: Path | None, known: KnownLimits | None) -> tuple[Shop | None, list[Mistake]]:
    """Return the shop, if it can be read, and what is wrong with it."""
    raw, lines, mistakes = _read_toml(path, BUILT_IN_SHOP)
    if raw is None:
        return None, mistakes
    overrides, mistakes = split_limits(raw.pop("limits", {}), known, lines)
    unit = raw.get("unit")
    shop, found = _build(_shop_adapter(), Shop, raw, lines, str(unit))
    mistakes += found + contradictions(raw, lines)
    if shop is None:
        return None, in_order(mistakes)
    return replace(shop, limits=tuple(overrides)), in_order(mistakes)


def _read_policy(path: Path | None, known: KnownLimits | None) -> tuple[Policy | None, list[Mistake]]:
    """Return the policy, if it can be read, and what is wrong with it."""
    raw, lines, mistakes = _read_toml(path, BUILT_IN_POLICY)
    if raw is None:
        return None, mistakes
    policy, mistakes = _build(_policy_adapter(), Policy, raw, lines, "mm")
    if policy is not None and known is not None:
        mistakes += _unknown_rules(policy, known, lines)
    return policy, in_order(mistakes)


def _unknown_rules(policy: Policy, known: Collection[str], lines: dict[Where, int]) -> list[Mistake]:
    """Return the rules that the policy names and nobody knows."""
    named: list[tuple[Where, tuple[str, ...]]] = [
        (("fail_rules",), policy.fail_rules),
        (("allow_rules",), policy.allow_rules),
    ]
    for number, each in enumerate(policy.override):
        named += [(("override", number, "fail_rules"), each.fail_rules or ())]
        named += [(("override", number, "allow_rules"), each.allow_rules or ())]
    return [
        Mistake(key, unknown(rule, known, "rule"), line_of(lines, key))
        for key, rules in named
        for rule in rules
        if rule not in known
    ]


def _build(
    adapter: TypeAdapter[_Record], record: type[_Record], raw: dict[str, Any], lines: dict[Where, int], unit: str
) -> tuple[_Record | None, list[Mistake]]:
    """Return the record made from the file's tables, or what is wrong with them."""
    try:
        return adapter.validate_python(raw, context={"unit": unit}), []
    except ValidationError as error:
        return None, explain(error, record, raw, lines)


@cache
def _shop_adapter() -> TypeAdapter[Shop]:
    """Return what checks a shop, made once: it takes longer to make than to use."""
    return TypeAdapter(Shop)


@cache
def _policy_adapter() -> TypeAdapter[Policy]:
    """Return what checks a policy."""
    return TypeAdapter(Policy)


def _read_toml(path: Path | None, built_in: str) -> tuple[dict[str, Any] | None, dict[Where, int], list[Mistake]]:
    """Return the file's tables and the lines of its keys, or why it cannot be read."""
    try:
        text = _text(path, built_in)
        return tomllib.loads(text), find_lines(text), []
    except FileNotFoundError:
        return None, {}, [Mistake((), "no such file, expected a TOML file")]
    except UnicodeDecodeError as error:
        return None, {}, [Mistake((), f"byte {error.start} is no UTF-8, expected a TOML file (text in UTF-8)")]
    except OSError as error:
        return None, {}, [Mistake((), f"cannot be read ({error.strerror}), expected a TOML file")]
    except RecursionError:
        return None, {}, [Mistake((), "arrays or tables nested too deeply, expected those of the example shop")]
    except ValueError as error:  # TOMLDecodeError is one; so is the refusal of a number with thousands of digits
        line = re.search(r"at line (\d+)", str(error))
        reason = re.sub(r" \(at .*\)", "", str(error))
        return None, {}, [Mistake((), f"{reason}, expected TOML", int(line[1]) if line else None)]


def _text(path: Path | None, built_in: str) -> str:
    """Return the text of a file, or of the built-in one."""
    if path is None:
        return files("analyzers.data").joinpath(built_in).read_text(encoding="utf-8")
    with path.open("rb") as stream:
        content = stream.read(LARGEST_FILE_BYTES + 1)
    if len(content) > LARGEST_FILE_BYTES:
        raise OSError(0, f"larger than {LARGEST_FILE_BYTES} bytes")
    return content.decode("utf-8-sig").replace("\r\n", "\n")
