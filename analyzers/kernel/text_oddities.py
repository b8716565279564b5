"""What is odd about the text of a STEP file though it can be read: counts from one pass over its bytes, and names."""

import re
import unicodedata
from collections.abc import Iterator
from typing import Final

import numpy as np

from analyzers.kernel.part21 import decoded
from analyzers.model.arrays import Ints
from analyzers.model.health import Defect

_SCHEMAS: Final = ("AUTOMOTIVE_DESIGN", "CONFIG_CONTROL", "AP203", "AP209", "AP210", "AP214", "AP238", "AP242")
"""How the schemas of ISO 10303-203, -209, -210, -214, -238 and -242 begin."""

_DEPTH_MOST: Final = 100  # brackets in brackets; entities with lists of lists of typed values need about 6
_UNUSED_LEAST: Final = 1000
_UNUSED_SHARE: Final = 0.5
_DIGITS_MOST: Final = 18  # of an entity number; more do not fit into 64 bits

_PRODUCT: Final = re.compile(rb"PRODUCT\s*\(\s*'((?:[^']|'')*)'\s*,\s*'((?:[^']|'')*)'")
_MARKUP: Final = re.compile(r"<\s*/\s*[A-Za-z]|<\s*[A-Za-z][^>]*=")
_UPWARDS: Final = re.compile(r"(?:^|[\\/])\.\.(?:[\\/]|$)")


def oddities(data: bytes, schema: str | None) -> Iterator[Defect]:
    """Yield a defect for a schema that nobody knows, for brackets without end and for masses of unused entities."""
    if schema is None:
        yield Defect(
            code="unknown_schema", message="the file names no STEP schema: it was read as AP203, AP214 or AP242"
        )
    elif not schema.upper().startswith(_SCHEMAS):
        text = f"the file names the schema {schema[:60]}: it was read as AP203, AP214 or AP242"
        yield Defect(code="unknown_schema", message=text)
    yield from _odd_names(data)
    signs = np.frombuffer(data, dtype=np.uint8)
    depth = _depth(signs)
    if depth > _DEPTH_MOST:
        yield Defect(
            code="deep_nesting", message=f"an entity nests {depth} brackets in one another; it was passed over"
        )
    given, unused = _entities(signs)
    if unused > max(_UNUSED_LEAST, _UNUSED_SHARE * given):
        text = f"{unused} of {given} entities in the file are used by nothing; they were passed over"
        yield Defect(code="unused_entities", message=text, count=unused)


def _odd_names(data: bytes) -> Iterator[Defect]:
    """Yield a defect for a name of a product that may be meant to harm whoever shows it or takes it for a path."""
    names = [decoded(text.decode("utf-8", "replace")) for found in _PRODUCT.finditer(data) for text in found.groups()]
    if whys := [why for name in names if (why := odd_name(name))]:
        text = f"a product name in the file {whys[0]}: it is shown as plain text and used for nothing else"
        yield Defect(code="odd_name", message=text, count=len(whys))


def odd_name(name: str) -> str | None:
    """Return in words why a name is not what people call things; None where it may be one.

    Examples
    --------
    >>> odd_name("plate 3/4 in (rev. <B>)"), odd_name("=1+1"), odd_name("../plate")
    (None, 'begins like a formula', 'leads upwards like a path')
    """
    if any(unicodedata.category(char) in {"Cc", "Cf", "Cs", "Co"} for char in name):
        return "has characters that cannot be seen"
    if _MARKUP.search(name):
        return "has markup in it"
    if _UPWARDS.search(name):
        return "leads upwards like a path"
    return "begins like a formula" if name.startswith(("=", "+", "@")) else None


def _depth(signs: np.ndarray[tuple[int], np.dtype[np.uint8]]) -> int:
    """Return how deep brackets are nested; those in strings are counted with the others."""
    brackets = signs[(signs == ord("(")) | (signs == ord(")"))]
    steps = np.where(brackets == ord("("), 1, -1)
    return int(np.cumsum(steps).max(initial=0))


def _entities(signs: np.ndarray[tuple[int], np.dtype[np.uint8]]) -> tuple[int, int]:
    """Return how many entity numbers are given, and how many of these nothing refers to."""
    at = np.flatnonzero(signs == ord("#"))
    number = np.zeros(len(at), dtype=np.int64)
    end = at + 1
    going = np.ones(len(at), dtype=bool)
    for _ in range(_DIGITS_MOST):
        digit = _at(signs, end) - ord("0")
        going &= (digit >= 0) & (digit <= 9)
        if not going.any():
            break
        number = np.where(going, number * 10 + digit, number)
        end = end + going
    for _ in range(2):
        end = end + (_at(signs, end) == ord(" "))
    given = _at(signs, end) == ord("=")
    return int(np.unique(number[given]).size), int(np.setdiff1d(number[given], number[~given]).size)


def _at(signs: np.ndarray[tuple[int], np.dtype[np.uint8]], place: Ints) -> Ints:
    """Return the signs at some places; 0 behind the end."""
    inside = place < len(signs)
    found: Ints = np.where(inside, signs[np.minimum(place, max(len(signs) - 1, 0))], 0).astype(np.int64)
    return found
