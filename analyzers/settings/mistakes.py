"""What is wrong in a settings file, in words: where, what was found, what was expected."""

import difflib
import types
from collections.abc import Iterable
from dataclasses import dataclass, fields, is_dataclass
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from analyzers.settings.file_values import file_key
from analyzers.settings.toml_lines import Where, line_of


@dataclass(frozen=True, slots=True)
class Mistake:
    """One thing to put right; `where` is the path of keys, entries of arrays counted from 0."""

    where: Where
    message: str
    line: int | None = None

    def text(self, file_name: str) -> str:
        """Return for example `shop.toml, line 12, cutters[3].kind: found "flatt", expected ...`."""
        place = file_name if self.line is None else f"{file_name}, line {self.line}"
        return f"{place}, {_path(self.where)}: {self.message}" if self.where else f"{place}: {self.message}"


def explain(error: ValidationError, record: type, lines: dict[Where, int]) -> list[Mistake]:
    """Return the mistakes that pydantic found in a record, in the order of the file where lines are known."""
    found: dict[tuple[Where, str], Mistake] = {}
    for each in error.errors(include_url=False):
        where = tuple(each["loc"])
        found.setdefault((where, each["type"]), Mistake(where, _message(each, record, where), line_of(lines, where)))
    return in_order(found.values())


def in_order(mistakes: Iterable[Mistake]) -> list[Mistake]:
    """Return the mistakes from the top of the file to its bottom."""
    return sorted(mistakes, key=lambda each: (each.line or 0, str(each.where)))


def unknown(found: str, expected: Iterable[str], noun: str = "key") -> str:
    """Return the message about a name that is not known, with the nearest one that is."""
    known = sorted(set(expected))
    near = difflib.get_close_matches(found, known, n=1, cutoff=0.6)
    meant = f'; did you mean "{near[0]}"?' if near else ""
    return f'unknown {noun} "{found}", expected one of {", ".join(known) or "none"}{meant}'


def _path(where: Where) -> str:
    """Return `cutters[3].kind`; entries are counted from 1, as people count tables in a file."""
    text = ""
    for part in where:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else part
    return text


def _message(error: ErrorDetails, record: type, where: Where) -> str:
    """Return what was found and what was expected."""
    kind, given, context = error["type"], error.get("input"), error.get("ctx", {})
    if kind in ("extra_forbidden", "unexpected_keyword_argument"):
        return unknown(str(where[-1]), _keys(_record_at(record, where[:-1])))
    if kind in ("missing", "missing_argument", "missing_keyword_only_argument"):
        return f'nothing found, expected the key "{where[-1]}"'
    if kind == "value_error":
        reason = str(context.get("error", error["msg"]))
        return reason if isinstance(given, dict) else f"found {_shown(given)}: {reason}"
    if kind == "literal_error":
        choices = [str(each) for each in get_args(_type_at(record, where))]
        near = difflib.get_close_matches(str(given), choices, n=1, cutoff=0.6)
        meant = f'; did you mean "{near[0]}"?' if near else ""
        return f"found {_shown(given)}, expected {context.get('expected')}{meant}"
    wanted = error["msg"].removeprefix("Input should be ").removeprefix("a valid ")
    return f"found {_shown(given)}, expected {wanted[:1].lower()}{wanted[1:]}"


def _shown(value: Any) -> str:
    """Return a value as the file writes it, shortened."""
    if isinstance(value, bool):
        return str(value).lower()
    text = f'"{value}"' if isinstance(value, str) else "a table" if isinstance(value, dict) else repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _bare(hint: Any) -> Any:
    """Return a type without Annotated and without `| None`."""
    while True:
        if get_origin(hint) is Annotated:
            hint = get_args(hint)[0]
        elif get_origin(hint) in (Union, types.UnionType):
            hint = next(each for each in get_args(hint) if each is not type(None))
        else:
            return hint


def _type_at(record: type, where: Where) -> Any:
    """Return the type that the record expects at a place of the file; None where it expects nothing."""
    hint: Any = record
    for part in where:
        hint = _bare(hint)
        if isinstance(part, int) and get_origin(hint) is tuple:
            hint = get_args(hint)[0]
        elif isinstance(part, str) and is_dataclass(hint) and isinstance(hint, type):
            hints = get_type_hints(hint, include_extras=True)
            hint = next((hints[each.name] for each in fields(hint) if file_key(each.name) == part), None)
        else:
            return None
    return _bare(hint)


def _record_at(record: type, where: Where) -> Any:
    """Return the dataclass that the record expects at a place."""
    return _type_at(record, where) if where else record


def _keys(record: Any) -> list[str]:
    """Return the keys that a table of the file may have."""
    return [file_key(each.name) for each in fields(record)] if is_dataclass(record) else []
