"""What is odd about the text of a STEP file though it can be read: counts from one pass over its bytes, and names."""

import re
import unicodedata
from collections.abc import Iterator
from typing import Final

import numpy as np

from analyzers.kernel.part21 import decoded
from analyzers.model.arrays import Bools, Ints
from analyzers.model.health import Defect

_SCHEMAS: Final = ("AUTOMOTIVE_DESIGN", "CONFIG_CONTROL", "AP203", "AP209", "AP210", "AP214", "AP238", "AP242")
"""How the schemas of ISO 10303-203, -209, -210, -214, -238 and -242 begin."""

_DEPTH_MOST: Final = 100  # brackets in brackets; entities with lists of lists of typed values need about 6
_UNUSED_LEAST: Final = 1000
_UNUSED_SHARE: Final = 0.5
_DIGITS_MOST: Final = 18  # of an entity number; more do not fit into 64 bits
_BLANKS_MOST: Final = 2  # between it and its equals sign
_NO_BRACKETS: Final = bytes(set(range(256)) - set(b"()"))

Signs = np.ndarray[tuple[int], np.dtype[np.uint8]]

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
    depth = _depth(data)
    if depth > _DEPTH_MOST:
        yield Defect(
            code="deep_nesting", message=f"an entity nests {depth} brackets in one another; it was passed over"
        )
    given, unused = _entities(np.frombuffer(data, dtype=np.uint8))
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


def _depth(data: bytes) -> int:
    """Return how deep brackets are nested; those in strings are counted with the others."""
    brackets = np.frombuffer(data.translate(None, _NO_BRACKETS), dtype=np.uint8)
    steps = np.array([1, -1])[brackets - ord("(")]
    return int(np.cumsum(steps).max(initial=0))


def _entities(signs: Signs) -> tuple[int, int]:
    """Return how many entity numbers are given, and how many of these nothing refers to."""
    number, given = _numbers(signs)
    if number.max(initial=0) > len(signs):  # far apart: counted by their order instead
        number = np.unique(number, return_inverse=True)[1]
    is_given, is_used = np.zeros((2, int(number.max(initial=0)) + 1), dtype=bool)
    is_given[number[given]] = True
    is_used[number[~given]] = True
    return int(is_given.sum()), int((is_given & ~is_used).sum())


def _numbers(signs: Signs) -> tuple[Ints, Bools]:
    """Return (N,) the entity numbers in the order of the text and (N,) whether each is given there, not referred to."""
    text = np.concatenate([signs, np.zeros(_DIGITS_MOST + _BLANKS_MOST + 1, dtype=np.uint8)])
    end: Ints = np.flatnonzero(signs == ord("#")) + 1
    number = np.zeros(len(end), dtype=np.int64)
    for _ in range(_DIGITS_MOST):
        digit = text[end] - np.uint8(ord("0"))  # wraps: what is no digit becomes large
        going = digit < 10
        if not going.any():
            break
        np.multiply(number, 10, out=number, where=going)
        np.add(number, digit, out=number, where=going)
        end += going
    for _ in range(_BLANKS_MOST):
        end += text[end] == ord(" ")
    return number, text[end] == ord("=")
