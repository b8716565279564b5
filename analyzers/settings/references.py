"""Names in a shop file that must be given once, and names that must point at something in it.

Works on the file's raw tables, so that these mistakes are found together with those of single values.
"""

from collections.abc import Iterator
from typing import Any

from analyzers.settings.mistakes import Mistake, unknown
from analyzers.settings.toml_lines import Where, line_of


def contradictions(raw: dict[str, Any], lines: dict[Where, int]) -> list[Mistake]:
    """Return ids that are given twice and references that point at nothing."""
    found = [*_given_twice(raw), *_names_twice(raw), *_pointing_nowhere(raw)]
    return [Mistake(where, message, line_of(lines, where)) for where, message in found]


def _tables(raw: dict[str, Any], key: str) -> list[dict[str, Any]]:
    """Return the entries of an array of tables; an entry of another type counts, but is empty."""
    entries = raw.get(key)
    return [each if isinstance(each, dict) else {} for each in entries] if isinstance(entries, list) else []


def _ids(raw: dict[str, Any], key: str) -> list[str]:
    """Return the ids in an array of tables."""
    return [each["id"] for each in _tables(raw, key) if isinstance(each.get("id"), str)]


def _given_twice(raw: dict[str, Any]) -> Iterator[tuple[Where, str]]:
    """Yield each id that an earlier entry of the same array has."""
    for key in ("machines", "cutters", "holders"):  # materials: see _names_twice
        first: dict[str, int] = {}
        for index, entry in enumerate(_tables(raw, key)):
            name = entry.get("id")
            if isinstance(name, str) and first.setdefault(name, index) != index:
                where = f"{key}[{first[name] + 1}]"
                yield (key, index, "id"), f'found "{name}" again (first in {where}), expected another id'


def _names_twice(raw: dict[str, Any]) -> Iterator[tuple[Where, str]]:
    """Yield each alias that is also another material's id, name or alias: an order could mean either."""
    first: dict[str, int] = {}
    for index, entry in enumerate(_tables(raw, "materials")):
        aliases = entry.get("aliases")
        named = [entry.get("id"), entry.get("name"), *(aliases if isinstance(aliases, list) else [])]
        for name in named:
            if isinstance(name, str) and first.setdefault(name.casefold(), index) != index:
                where = f"materials[{first[name.casefold()] + 1}]"
                yield (
                    ("materials", index, "aliases"),
                    f'found "{name}", which also names {where}, expected another name',
                )


def _pointing_nowhere(raw: dict[str, Any]) -> Iterator[tuple[Where, str]]:
    """Yield each reference to a material or holder that the file does not have."""
    materials, holders = _ids(raw, "materials"), _ids(raw, "holders")
    default = raw.get("default_material")
    if isinstance(default, str) and default not in materials:
        yield ("default_material",), unknown(default, materials, "material")
    for index, cutter in enumerate(_tables(raw, "cutters")):
        holder = cutter.get("holder")
        if isinstance(holder, str) and holder not in holders:
            yield ("cutters", index, "holder"), unknown(holder, holders, "holder")
    for index, stock in enumerate(_tables(raw, "stock")):
        named = stock.get("materials")
        for name in named if isinstance(named, list) else []:
            if name not in materials:
                yield ("stock", index, "materials"), unknown(str(name), materials, "material")
    for index, refusal in enumerate(_tables(raw, "refuses")):
        name = refusal.get("name")
        if refusal.get("what") == "material" and isinstance(name, str) and name not in materials:
            yield ("refuses", index, "name"), unknown(name, materials, "material")
