"""The letters and fields of an exchange structure's header entities (ISO 10303-21)."""

import re
from collections.abc import Iterator

_WORD = re.compile(r"/\*.*?\*/|'(?:[^']|'')*'|[(),;]|[^'(),;\s]+", re.DOTALL)
_CODED = re.compile(
    r"\\X2\\(?P<two>(?:[0-9A-F]{4})*)\\X0\\"
    r"|\\X4\\(?P<four>(?:[0-9A-F]{8})*)\\X0\\"
    r"|\\X\\(?P<one>[0-9A-F]{2})"
    r"|\\S\\(?P<upper>[ -~])"
    r"|\\P(?P<page>[A-I])\\"
    r"|\\(?P<slash>\\)"
)


def header_fields(text: str, entity: str) -> list[tuple[str, ...]]:
    """Return the strings in each top-level field of one header entity: none where the field is unset.

    Parameters
    ----------
    text : the header section
    entity : keyword, for example "FILE_NAME"; a text without it gives an empty list
    """
    words = iter(_WORD.findall(text))
    for word in words:
        if word == entity and next(words, "") == "(":
            return _fields(words)
    return []


def _fields(words: Iterator[str]) -> list[tuple[str, ...]]:
    """Return the fields up to the closing bracket."""
    fields: list[list[str]] = [[]]
    depth = 1
    for word in words:
        if word == "(":
            depth += 1
        elif word == ")":
            depth -= 1
            if depth == 0:
                break
        elif word == "," and depth == 1:
            fields.append([])
        elif word.startswith("'"):
            fields[-1].append(decoded(word[1:-1]))
    return [tuple(each) for each in fields]


def decoded(string: str) -> str:
    r"""Return what a string says: doubled apostrophes, line breaks and coded letters undone (ISO 10303-21, 6.4.3).

    Examples
    --------
    >>> decoded(r"Tr\X2\00E4\X0\ger it''s \S\d")
    "Träger it's ä"
    """
    page = "1"  # \S\ adds 128 to a letter of this part of ISO 8859

    def letter(found: re.Match[str]) -> str:
        nonlocal page
        kind = str(found.lastgroup)
        code = found[kind]
        if kind == "page":
            page = str(ord(code) - ord("A") + 1)
            return ""
        if kind == "slash":
            return "\\"
        if kind == "upper":
            return bytes([ord(code) + 128]).decode(f"iso8859-{page}", "replace")
        encoding = {"one": "latin-1", "two": "utf-16-be", "four": "utf-32-be"}[kind]
        return bytes.fromhex(code).decode(encoding, "replace")

    plain = re.sub(r"[\r\n]", "", string).replace("''", "'")
    return _CODED.sub(letter, plain).strip()
