"""Findings that somebody has accepted: a TOML file, one table for each.

A finding is known by its fingerprint, which stays when the part is moved or written anew:

    [[accepted]]
    fingerprint = "9f2c51d07b3a44e8"
    file = "plate.step"           # optional: only in the model of this name
    reason = "the customer wants this corner sharp; wire eroded"
    what = "sharp_internal_corner: ..."  # optional: for the reader; the fingerprint decides
    owner = "M. Example"          # optional
    expires = 2027-06-30          # optional: the last day on which it counts
"""

import datetime
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, Final

import tomli_w

from analyzers.errors import SettingsError

_REQUIRED: Final = ("fingerprint", "reason")
_NAMES: Final = ("fingerprint", "file", "what", "reason", "owner", "expires")
_HEAD: Final = """\
# Findings that were accepted: they no longer fail the gate. An entry counts up to the day `expires`, if it has one.
# What is accepted stays in the report; whoever accepts it answers for it.

"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Accepted:
    """One accepted finding."""

    fingerprint: str
    reason: str
    file: str | None = None
    what: str | None = None  # in words, for whoever reads the file
    owner: str | None = None
    expires: datetime.date | None = None

    def means(self, fingerprint: str, file_name: str) -> bool:
        """Return True where this entry is about that finding of that model, whatever the day."""
        return self.fingerprint == fingerprint and self.file in (None, file_name)

    def counts(self, today: datetime.date) -> bool:
        """Return True up to its last day."""
        return self.expires is None or today <= self.expires


def write_baseline(accepted: Iterable[Accepted]) -> str:
    """Return the text of a file of accepted findings, which `read_baseline` reads again."""
    entries = [
        {name: value for name in _NAMES if (value := getattr(each, name)) is not None}
        for each in sorted(accepted, key=lambda each: (each.file or "", each.what or "", each.fingerprint))
    ]
    return _HEAD + tomli_w.dumps({"accepted": entries})


def read_baseline(path: Path) -> tuple[Accepted, ...]:
    """Return the accepted findings of a file.

    Raises
    ------
    SettingsError : one line: the file, the entry, what was found, what was expected
    """
    try:
        content = tomllib.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        raise SettingsError(f"{path}: no such file, expected a TOML file of accepted findings") from None
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise SettingsError(f"{path}: {error}, expected a TOML file of accepted findings") from error
    if unknown := sorted(content.keys() - {"accepted"}):
        raise SettingsError(f"{path}: found {unknown[0]!r}, expected [[accepted]] tables only")
    entries = content.get("accepted", [])
    if not isinstance(entries, list):
        raise SettingsError(f"{path}: found one [accepted] table, expected [[accepted]] with double brackets")
    return tuple(_entry(path, number, each) for number, each in enumerate(entries, start=1))


def _entry(path: Path, number: int, values: dict[str, Any]) -> Accepted:
    where = f"{path}: accepted finding {number}"
    if unknown := sorted(values.keys() - {each.name for each in fields(Accepted)}):
        expected = ", ".join(each.name for each in fields(Accepted))
        raise SettingsError(f"{where}: found {unknown[0]!r}, expected {expected}")
    for name in _REQUIRED:
        if not values.get(name):
            raise SettingsError(f"{where}: found no {name}, expected one")
    for name, value in values.items():
        wanted = datetime.date if name == "expires" else str
        if not isinstance(value, wanted) or isinstance(value, datetime.datetime):
            kind = "a date such as 2027-06-30" if name == "expires" else "text"
            raise SettingsError(f"{where}: {name}: found {value!r}, expected {kind}")
    return Accepted(**values)
