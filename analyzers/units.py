"""Lengths in millimetres and inches: conversion, text for drawings, and text of settings files; times as text."""

import re
from fractions import Fraction
from typing import Final, Literal

UnitSystem = Literal["mm", "inch"]

MM_PER_INCH: Final = 25.4
"""Exact by definition (international yard and pound agreement, 1959)."""

_LONG_HOURS: Final = 10  # from here on minutes are noise

_LENGTH = re.compile(
    r"""^\s*(?:(?P<whole>\d+)\s+(?P<num>\d+)/(?P<den>\d+)   # 1 1/4
        |(?P<num_only>\d+)/(?P<den_only>\d+)                # 3/8
        |(?P<decimal>\d+(?:\.\d*)?|\.\d+))                  # 0.25, .25, 6
        \s*(?P<unit>mm|in|inch|")?\s*$""",
    re.VERBOSE | re.ASCII,
)


def to_mm(value: float, unit: UnitSystem) -> float:
    """Return a length given in a unit, in millimetres."""
    return value * MM_PER_INCH if unit == "inch" else value


def parse_length_mm(text: str, default_unit: UnitSystem) -> float:
    """Return the millimetres that a text such as "1/4", "1 1/2 in", ".250 in" or "6 mm" means.

    Raises
    ------
    ValueError : the text is no length; says what is expected

    Examples
    --------
    >>> parse_length_mm("1 1/4 in", "mm"), parse_length_mm("1/4", "inch"), parse_length_mm("6 mm", "inch")
    (31.75, 6.35, 6.0)
    """
    found = _LENGTH.match(text)
    denominator = int((found["den"] or found["den_only"] or 1) if found else 0)
    if found is None or denominator == 0:
        raise ValueError(f"{text!r} is no length: expected for example 6, '6 mm', '0.25 in' or '1 1/4 in'")
    if found["decimal"] is not None:
        value = float(found["decimal"])
    else:
        value = float(int(found["whole"] or 0) + Fraction(int(found["num"] or found["num_only"]), denominator))
    unit = {None: default_unit, "mm": "mm"}.get(found["unit"], "inch")
    return value * MM_PER_INCH if unit == "inch" else value


def length_text(value_mm: float, unit: UnitSystem) -> str:
    """Return a length with its unit as a drawing writes it: millimetres to a micrometre, inches to four decimals.

    >>> length_text(6.6, "mm"), length_text(5.1054, "inch"), length_text(0.05, "inch")
    ('6.6 mm', '0.201 in', '0.002 in')
    """
    return f"{_decimals(value_mm / MM_PER_INCH, 4)} in" if unit == "inch" else f"{_decimals(value_mm, 3)} mm"


def _decimals(value: float, places: int) -> str:
    """Return a number with so many decimals at most; "g" would cut long parts to six digits."""
    text = f"{value:.{places}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def inch_fraction(value_mm: float, largest_denominator: int = 64) -> str | None:
    """Return a length as inches and a binary fraction; None where it is none within a tenth of the smallest step.

    >>> inch_fraction(6.35), inch_fraction(38.1), inch_fraction(31.75), inch_fraction(6.6)
    ('1/4', '1 1/2', '1 1/4', None)
    """
    steps = value_mm / MM_PER_INCH * largest_denominator
    whole = round(steps)
    if whole <= 0 or abs(steps - whole) > 0.1:
        return None
    inches, rest = divmod(Fraction(whole, largest_denominator), 1)
    parts = [str(inches)] * (inches > 0) + [str(rest)] * (rest > 0)
    return " ".join(parts)


def duration_text(minutes: float) -> str:
    """Return a time given in minutes as every text of ours says it: "40 s", "45 min", "2 h 10 min".

    Examples
    --------
    >>> duration_text(0.62), duration_text(4.2), duration_text(44.6), duration_text(130)
    ('37 s', '4 min', '45 min', '2 h 10 min')
    """
    if minutes < 1:
        return f"{max(1, round(minutes * 60))} s" if minutes > 0 else "0 min"
    whole = round(minutes)
    if whole < 60:
        return f"{whole} min"
    hours, rest = divmod(whole, 60)
    if hours >= _LONG_HOURS:
        return f"{round(minutes / 60):,} h".replace(",", "\u202f")
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def duration_range_text(low: float, high: float) -> str:
    """Return for example "12 to 40 min"; one figure where both ends read the same."""
    first, last = duration_text(low), duration_text(high)
    if first == last:
        return first
    if first.endswith(" min") and last.endswith(" min") and "h" not in first + last:
        first = first.removesuffix(" min")
    return f"{first} to {last}"
