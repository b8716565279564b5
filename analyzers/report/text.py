"""Text from outside made fit to show: no control or direction-changing characters, no line without an end.

STEP files carry any Unicode text. A right-to-left override in a name can make "gpj.exe" read "exe.jpg" (Unicode
Technical Report 36, section 3), so such characters are shown as codes. HTML escaping is the template's work.
"""

import unicodedata

SHORT = 60
"""Characters a name may take in a heading or a table row."""

LONG = 600
"""Characters a sentence may take."""

_SHOWN_AS_CODE = {"Cc", "Cf", "Co", "Cs", "Zl", "Zp", "Cn"}
_MARKS_IN_A_ROW = 3


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
    shown: list[str] = []
    marks = 0
    for char in text if len(text) <= 2 * limit else text[:limit] + text[-limit:]:
        kind = unicodedata.category(char)
        marks = marks + 1 if kind in {"Mn", "Me"} else 0
        if kind in _SHOWN_AS_CODE or marks > _MARKS_IN_A_ROW:
            shown.append(f"⟨U+{ord(char):04X}⟩")
        else:
            shown.append(" " if kind == "Zs" else char)
    return shorten("".join(shown).strip(), limit)


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
