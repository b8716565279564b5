"""The whole answer about one file."""

from dataclasses import dataclass, field
from typing import Literal

from analyzers.model.arrays import Floats, Vec
from analyzers.model.drawing import LineDrawing
from analyzers.model.feature import FaceClass, Feature, Pattern, Thread
from analyzers.model.finding import Finding
from analyzers.model.health import Health
from analyzers.model.measure import Measure, ThinPlace
from analyzers.model.part import Part
from analyzers.model.plan import Plan
from analyzers.model.source import Problem, Source
from analyzers.model.tolerance_note import ToleranceNote
from analyzers.model.triage import Triage

Status = Literal["complete", "partial", "unreadable"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeBy:
    """How the body is evidently made: milled, turned, mill-turned, or not a machined part."""

    process: Literal["milled", "turned", "mill_turned", "not_machined"]
    why: str
    axis: Vec | None = None  # turning axis


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What is so about one body, whatever the shop: no limits, no judgement. Rules read this and the plan."""

    part: Part
    features: tuple[Feature, ...]
    face_class: tuple[FaceClass, ...]  # (F,)
    patterns: tuple[Pattern, ...] = ()
    measures: tuple[Measure, ...] = ()
    walls: tuple[ThinPlace, ...] = ()  # thinnest first
    thickness_mm: Floats | None = None  # (T,) behind each triangle of the mesh; nan = no face opposite it
    made_by: MadeBy
    tolerances: tuple[ToleranceNote, ...] = ()  # what the file itself says, in its order

    def measure(self, name: str) -> Measure | None:
        """Return the measure of that name; None where it was not taken."""
        return next((each for each in self.measures if each.name == name), None)

    def feature(self, feature_id: str) -> Feature:
        """Return the feature with that id; KeyError where there is none."""
        for each in self.features:
            if each.id == feature_id:
                return each
        raise KeyError(feature_id)

    def notes_of(self, feature: Feature) -> tuple[ToleranceNote, ...]:
        """Return the file's own notes that point at a face of the feature, in the order of the file.

        A thread that is modelled on the feature says as much as a note does; it has no number in the file.
        """
        mine = set(feature.faces)
        notes = tuple(note for note in self.tolerances if mine.intersection(note.faces))
        thread: Thread | None = getattr(feature, "modelled_thread", None)
        if thread is None or any(note.thread for note in notes):
            return notes
        return (
            *notes,
            ToleranceNote(kind="thread", thread=thread.name(), pitch_mm=thread.pitch_mm, faces=feature.faces),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """Facts and judgement about one distinct solid."""

    id: str  # "B1", ...
    facts: Facts
    plan: Plan
    findings: tuple[Finding, ...]  # errors first
    questions: tuple[str, ...]
    triage: Triage
    drawings: tuple[LineDrawing, ...] = ()  # the isometric view first; empty = not asked for, or could not be drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingsUsed:
    """Which settings the judgement was made with."""

    shop: str
    policy: str
    material: str
    quantity: int
    digest: str
    repair: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """The whole answer about one file."""

    status: Status
    source: Source
    settings: SettingsUsed
    health: Health
    problems: tuple[Problem, ...] = ()
    timings_s: dict[str, float] = field(default_factory=dict)  # seconds per stage, with "total"
    bodies: tuple[Body, ...] = ()
