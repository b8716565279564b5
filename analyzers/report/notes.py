"""What the model's own annotations say about a feature: width between limits, ISO 286 grade, thread; or nothing."""

from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from analyzers.data.note_grades import grade_asked
from analyzers.model.feature import Feature
from analyzers.model.report import Facts
from analyzers.model.tolerance_note import ToleranceNote, is_limit
from analyzers.report import quantity
from analyzers.report.german import word

NONE_IN_MODEL: Final = "none in the model"
NONE_HERE: Final = "none of the model's tolerances points at this feature"


@dataclass(frozen=True, slots=True)
class Said:
    """What the file says about one feature; None and empty where it says nothing."""

    width_mm: float | None  # the narrowest between limits, or of a zone of form or place
    grade: int | None  # the finest that one of its sizes asks for
    thread: str | None
    notes: tuple[ToleranceNote, ...]  # in the order of the file

    @property
    def limits(self) -> tuple[ToleranceNote, ...]:
        """The notes that limit something: no datums, no threads, nothing exact or for reference only."""
        return tuple(each for each in self.notes if is_limit(each))


def said_about(facts: Facts, feature: Feature) -> Said:
    """Return what the file says about a feature."""
    notes = facts.notes_of(feature)
    widths = [each.zone_mm for each in notes if each.zone_mm is not None and is_limit(each)]
    grades = [grade for each in notes if (grade := grade_asked(each)) is not None]
    threads = [each.thread for each in notes if each.thread]
    return Said(min(widths, default=None), min(grades, default=None), next(iter(threads), None), notes)


def why_none(facts: Facts) -> str:
    """Return why a feature has no tolerance: the model has none at all, or none for this one."""
    return NONE_HERE if any(is_limit(each) for each in facts.tolerances) else NONE_IN_MODEL


def tolerance_cell(facts: Facts, feature: Feature) -> Markup:
    """Return the tolerances of a feature as on a drawing, with the grade that they ask for, as HTML."""
    said = said_about(facts, feature)
    callouts = dict.fromkeys(each.callout() for each in said.limits)
    if not callouts:
        return Markup('<span class="quiet">{}</span>').format(word("none"))
    text = Markup("; ").join(quantity.callout(each) for each in callouts)
    grade = "" if said.grade is None else Markup(' <span class="quiet">(IT {})</span>').format(said.grade)
    return text + grade
