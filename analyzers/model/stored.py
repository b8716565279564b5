"""Facts on disk and back again, without pickle: a tree of JSON values, and the bytes of all arrays beside it.

What is read builds dataclasses of this package and nothing else, so a file that somebody has tampered with can be wrong
but runs nothing. Numbers come back bit by bit: JSON carries the shortest text that gives the same double (Python's
`repr`), arrays their bytes.
"""

import dataclasses
import importlib
import io
import json
import math
import zipfile
import zlib
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final, Literal, TypeVar, cast

import numpy as np

FORMAT: Final = 2
"""Raised when what is written is no longer what was read before; part of the key that stored facts are found under."""

_T = TypeVar("_T")
_TREE: Final = "tree.json"
_ARRAYS: Final = "arrays"
_KINDS: Final = frozenset("biufU")
"""Kinds of arrays that are stored: plain numbers and texts, never objects."""

_ALIGNED: Final = 16
"""Bytes: arrays begin at multiples of it, as NumPy's own do."""

_DAMAGE: Final = (
    *(OSError, ValueError, KeyError, TypeError, IndexError, AttributeError, ImportError, EOFError),
    *(NotImplementedError, RuntimeError, zipfile.BadZipFile, zlib.error),
)
_PACKAGE: Final = "analyzers."
_LEVEL: Final = 1
"""Deflate level: meshes shrink to about a half at the first, and hardly further at the sixth."""


class StoredDamaged(Exception):
    """A stored file is damaged or of another format: says what was found."""


def stored(value: Any) -> bytes:
    """Return a frozen dataclass with all that hangs on it as the content of a file.

    Raises
    ------
    TypeError : it holds something that is neither a plain value, a tuple, a dict, an array nor a dataclass
    """
    arrays, content = bytearray(), io.BytesIO()
    tree = _encode(value, arrays)
    with zipfile.ZipFile(content, "w") as file:
        for name, piece in ((_TREE, json.dumps([FORMAT, tree]).encode()), (_ARRAYS, memoryview(arrays))):
            member = zipfile.ZipInfo(name)  # without the time of day: the same facts are the same bytes
            file.writestr(member, piece, zipfile.ZIP_DEFLATED, _LEVEL)
    return content.getvalue()


def restore(kind: type[_T], path: Path) -> _T:
    """Return the dataclass again.

    Raises
    ------
    StoredDamaged : the file is damaged, or holds something else
    """
    try:
        with zipfile.ZipFile(path) as file:
            form, tree = json.loads(file.read(_TREE))
            if form != FORMAT:
                raise StoredDamaged(f"{path.name}: found format {form!r}; expected {FORMAT}")
            value = _decode(tree, file.read(_ARRAYS))
    except _DAMAGE as error:
        raise StoredDamaged(f"{path.name}: found {type(error).__name__}: {error}; expected stored facts") from error
    if not isinstance(value, kind):
        raise StoredDamaged(f"{path.name}: found {type(value).__name__}; expected {kind.__name__}")
    return value


def _encode(value: Any, arrays: bytearray) -> Any:
    """Return JSON values; whatever is not one by itself is a list that begins with its kind."""
    if value is None or type(value) in (bool, int, float, str):
        return value
    if isinstance(value, np.ndarray):
        return _encode_array(value, arrays)
    if isinstance(value, np.generic):
        return _encode(value.item(), arrays)
    if isinstance(value, tuple):
        return ["tuple", [_encode(each, arrays) for each in value]]
    if isinstance(value, dict):
        return ["dict", [[_encode(key, arrays), _encode(each, arrays)] for key, each in value.items()]]
    if dataclasses.is_dataclass(value) and type(value).__module__.startswith(_PACKAGE):
        kind: Any = type(value)
        own = {name: _encode(getattr(value, name), arrays) for name in _names(kind)}
        return ["class", kind.__module__, kind.__qualname__, own]
    if isinstance(value, int | float | str):  # an enumeration; its plain value compares equal
        return type(value).__mro__[-2](value)
    raise TypeError(f"{type(value).__module__}.{type(value).__qualname__} cannot be stored")


@cache
def _names(kind: Any) -> tuple[str, ...]:
    """Return the names of a dataclass's fields."""
    return tuple(each.name for each in dataclasses.fields(kind))


def _encode_array(array: np.ndarray[Any, Any], arrays: bytearray) -> list[Any]:
    """Append an array's bytes and return where they begin, with what makes an array of them."""
    if array.dtype.kind not in _KINDS:
        raise TypeError(f"an array of {array.dtype} cannot be stored")
    by_columns = array.flags.f_contiguous and not array.flags.c_contiguous
    arrays.extend(b"\0" * (-len(arrays) % _ALIGNED))
    start = len(arrays)
    arrays.extend(array.tobytes("A"))
    return ["array", start, array.dtype.str, list(array.shape), "F" if by_columns else "C"]


def _decode(tree: Any, arrays: bytes) -> Any:
    if not isinstance(tree, list):
        return tree
    match tree:
        case ["array", int(start), str(kind), list(shape), "C" | "F" as order]:
            return _decode_array(arrays, start, kind, shape, order)
        case ["tuple", list(items)]:
            return tuple(_decode(each, arrays) for each in items)
        case ["dict", list(items)]:
            return {_decode(key, arrays): _decode(each, arrays) for key, each in items}
        case ["class", str(module), str(name), dict(own)]:
            return _class(module, name)(**{key: _decode(each, arrays) for key, each in own.items()})
    raise ValueError(f"no stored value begins with {tree[:1]!r}")


def _decode_array(
    arrays: bytes, start: int, kind: str, shape: Sequence[int], order: Literal["C", "F"]
) -> np.ndarray[Any, Any]:
    """Return an array of its own, so that the others' bytes need not stay in memory with it."""
    dtype = np.dtype(kind)
    if dtype.kind not in _KINDS or start < 0:
        raise ValueError(f"an array of {dtype} is none that is stored")
    flat = np.frombuffer(arrays, dtype, math.prod(shape), start)
    return flat.reshape(shape, order=order).copy("A")


def _class(module: str, name: str) -> type[Any]:
    """Return one of this package's dataclasses, and nothing else."""
    if not module.startswith(_PACKAGE) or not name.isidentifier():
        raise ValueError(f"{module}.{name} is none of this package's classes")
    found = getattr(importlib.import_module(module), name)
    if not (isinstance(found, type) and dataclasses.is_dataclass(found) and found.__module__ == module):
        raise ValueError(f"{module}.{name} is no dataclass")
    return cast(type[Any], found)
