"""Findings that somebody has accepted: a TOML file, one table for each.

A finding is known by its fingerprint, which stays when the part is moved or written anew:

    [[accepted]]
    fingerprint = "9f2c51d07b3a44e8"
    file = "plate.step"           # optional: only in the model of this name
    reason = "the customer wants this corner sharp; wire eroded"
    owner = "M. Example"          # optional
    expires = 2027-06-30          # optional: the last day on which it counts
"""

import datetime
import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, Final

from analyzers.errors import SettingsError

_REQUIRED: Final = ("fingerprint", "reason")


@dataclass(frozen=True, slots=True, kw_only=True)
class Accepted:
    """One accepted finding."""

    fingerprint: str
    reason: str
    file: str | None = None
    owner: str | None = None
    expires: datetime.date | None = None

    def covers(self, fingerprint: str, file_name: str, today: datetime.date) -> bool:
        """Return True where this entry accepts that finding of that model on that day."""
        return (
            self.fingerprint == fingerprint
            and self.file in (None, file_name)
            and (self.expires is None or today <= self.expires)
        )


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
