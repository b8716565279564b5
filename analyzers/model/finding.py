"""What a rule has to say."""

from dataclasses import dataclass
from typing import Literal

Level = Literal["error", "warning", "note"]
LEVELS: tuple[Level, ...] = ("error", "warning", "note")


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One remark about one place, as a machinist would put it. `measured` and `limit` are in `unit`."""

    rule: str
    level: Level
    message: str
    suggestion: str  # what to change, with a number in it
    effect: str = ""  # what the change does to time, cutters and setups
    feature: str | None = None
    faces: tuple[int, ...] = ()
    measured: float | None = None
    limit: float | None = None
    unit: str = ""
    basis: str = ""  # source of the limit
    fingerprint: str = ""
