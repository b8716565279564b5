"""Places of the file's own notes, for the measures about them."""

from analyzers.model.arrays import vec
from analyzers.model.measure import Measure
from analyzers.model.report import Facts
from analyzers.model.tolerance_note import ToleranceNote

NO_NOTES = "the model carries no semantic tolerances"


def none_of(facts: Facts, name: str, missing: str) -> Measure:
    """Return the measure without a value: no notes with a tolerance at all, or none of the wanted sort."""
    limited = any(each.zone_mm is not None or each.upper_deg is not None for each in facts.tolerances)
    return Measure(name=name, value=None, applies=False, why_none=missing if limited else NO_NOTES)


def at_note(facts: Facts, name: str, value: float, note: ToleranceNote) -> Measure:
    """Return the measure at a note's first face, with the first feature that the note points at."""
    face = next(iter(note.faces), None)
    return Measure(
        name=name,
        value=value,
        point_mm=None if face is None else vec(facts.part.face_point_mm[face]),
        faces=note.faces,
        feature=next((each.id for each in facts.features if note in facts.notes_of(each)), None),
    )
