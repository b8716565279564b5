"""Tolerance in the model that is finer than the shop holds without extra care.

What: a dimension whose limits ask for a finer ISO 286 grade than the shop's file says it holds, or a tolerance of form
or place narrower than that grade's tolerance of the length of the toleranced face (of a square of its area).
Why: each finer grade costs another operation, a slower finish and a closer inspection; the price should know it.
Instead: the width that the shop holds, or a note that says why this place needs more.
"""

import math
from collections.abc import Iterator

from analyzers.data.note_grades import MICROMETRES, grade_asked, grade_of_zone, largest_size_mm
from analyzers.data.tolerances import standard_tolerance_um
from analyzers.model.feature import Feature, mm_text
from analyzers.model.finding import Finding
from analyzers.model.tolerance_note import ToleranceNote, is_geometric
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._say import subject


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal notes that are too fine."""
    held = case.settings.shop.held_it_grade
    for notes in alike(case.facts.tolerances, key=lambda note: (note.kind, note.callout())):
        first = notes[0]
        name = "place" if is_geometric(first) else "size"
        length = _length_mm(case, notes)
        if name == "size":
            grade = grade_asked(first)
        else:
            grade = None if first.zone_mm is None else grade_of_zone(length, first.zone_mm)
        if grade is None or not limits[name].broken_by(held - grade):
            continue
        allowed = standard_tolerance_um(length, held)
        wanted = "" if allowed is None else f" of {mm_text(allowed / MICROMETRES)} mm"
        finer = f"IT {grade}" if name == "size" else f"what IT {grade} is for {mm_text(round(length, 1))} mm"
        on = _features(case, notes)
        yield limits.finding(
            limits[name],
            on=on,
            faces=tuple(sorted({face for note in notes for face in note.faces})),
            measured=float(grade),
            against=float(held),
            message=f"{_what(notes, on)}: {first.callout()} asks for {finer}; without extra care we hold IT {held}.",
            suggestion=f"A width{wanted} (IT {held}) needs no extra operation; closer ones are priced by the shop.",
            change=None if allowed is None else _way(first, allowed / MICROMETRES, on),
            no_change="" if allowed is not None else "grades say nothing about this size",
            marks=(first.kind, first.callout()),
        )


def _length_mm(case: Case, notes: tuple[ToleranceNote, ...]) -> float:
    """Return the size that a grade is read at: the nominal one; for form and place that of the largest face."""
    nominal = notes[0].nominal_mm
    if nominal is not None:
        return nominal * (2.0 if notes[0].kind in ("radius", "spherical_radius") else 1.0)
    areas = [float(case.facts.part.face_area_mm2[face]) for note in notes for face in note.faces]
    return min(math.sqrt(max(areas, default=0.0)), largest_size_mm())


def _features(case: Case, notes: tuple[ToleranceNote, ...]) -> tuple[Feature, ...]:
    """Return the features that own the notes' faces, in the order of the report."""
    faces = {face for note in notes for face in note.faces}
    return tuple(each for each in case.facts.features if faces.intersection(each.faces))


def _what(notes: tuple[ToleranceNote, ...], on: tuple[Feature, ...]) -> str:
    """Return what the notes are about: features, faces of the outline, or the part as a whole."""
    if on and len({each.kind for each in on}) == 1:
        return subject(on)
    count = len({face for note in notes for face in note.faces})
    return f"{count} faces" if count > 1 else "One face" if count else "The part"


def _way(note: ToleranceNote, allowed_mm: float, on: tuple[Feature, ...]) -> Way:
    """Return the way to the width that the shop holds; a radius has half of its diameter's."""
    width = allowed_mm / (2.0 if note.kind in ("radius", "spherical_radius") else 1.0)
    return Way("zone_mm", width, (width,), was=note.zone_mm if note.zone_mm is not None else note.fit, on=on)
