"""What a rule has to say."""

from dataclasses import dataclass
from typing import Literal

Level = Literal["error", "warning", "note"]
LEVELS: tuple[Level, ...] = ("error", "warning", "note")


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a change does: the changed part planned and judged again, against the part as modelled.

    Minutes are of one part, those of setting up for the whole batch; negative = it takes longer.
    """

    leaves: Level | None  # what the same rule still says there, always milder than before; None = nothing
    minutes_saved: float
    setup_minutes_saved: float
    setups_saved: int
    cutters_spared: tuple[str, ...]
    cutters_added: tuple[str, ...]
    made: tuple[str, ...] = ()  # features that stayed unmade and no longer do
    raises: tuple[str, ...] = ()  # rules that warn because of the change, where nothing better was found


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A change of the model: `field` of these features, or of the places at these faces, becomes `value`.

    A rule proposes it from its own limit; put into the facts, planned and judged again it has an `outcome`, and `value`
    is then the smallest that clears the finding.
    """

    features: tuple[str, ...]  # ids
    field: str  # name of the features' field, for example "corner_radius_mm"; or one of the body's, see `what_if`
    value: float | str
    faces: tuple[int, ...] = ()
    stops: tuple[float, ...] = ()  # the values worth trying, in order, such as those of the shelf; empty = any between
    was: float | str | None = None
    outcome: Outcome | None = None

    @property
    def number(self) -> float:
        """The value of a change that is a number; TypeError for one that names a setup or a material."""
        if isinstance(self.value, str):
            raise TypeError(f"{self.field} becomes {self.value!r}, which is no number")
        return self.value


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
    alternatives: tuple[Change, ...] = ()  # others that clear it too
    change_none_because: str = ""  # why there is no change with an outcome, where one is owed (errors and warnings)
    fingerprint: str = ""
