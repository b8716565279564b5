"""What every feature has; each family's own fields stand in its recogniser's file."""

from dataclasses import dataclass, fields
from typing import Any, ClassVar, Literal

from analyzers.model.arrays import Vec

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


def mm_text(value: float | None) -> str:
    """Return a length as drawings write it: to a micrometre, no trailing zeros, "?" where it could not be had."""
    return "?" if value is None else f"{round(value, 3):g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """What was expected at an empty place of a pattern, and what is there."""

    like: str  # id of the feature whose copy was expected
    expected: str  # its callout
    instead: str | None = None  # id of the feature that is there; None = none
    found: str  # callout of that feature, or in words what is there


@dataclass(frozen=True, slots=True)
class Pattern:
    """Equal features in an order: a row, a grid, a bolt circle, a mirror pair."""

    kind: Literal["rectangular", "circular", "mirror", "general"]
    features: tuple[str, ...]
    missing: tuple[Vec, ...] = ()  # places where one more was expected and is not
    gaps: tuple[Gap, ...] = ()  # one for each of `missing`, in its order, or none at all
