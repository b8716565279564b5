"""Facts on disk and back again, without pickle: a tree of JSON values, and the arrays beside it (NumPy's npy format).

What is read builds dataclasses of this package and nothing else, so a file that somebody has tampered with can be wrong
but runs nothing. Numbers come back bit by bit: JSON carries the shortest text that gives the same double (Python's
`repr`), arrays their bytes.
"""

import dataclasses
import importlib
import io
import json
import zipfile
import zlib
from pathlib import Path
from typing import Any, Final, TypeVar, cast

import numpy as np

FORMAT: Final = 1
"""Raised when what is written is no longer what was read before; part of the key that stored facts are found under."""

_T = TypeVar("_T")
_TREE: Final = "tree.json"
_DAMAGE: Final = (
    *(OSError, ValueError, KeyError, TypeError, IndexError, AttributeError, ImportError, EOFError),
    *(NotImplementedError, RuntimeError, zipfile.BadZipFile, zlib.error),
)
_PACKAGE: Final = "analyzers."
_LEVEL: Final = 1
"""Deflate level: meshes shrink to about a half at the first, and hardly further at the sixth."""


class StoredDamaged(Exception):
    """A stored file is damaged or of another format: says what was found."""


def store(value: Any, path: Path) -> None:
    """Write a frozen dataclass with all that hangs on it.

    Raises
    ------
    TypeError : it holds something that is neither a plain value, a tuple, a dict, an array nor a dataclass
    """
    arrays: list[np.ndarray[Any, Any]] = []
    tree = _encode(value, arrays)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=_LEVEL) as file:
        file.writestr(_TREE, json.dumps([FORMAT, tree]))
        for number, array in enumerate(arrays):
            buffer = io.BytesIO()
            np.lib.format.write_array(buffer, array, allow_pickle=False)
            file.writestr(f"{number}.npy", buffer.getbuffer())


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
            value = _decode(tree, file)
    except _DAMAGE as error:
        raise StoredDamaged(f"{path.name}: found {type(error).__name__}: {error}; expected stored facts") from error
    if not isinstance(value, kind):
        raise StoredDamaged(f"{path.name}: found {type(value).__name__}; expected {kind.__name__}")
    return value


def _encode(value: Any, arrays: list[np.ndarray[Any, Any]]) -> Any:
    """Return JSON values; whatever is not one by itself is a list that begins with its kind."""
    if isinstance(value, np.ndarray):
        arrays.append(value)
        return ["array", len(arrays) - 1]
    if isinstance(value, np.generic):
        return _encode(value.item(), arrays)
    if value is None or type(value) in (bool, int, float, str):
        return value
    if isinstance(value, tuple):
        return ["tuple", [_encode(each, arrays) for each in value]]
    if isinstance(value, dict):
        return ["dict", [[_encode(key, arrays), _encode(each, arrays)] for key, each in value.items()]]
    if dataclasses.is_dataclass(value) and type(value).__module__.startswith(_PACKAGE):
        own = {each.name: _encode(getattr(value, each.name), arrays) for each in dataclasses.fields(value)}
        return ["class", type(value).__module__, type(value).__qualname__, own]
    if isinstance(value, int | float | str):  # an enumeration; its plain value compares equal
        return type(value).__mro__[-2](value)
    raise TypeError(f"{type(value).__module__}.{type(value).__qualname__} cannot be stored")


def _decode(tree: Any, file: zipfile.ZipFile) -> Any:
    if not isinstance(tree, list):
        return tree
    match tree:
        case ["array", int(number)]:
            return np.lib.format.read_array(io.BytesIO(file.read(f"{number}.npy")), allow_pickle=False)
        case ["tuple", list(items)]:
            return tuple(_decode(each, file) for each in items)
        case ["dict", list(items)]:
            return {_decode(key, file): _decode(each, file) for key, each in items}
        case ["class", str(module), str(name), dict(own)]:
            return _class(module, name)(**{key: _decode(each, file) for key, each in own.items()})
    raise ValueError(f"no stored value begins with {tree[:1]!r}")


def _class(module: str, name: str) -> type[Any]:
    """Return one of this package's dataclasses, and nothing else."""
    if not module.startswith(_PACKAGE) or not name.isidentifier():
        raise ValueError(f"{module}.{name} is none of this package's classes")
    found = getattr(importlib.import_module(module), name)
    if not (isinstance(found, type) and dataclasses.is_dataclass(found) and found.__module__ == module):
        raise ValueError(f"{module}.{name} is no dataclass")
    return cast(type[Any], found)
