"""Sentences and callouts about millimetres, said in inches."""

import re

from analyzers.units import MM_PER_INCH

_NUMBER = r"\d+(?:\.\d+)?"
_WRITTEN = r"\d+(?:[.,]\d+)?"  # questions are asked in German with a comma
_IN_CALLOUT = re.compile(rf"(?<![\d.]){_NUMBER}(?![\d.]*°)(?![\d.])")
_BARE = r"(?<![\w.,×/-])"  # not within a thread's name, a fraction or a longer chain
LENGTHS = re.compile(
    rf"(?P<callout>⌀{_NUMBER} × {_NUMBER}(?![\d.]*°)"  # a turned diameter and its length
    rf"|⌀{_NUMBER} {_NUMBER}(?= ↧)"  # a groove
    rf"|{_BARE}{_NUMBER}(?: × {_NUMBER})*(?= [↧↥])|{_BARE}{_NUMBER} × {_NUMBER}(?= THRU)"  # pockets, slots, steps
    rf"|{_BARE}{_NUMBER}(?= × {_NUMBER}°))"  # a chamfer
    rf"|(?P<mark>[⌀↧↥]\s?|\bS?R(?=\d))(?P<marked>{_WRITTEN})(?:\s?mm\b(?![²³\d/]))?(?![\d.]*°)"
    rf"|(?P<chain>{_WRITTEN}(?:\s?[×x]\s?{_WRITTEN})*)\s?mm(?P<power>[²³]|\b(?![²³/]))"
    r"|(?<![\w./])(?P<inches>\d+[.,]\d+)\sin\b"  # what is said of an inch part; "8 in a row" has no decimals
)


def inch_number(value: float, power: int = 1) -> str:
    """Return a length (area, volume) given in millimetres as inches: three to four decimals as shops write them.

    Examples
    --------
    >>> inch_number(6.35), inch_number(6.6), inch_number(25.4)
    ('0.250', '0.2598', '1.000')
    """
    inches = value / MM_PER_INCH**power
    return figures(inches) if power > 1 else decimals(inches, 4, 3)


def decimals(value: float, most: int, least: int) -> str:
    """Return a number with so many decimals at most and at least; never a false 0."""
    text = f"{value:.{most}f}"
    if value and not text.strip("-0."):
        return f"{value:.2g}"
    whole, _, part = text.partition(".")
    part = part.rstrip("0").ljust(least, "0")
    return (
        (f"{whole}.{part}" if part else whole).replace("-0.000", "0.000") if value else ("0." + part if part else "0")
    )


def figures(value: float) -> str:
    """Return four figures, digits in groups of three (ISO 80000-1: a thin space)."""
    if value == 0:
        return "0"
    if abs(value) < 1000:
        return f"{value:.4g}"
    return f"{float(f'{value:.4g}'):,.0f}".replace(",", "\u202f")


def inch_callout(callout: str) -> str:
    """Return a drawing callout with its lengths in inches; angles stay.

    Examples
    --------
    >>> inch_callout("⌀6.6 THRU ⌵⌀12.7 × 90°")
    '⌀0.2598 THRU ⌵⌀0.500 × 90°'
    """
    return _IN_CALLOUT.sub(lambda match: inch_number(float(match[0])), callout)


def text_in_inches(text: str) -> str:
    """Return a sentence with every length in it said in inches; what is said in inches already stays.

    Examples
    --------
    >>> text_in_inches("no end mill winds a ⌀25.4 bore 50.8 mm down")
    'no end mill winds a ⌀1.000 bore 2.000 in down'
    """
    return LENGTHS.sub(lambda match: match[0] if match["inches"] else in_inches(match), text)


def in_inches(match: re.Match[str]) -> str:
    """Return in inches what `LENGTHS` found in millimetres."""
    if match["callout"]:
        return inch_callout(match["callout"])
    if match["marked"]:
        unit = " in" if "mm" in match[0] else ""
        return f"{match['mark']}{_inches(match['marked'])}{unit}"
    power = {"²": 2, "³": 3}.get(match["power"], 1)
    numbers = re.sub(_WRITTEN, lambda each: _inches(each[0], power), match["chain"])
    return f"{numbers} in{match['power']}"


def _inches(written: str, power: int = 1) -> str:
    """Return a number of millimetres in inches, with the decimal sign that it is written with."""
    inches = inch_number(float(written.replace(",", ".")), power)
    return inches.replace(".", ",") if "," in written else inches
