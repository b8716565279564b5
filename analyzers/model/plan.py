"""How the part could be made: setups, cutters, what stays unmade, minutes."""

from dataclasses import dataclass
from typing import Literal

from analyzers.model.arrays import Vec

Indexing = Literal["none", "3+1", "3+2", "tilted"]
"""How a setup comes by its directions: one square to the part; turned about one axis between cuts; about two; or one at
an angle on a machine that does not swivel, which takes a sine vise or a tilting table."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """One clamping: the spindle's direction and the features reached from it."""

    id: str  # "S1", ...
    direction: Vec  # unit, out of the part towards the spindle
    features: tuple[str, ...]
    why: str
    vise_faces: tuple[int, ...] = ()  # two parallel faces the vise can hold; empty = none found
    grip_width_mm: float | None = None
    grip_height_mm: float | None = None  # of the contact along the spindle; None = on the uncut blank, or nothing holds
    grip_off_parallel_deg: float | None = None  # angle between the two jaws' faces; None = not held between two flats
    machine: str | None = None  # id
    held_by: Literal["vise", "chuck", "fixture"] | None = None
    held_why: str = ""  # in plain words, with the sizes
    indexed: tuple[Vec, ...] = ()  # further directions reached by turning the part on the machine, without unclamping
    indexing: Indexing = "none"
    tall_ratio: float | None = None  # height along the spindle / what the jaws span; None = nothing to grip


@dataclass(frozen=True, slots=True, kw_only=True)
class CutterUse:
    """One shelf cutter in one setup, and the features it makes."""

    cutter: str
    features: tuple[str, ...]
    setup: str
    minutes: float
    stick_out_mm: float | None = None  # end mills, drills: least length below the holder, so that it clears the part
    holder: str | None = None  # id of the holder that was reckoned with


@dataclass(frozen=True, slots=True, kw_only=True)
class Unmade:
    """A feature that no cutter of the shop can make as modelled."""

    feature: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Access:
    """The faces that can be cut whole from one direction with straight cutters."""

    direction: Vec
    faces: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """Which flat end mills go into a cavity from its setup, by diameter, as a height map shows it."""

    feature: str
    setup: str
    enters_mm: float  # the largest that comes down to the floor somewhere
    finishes_mm: float  # the largest that leaves nothing on the floor; the corners' own where the map agrees with it
    resolution_mm: float  # how far off the two may be where they come from the map


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncut:
    """What a cutter leaves standing in a feature; `cutter` None: what all end mills of the feature leave together."""

    feature: str
    setup: str
    cutter: str | None
    area_mm2: float  # as seen along the spindle
    volume_mm3: float
    faces: tuple[int, ...]  # beside which it stands
    resolution_mm: float  # anything narrower than this is not seen


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """One machine of the right kind and whether its travels take the blank."""

    machine: str
    takes: bool
    spare_mm: Vec  # what is left of each travel, the blank laid as it fits best; below 0 = too small


@dataclass(frozen=True, slots=True, kw_only=True)
class Minutes:
    """Machining time of one part, an estimate."""

    low: float
    likely: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeShare:
    """Where a part of the minutes goes, for example "rough", "drill", "tool changes"."""

    name: str
    minutes: float  # of one part, as in `Minutes.likely`


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The whole plan for one body in one shop."""

    machine: str | None
    stock_mm: Vec  # block the part is cut from, after allowance
    removed_mm3: float
    setups: tuple[Setup, ...]
    tools: tuple[CutterUse, ...]
    unmade: tuple[Unmade, ...]
    minutes: Minutes  # of one part, without setting up
    setup_minutes: float  # once for the whole batch
    assumptions: tuple[str, ...]
    stock_form: Literal["plate", "flat_bar", "round_bar", "block"] = "block"
    stock_why: str = ""
    time_shares: tuple[TimeShare, ...] = ()  # largest first; they add up to `minutes.likely`
    unreached_faces: tuple[int, ...] = ()  # that no direction reaches, wholly or partly
    undercut_faces: tuple[int, ...] = ()  # that a straight cutter does not see from where their feature is made
    access: tuple[Access, ...] = ()  # what can be cut from each direction that was looked along
    entries: tuple[Entry, ...] = ()
    uncut: tuple[Uncut, ...] = ()
    rooms: tuple[Room, ...] = ()  # machines of the kind that the part goes to, smallest first
    box_mm: Vec | None = None  # smallest box around the part, longest side first, however it lies
    box_axes: tuple[Vec, Vec, Vec] | None = None  # unit directions of its sides
