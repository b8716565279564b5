"""What differs between two revisions, as plain records."""

from dataclasses import dataclass
from typing import Literal

from analyzers.model.arrays import Vec
from analyzers.model.source import Source

Relation = Literal["same", "mirrored", "changed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One value that is another now; None = had none. `field` is a name of the report, with its unit."""

    field: str
    old: float | str | bool | None
    new: float | str | bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureChange:
    """One feature of both revisions that is not the same: other values, another place, or another kind."""

    old: str  # ids
    new: str
    kind: str  # in the new revision
    old_callout: str
    new_callout: str
    differences: tuple[Difference, ...]
    moved_mm: float  # how far, the bodies laid onto one another; 0 = in its place
    with_it: tuple[str, ...] = ()  # ids, in the new revision, of rounds and chamfers that only followed it


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureMet:
    """One feature that only one of the revisions has."""

    id: str
    kind: str
    callout: str
    position_mm: Vec
    faces: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """How the old body must be turned and shifted to lie on the new one."""

    turn: tuple[Vec, Vec, Vec]  # rows of the rotation; of determinant -1 where it mirrors
    shift_mm: Vec
    angle_deg: float
    agreed: float  # share of both bodies' area on which they agree, 0..1


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyComparison:
    """Two revisions of one body."""

    old: str  # ids
    new: str
    relation: Relation
    move: Move
    same_features: int
    changed: tuple[FeatureChange, ...]
    added: tuple[FeatureMet, ...]
    removed: tuple[FeatureMet, ...]
    numbers: tuple[Difference, ...]  # of the whole body: size, volume, measures, minutes, difficulty, bucket
    old_faces: tuple[int, ...]  # without an equal in the new revision
    new_faces: tuple[int, ...]
    findings_gone: tuple[str, ...]  # "rule: message"
    findings_new: tuple[str, ...]
    tolerances_gone: tuple[str, ...]  # that the file itself states
    tolerances_new: tuple[str, ...]
    questions_gone: tuple[str, ...]
    questions_new: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two revisions of one file."""

    old: Source
    new: Source
    bodies: tuple[BodyComparison, ...]
    removed_bodies: tuple[str, ...]
    added_bodies: tuple[str, ...]
    notes: tuple[str, ...] = ()  # what could not be compared, and why

    @property
    def same(self) -> bool:
        """Whether no body differs in anything."""
        return not (self.removed_bodies or self.added_bodies or self.notes) and all(
            each.relation == "same" for each in self.bodies
        )
