"""What a rule has to say."""

from dataclasses import dataclass
from typing import Literal

Level = Literal["error", "warning", "note"]
LEVELS: tuple[Level, ...] = ("error", "warning", "note")


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """The smallest change of the model that clears a finding: `field` of these features becomes `value`.

    Meant for re-judging: put it into the features, plan and judge again, and the finding should be gone.
    """

    features: tuple[str, ...]  # ids
    field: str  # name of the features' field, for example "corner_radius_mm"
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One remark about one place, as a machinist would put it. `measured` and `limit` are in `unit`.

    Equal places share one finding: `features` then names them all, `feature` the first.
    """

    rule: str
    level: Level
    message: str
    suggestion: str  # what to change, with a number in it
    effect: str = ""  # what the change does to time, cutters and setups
    feature: str | None = None
    features: tuple[str, ...] = ()
    faces: tuple[int, ...] = ()
    measured: float | None = None
    limit: float | None = None
    unit: str = ""
    basis: str = ""  # source of the limit
    change: Change | None = None
    fingerprint: str = ""
