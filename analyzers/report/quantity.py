"""Numbers with units as the report shows them, in millimetres and in inches at once.

A reader switches the unit of the whole page without a script: each length is written twice and the style sheet shows
one.
"""

import re
from functools import lru_cache
from typing import Final

from markupsafe import Markup, escape

from analyzers.model.inch_text import LENGTHS, decimals, figures, in_inches, inch_callout, inch_number
from analyzers.units import MM_PER_INCH

_MM, _INCH, _END = Markup('<span class="mm">'), Markup('</span><span class="in">'), Markup("</span>")
REPEATED: Final = 2048
"""Lengths and sentences kept: two of three stand in a page more than once, as do the shop's own in all pages."""
_UNKNOWN: Final = Markup(
    '<span class="none"><span class="en" lang="en">not measured</span>'
    '<span class="de" lang="de">nicht gemessen</span></span>'
)
_POWER: Final = {1: "", 2: "²", 3: "³"}


def mm_number(value: float, power: int = 1) -> str:
    """Return a length (area, volume) in millimetres: to a micrometre, large ones to four figures, never a false 0.

    Examples
    --------
    >>> mm_number(6.6000001), mm_number(1234.56), mm_number(0.00004)
    ('6.6', '1234.56', '4e-05')
    """
    if power > 1:
        return figures(value)
    return decimals(value, 3, 0)


def together(*parts: Markup) -> Markup:
    """Return pieces of HTML as one; a page has thousands, and adding or formatting them takes ten times as long."""
    return Markup("".join(parts))  # noqa: S704  # all of them are HTML


def both(mm: str, inch: str) -> Markup:
    """Return HTML that shows what is said in millimetres or what is said in inches."""
    return together(_MM, symbols(mm), _INCH, symbols(inch), _END)


def symbols(text: str) -> Markup:
    """Return text as HTML in which the counterbore and countersink signs are drawn: few fonts have them."""
    html = escape(text)
    if "⌴" not in text and "⌵" not in text:
        return html
    for sign, name in (("⌴", "bore"), ("⌵", "sink")):
        html = html.replace(sign, Markup('<span class="sign %s"><i>%s</i></span>') % (name, sign))
    return html


@lru_cache(maxsize=REPEATED)
def length(value: float | None, power: int = 1, unit: bool = True) -> Markup:
    """Return a length (power 1), area (2) or volume (3) given in mm as HTML that can show both units."""
    if value is None:
        return _UNKNOWN
    mm, inch = mm_number(value, power), inch_number(value, power)
    if unit:
        mm, inch = f"{mm}\u00a0mm{_POWER[power]}", f"{inch}\u00a0in{_POWER[power]}"
    return both(mm, inch)


def box(size_mm: tuple[float, ...]) -> Markup:
    """Return overall sizes in a row, to a hundredth of a millimetre: for example "120 × 80 × 25 mm"."""
    mm = " × ".join(map(_overall, size_mm))
    inch = " × ".join(decimals(each / MM_PER_INCH, 3, 3) for each in size_mm)
    return both(f"{mm}\u00a0mm", f"{inch}\u00a0in")


def place(point_mm: tuple[float, ...]) -> Markup:
    """Return where something is, to a hundredth of a millimetre: for example "12.5, 0, 40" without a unit."""
    mm = ", ".join(_overall(round(each, 2)) for each in point_mm)
    inch = ", ".join(decimals(round(each / MM_PER_INCH, 3), 3, 3) for each in point_mm)
    return both(mm, inch)


def rough(value: float) -> float:
    """Return two figures of what a mesh has measured: an area's third says nothing."""
    return float(f"{value:.2g}")


def _overall(value_mm: float) -> str:
    return decimals(value_mm, 2, 0)


def callout(text: str) -> Markup:
    """Return a drawing callout as HTML that can show both units."""
    return both(text, inch_callout(text))


@lru_cache(maxsize=REPEATED, typed=True)  # typed: HTML is not taken for a text that reads the same
def sentence(text: str) -> Markup:
    """Return a sentence as HTML in which every length ("3 mm", "20 × 10 mm", "⌀6.6", "R2") can show both units."""
    parts: list[Markup] = []
    done = 0
    for match in LENGTHS.finditer(text):
        parts.append(symbols(text[done : match.start()]))
        parts.append(both(_in_mm(match), match[0]) if match["inches"] else both(match[0], in_inches(match)))
        done = match.end()
    parts.append(symbols(text[done:]))
    return together(*parts)


def plain(text: str) -> tuple[str, str]:
    """Return a sentence with every length in millimetres, and in inches, for where no HTML can stand.

    Examples
    --------
    >>> plain("A wall of 0.635 mm.")
    ('A wall of 0.635 mm.', 'A wall of 0.025 in.')
    """
    mm = LENGTHS.sub(lambda match: _in_mm(match) if match["inches"] else match[0], text)
    inch = LENGTHS.sub(lambda match: match[0] if match["inches"] else in_inches(match), text)
    return mm, inch


def _in_mm(match: re.Match[str]) -> str:
    written = match["inches"]
    mm = mm_number(float(written.replace(",", ".")) * MM_PER_INCH)
    return f"{mm.replace('.', ',') if ',' in written else mm} mm"
