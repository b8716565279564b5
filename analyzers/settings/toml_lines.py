"""On which line of a TOML text a key stands; the standard library's reader does not say."""

import re
from typing import Final

Where = tuple[str | int, ...]

_HEADER: Final = re.compile(r"^\s*\[(?P<many>\[)?\s*(?P<key>[^\[\]]+?)\s*\]")
_BARE_OR_QUOTED: Final = r"""(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')"""
_PART: Final = re.compile(_BARE_OR_QUOTED)
_KEY: Final = re.compile(rf"^\s*(?P<key>{_BARE_OR_QUOTED}(?:\s*\.\s*{_BARE_OR_QUOTED})*)\s*=")
_INLINE_TABLE: Final = re.compile(r"^\s*\{")


def find_lines(text: str) -> dict[Where, int]:
    r"""Return the line (from 1) of each table and key; entries of arrays of tables are counted from 0.

    A table in braces that begins a line counts as an entry of the array above it.

    >>> find_lines('name = "x"\n[[cutters]]\nid = "E6"\n[[cutters]]\nid = "E8"\n')[("cutters", 1, "id")]
    5
    """
    lines: dict[Where, int] = {}
    counts: dict[Where, int] = {}
    table: Where = ()
    latest: Where = ()
    quote = ""
    for number, line in enumerate(text.split("\n"), start=1):  # splitlines knows line ends that TOML does not
        if quote:  # inside a text of several lines
            quote = "" if quote in line else quote
            continue
        if header := _HEADER.match(line):
            table = _table(header, counts)
            lines.setdefault(table, number)
            if header["many"]:
                lines.setdefault(table[:-1], number)
        elif key := _KEY.match(line):
            latest = table + _parts(key["key"])
            lines.setdefault(latest, number)
            quote = next((q for q in ('"""', "'''") if line.count(q) % 2), "")
        elif _INLINE_TABLE.match(line):
            counts[latest] = counts.get(latest, -1) + 1
            lines.setdefault((*latest, counts[latest]), number)
    return lines


def line_of(lines: dict[Where, int], where: Where) -> int | None:
    """Return the line of a key, or of the nearest table around it that has one."""
    for length in range(len(where), 0, -1):
        if where[:length] in lines:
            return lines[where[:length]]
    return None


def _parts(key: str) -> tuple[str, ...]:
    """Return the parts of a dotted key without their quotes."""
    return tuple(part.strip("\"'") for part in _PART.findall(key))


def _table(header: re.Match[str], counts: dict[Where, int]) -> Where:
    """Return where a header leads; an array of tables gets the number of its new entry."""
    where: Where = ()
    parts = _parts(header["key"])
    for index, part in enumerate(parts):
        where += (part,)
        last = index == len(parts) - 1
        if last and header["many"]:
            counts[where] = counts.get(where, -1) + 1
        if where in counts:
            where += (counts[where],)
    return where
