"""What is wrong in a settings file, in words: where, what was found, what was expected."""

import difflib
import types
from collections.abc import Iterable
from dataclasses import dataclass, fields, is_dataclass
from typing import Annotated, Any, Final, Union, get_args, get_origin, get_type_hints

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
        text = f"{place}, {_path(self.where)}: {self.message}" if self.where else f"{place}: {self.message}"
        return "".join(sign if sign.isprintable() else f"\\u{ord(sign):04x}" for sign in text)  # no control characters


def explain(error: ValidationError, record: type, raw: dict[str, Any], lines: dict[Where, int]) -> list[Mistake]:
    """Return the mistakes that pydantic found in the raw tables of a record."""
    details = error.errors(include_url=False)
    inside = {tuple(each["loc"][:length]) for each in details for length in range(len(each["loc"]))}
    found: dict[tuple[Where, str], Mistake] = {}
    for each in details:
        where = tuple(each["loc"])
        if each["type"] == "too_short" and where in inside:
            continue  # entries that are wrong are not counted; they have their own mistakes
        mistake = Mistake(where, _message(each, record, where, _given(raw, where)), line_of(lines, where))
        found.setdefault((where, each["type"]), mistake)
    return list(found.values())


def in_order(mistakes: Iterable[Mistake]) -> list[Mistake]:
    """Return the mistakes from the top of the file to its bottom, then those that have no line."""
    return sorted(mistakes, key=lambda each: (each.line is None, each.line or 0, [str(part) for part in each.where]))


def unknown(found: str, expected: Iterable[str], noun: str = "key", where: str = "") -> str:
    """Return the message about a name that is not known, with the nearest one that is."""
    known = sorted(set(expected))
    return f'unknown {noun} "{found}"{where}, expected one of {", ".join(known) or "none"}{_nearest(found, known)}'


def _nearest(found: str, known: Iterable[str]) -> str:
    """Return the question after the name that was probably meant; empty where none is near."""
    near = difflib.get_close_matches(found, list(known), n=1, cutoff=0.6)
    return f'; did you mean "{near[0]}"?' if near else ""


_EXPECTED: Final = {
    "bool_type": "true or false",
    "dataclass_type": "a table",
    "finite_number": "a finite number",
    "float_type": "a number",
    "greater_than": "more than {gt:g}",
    "greater_than_equal": "at least {ge:g}",
    "int_type": "a whole number",
    "less_than": "less than {lt:g}",
    "less_than_equal": "at most {le:g}",
    "string_too_short": "at least {min_length} character",
    "string_type": "a text",
    "too_long": "{max_length} entries",
    "too_short": "at least {min_length} entry",
    "tuple_type": "an array",
}
"""What was expected, by the kind of pydantic's error."""


def _path(where: Where) -> str:
    """Return `cutters[3].kind`; entries are counted from 1, as people count tables in a file."""
    text = ""
    for part in where:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else part
    return text


def _given(raw: Any, where: Where) -> Any:
    """Return what stands at a place of the file, as it stands there; None where nothing does."""
    for part in where:
        try:
            raw = raw[part]
        except (KeyError, IndexError, TypeError):
            return None
    return raw


def _message(error: ErrorDetails, record: type, where: Where, given: Any) -> str:
    """Return what was found and what was expected."""
    kind = error["type"]
    if kind == "unexpected_keyword_argument":
        return unknown(str(where[-1]), _keys(_type_at(record, where[:-1])))
    if kind in ("missing", "missing_argument", "missing_keyword_only_argument"):
        last = where[-1]
        return f"expected entry {last + 1}" if isinstance(last, int) else f'nothing found, expected the key "{last}"'
    if kind == "value_error":
        reason = str(error["ctx"]["error"])
        return reason if isinstance(given, dict) else f"found {shown(given)}: {reason}"
    if kind == "literal_error":
        choices = [str(each) for each in get_args(_type_at(record, where))]
        listed = ", ".join(f'"{each}"' for each in choices)
        return f"found {shown(given)}, expected one of {listed}{_nearest(str(given), choices)}"
    wanted = _EXPECTED.get(kind, error["msg"]).format_map(error.get("ctx", {}))
    return f"found {shown(given)}, expected {wanted}"


def shown(value: Any) -> str:
    """Return a value as the file writes it, shortened."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple) and not value:
        return "an empty array"
    text = f'"{value}"' if isinstance(value, str) else str(value)
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


def _keys(record: Any) -> list[str]:
    """Return the keys that a table of the file may have."""
    return [file_key(each.name) for each in fields(record)]
