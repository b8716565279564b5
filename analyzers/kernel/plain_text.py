"""Text that OpenCascade's parser stumbles over though its meaning is clear, made plain before it is read."""

import re
from typing import Final

import numpy as np

from analyzers.model.health import Defect

_APOSTROPHE: Final = ord("'")
_MARK: Final = b"\xef\xbb\xbf"
LONGEST_STRING: Final = 8000
"""Bytes of a string that the parser takes: it reads 16,000 and fails at 20,000. No name needs more."""

_STRING: Final = re.compile(rb"'(?:[^']|'')*'")


def made_plain(data: bytes) -> tuple[bytes, tuple[Defect, ...]] | None:
    r"""Return the text with what the parser cannot take put otherwise, and what was odd about it; None = nothing.

    Blanks instead of tabs (ISO 10303-21 knows none: the parser loses what stands behind one) and no byte order mark
    change no meaning; a string that is cut does.

    Examples
    --------
    >>> made_plain(b"ISO-10303-21;") is None
    True
    >>> made_plain(b"#1 =\tX('a');")[0]
    b"#1 = X('a');"
    """
    plain = data.removeprefix(_MARK).replace(b"\t", b" ")
    said = []
    if data.startswith(_MARK):
        said.append(
            Defect(code="text_encoding", message="the file begins with a byte order mark, which was passed over")
        )
    if tabs := data.count(b"\t"):
        text = f"the text has {tabs} tabs, which STEP files do not know: they were read as blanks"
        said.append(Defect(code="odd_blanks", message=text, count=tabs))
    apostrophes = np.flatnonzero(np.frombuffer(plain, dtype=np.uint8) == _APOSTROPHE)
    if np.diff(apostrophes).max(initial=0) > LONGEST_STRING:  # else no string is that long, but of apostrophes
        count = sum(len(each[0]) - 2 > LONGEST_STRING for each in _STRING.finditer(plain))
        if count:
            plain = _STRING.sub(_shortened, plain)
            what = "a string was" if count == 1 else f"{count} strings were"
            text = f"{what} longer than {LONGEST_STRING} bytes and cut there"
            said.append(Defect(code="long_string", message=text, count=count))
    return (plain, tuple(said)) if plain != data else None


def _shortened(found: re.Match[bytes]) -> bytes:
    """Return a string as it is, or cut, without half of a doubled apostrophe or of a coded letter at its end."""
    string = found[0][1:-1]
    if len(string) <= LONGEST_STRING:
        return found[0]
    string = string[:LONGEST_STRING]
    if (len(string) - len(string.rstrip(b"'"))) % 2:
        string = string[:-1]
    head, slash, tail = string.rpartition(b"\\X")
    return b"'" + (head if slash and not tail.startswith(b"0\\") else string) + b"'"
