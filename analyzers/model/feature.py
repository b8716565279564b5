"""What every feature has; each family's own fields stand in its recogniser's file."""

from dataclasses import dataclass, fields, is_dataclass
from typing import Any, ClassVar, Literal

from analyzers.model.arrays import Vec
from analyzers.tolerance import TWIN_SIZE_MM

FOLLOWING = {"depth_ratio", "floor_thickness_mm", "entry_angle_deg", "entry"}
"""Own fields that follow from others or from the surroundings: equal features may differ in them."""

FaceClass = Literal[
    "hole", "pocket", "slot", "step", "boss", "groove", "fillet", "edge_round", "chamfer", "outer", "freeform"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Feature:
    """One machining feature (words of ISO 14649-10 and ISO 10303-224).

    `kind` and `face_class` are the words of the report. `id` is given when the claims are settled ("F1", ...).
    """

    kind: ClassVar[str]
    face_class: ClassVar[FaceClass]

    faces: tuple[int, ...]
    direction: Vec  # unit, out of the part, along which the cutter comes in
    position_mm: Vec
    id: str = ""
    fingerprint: str = ""  # the same for the same feature wherever the part is moved
    why: str = ""  # in one sentence, what made these faces this feature

    def callout(self) -> str:
        """Return the drawing text with its symbols (ISO 129-1, ASME Y14.5), in millimetres."""
        raise NotImplementedError

    def dimensions(self) -> dict[str, Any]:
        """Return the kind's own fields under the names of the report."""
        shared = {"faces", "direction", "position_mm", "id", "fingerprint", "why"}
        return {each.name: getattr(self, each.name) for each in fields(self) if each.name not in shared}


def unlike(one: Feature, other: Feature) -> tuple[str, ...]:
    """Return the names of the own fields in which two features of one kind differ, without those that follow.

    How deep a through hole is follows from the part there. Features of two kinds differ in "kind".
    """
    if one.kind != other.kind:
        return ("kind",)
    its = other.dimensions()
    names = [name for name, mine in one.dimensions().items() if not _equal(mine, its[name])]
    through = one.face_class == "hole" and getattr(one, "through", False) and getattr(other, "through", False)
    following = (
        FOLLOWING | ({"depth_mm"} if through else set()) | ({"segments"} if one.kind != "stepped_hole" else set())
    )
    return tuple(name for name in names if name not in following)


def _equal(one: Any, other: Any) -> bool:
    """Return whether two values are equal, lengths in them to the accuracy of copies."""
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= TWIN_SIZE_MM
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(_equal, one, other))
    if is_dataclass(one) and is_dataclass(other):
        return all(_equal(getattr(one, each.name), getattr(other, each.name)) for each in fields(one))
    return bool(one == other)


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """A thread that is modelled, on a boss or shaft or in a hole. `designation`: the standard one; None = none fits."""

    designation: str | None
    major_mm: float
    minor_mm: float
    pitch_mm: float  # from one thread to the next; its lead is `starts` times that
    length_mm: float  # of the modelled flanks, run-outs included
    hand: Literal["right", "left"]
    starts: int
    flank_angle_deg: float  # between the two flanks

    def name(self) -> str:
        """Return for example "M8×1.25" or "⌀8.2 × 1.3 LH" (ISO 6410-1)."""
        size = self.designation or f"⌀{mm_text(self.major_mm)} × {mm_text(self.pitch_mm)}"
        more = f" {self.starts} starts" if self.starts > 1 else ""
        return f"{size}{more}{' LH' if self.hand == 'left' else ''}"

    def callout(self) -> str:
        """Return the name with the length of the thread, for example "M8×1.25 ↧12"."""
        return f"{self.name()} ↧{mm_text(self.length_mm)}"


def mm_text(value: float | None) -> str:
    """Return a length as drawings write it: to a micrometre, no trailing zeros, "?" where it could not be had."""
    return "?" if value is None else f"{round(value, 3):g}"


NOTHING = "nothing"
SHARP_EDGE = "a sharp edge"
"""What a gap may hold where no feature stands."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """What was expected at an empty place of a pattern, and what is there."""

    like: str  # id of the feature whose copy was expected
    expected: str  # its callout
    instead: str | None = None  # id of the feature that is there; None = none
    found: str  # callout of that feature, or NOTHING or SHARP_EDGE


@dataclass(frozen=True, slots=True)
class Pattern:
    """Equal features in an order: a row, a grid, a bolt circle, a mirror pair."""

    kind: Literal["rectangular", "circular", "mirror", "general"]
    features: tuple[str, ...]
    missing: tuple[Vec, ...] = ()  # places where one more was expected and is not
    gaps: tuple[Gap, ...] = ()  # one for each of `missing`, in its order, or none at all

    def places(self) -> tuple[tuple[Vec, Gap | None], ...]:
        """Return each of `missing` with what is known about it."""
        return tuple(zip(self.missing, self.gaps or (None,) * len(self.missing), strict=True))
