"""Text from outside made fit to show: no control or direction-changing characters, no line without an end.

STEP files carry any Unicode text. A right-to-left override in a name can make "gpj.exe" read "exe.jpg" (Unicode
Technical Report 36, section 3), so such characters are shown as codes. HTML escaping is the template's work.
"""

import unicodedata
from functools import lru_cache

SHORT = 60
"""Characters a name may take in a heading or a table row."""

LONG = 600
"""Characters a sentence may take."""

_SHOWN_AS_CODE = {"Cc", "Cf", "Co", "Cs", "Zl", "Zp", "Cn"}
_MARKS_IN_A_ROW = 3
_OWN_SPACES = "\u00a0\u202f"
"""No-break spaces: the report's own numbers use them."""


def clean(text: str, limit: int = SHORT) -> str:
    r"""Return the text on one line, invisible characters as codes, at most `limit` characters.

    A text that is too long loses its middle: both ends of a file name tell files apart.

    Examples
    --------
    >>> clean("plate\u202egpj.stp")
    'plate⟨U+202E⟩gpj.stp'
    >>> clean("bracket_left_hand_revision_b.step", limit=13)
    'bracke…b.step'
    """
    return shorten(visible(text if len(text) <= 2 * limit else text[:limit] + text[-limit:]).strip(), limit)


def visible(text: str) -> str:
    """Return the text with every space plain and every invisible character as its code."""
    if text.isascii() and text.isprintable():
        return text
    return _coded(text)


@lru_cache(maxsize=2048)  # callouts stand in a page many times, and each is looked at letter by letter
def _coded(text: str) -> str:
    shown: list[str] = []
    marks = 0
    for char in text:
        kind = unicodedata.category(char)
        marks = marks + 1 if kind in {"Mn", "Me"} else 0
        if kind in _SHOWN_AS_CODE or marks > _MARKS_IN_A_ROW:
            shown.append(f"⟨U+{ord(char):04X}⟩")
        else:
            shown.append(char if kind != "Zs" or char in _OWN_SPACES else " ")
    return "".join(shown)


def shorten(text: str, limit: int) -> str:
    """Return the text with its middle cut out where it is longer than `limit` characters."""
    if len(text) <= limit:
        return text
    tail = (limit - 1) // 2
    return text[: limit - 1 - tail] + "…" + text[-tail:] if tail else text[: limit - 1] + "…"


def plural(number: int, noun: str, many: str | None = None) -> str:
    """Return for example "1 hole", "3 holes", "no holes"."""
    if number == 1:
        return f"1 {noun}"
    return f"{number or 'no'} {many or noun + 's'}"


def capital(text: str) -> str:
    """Return the text with its first letter as a capital; the rest stays as it is."""
    return text[:1].upper() + text[1:]
