"""How a value of a settings file becomes a field: lengths in the file's unit or as text, keys without `_mm`."""

from typing import Any, Final

from pydantic import BeforeValidator, ConfigDict, ValidationInfo

from analyzers.units import MM_PER_INCH, parse_length_mm


def file_key(field: str) -> str:
    """Return the key of the file for a field: lengths drop their `_mm`, because the file says its unit once.

    >>> [file_key(field) for field in ("reach_mm", "max_feed_mm_min", "kc1_n_mm2")]
    ['reach', 'max_feed', 'kc1_n_mm2']
    """
    return field.removesuffix("_mm_min").removesuffix("_mm")


FILE_KEYS: Final = ConfigDict(extra="forbid", alias_generator=file_key, allow_inf_nan=False)
"""Shared by every record of a settings file: unknown keys are mistakes."""


def _to_mm(value: Any, info: ValidationInfo) -> Any:
    """Return a length in millimetres; a value of another type is left for pydantic to name."""
    inch = bool(info.context and info.context.get("unit") == "inch")
    if isinstance(value, str):
        return parse_length_mm(value, "inch" if inch else "mm")
    if isinstance(value, bool) or not isinstance(value, int | float):
        return value
    return value * MM_PER_INCH if inch else value


LENGTH: Final = BeforeValidator(_to_mm)
"""Marks a field whose value is a length in the file's unit, or a text with its own unit: "1/4 in"."""
