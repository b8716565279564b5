"""What a tolerance in the model asks of the shop, in grades of ISO 286-1."""

import re
from typing import Final

from analyzers.data.rows import rows
from analyzers.data.tolerance_tables import ToleranceGrade
from analyzers.data.tolerances import grade_of, standard_tolerance_um
from analyzers.model.tolerance_note import ToleranceNote, is_size

MICROMETRES: Final = 1000.0
_FIT_GRADE: Final = re.compile(r"(\d{1,2})$")


def grade_asked(note: ToleranceNote) -> int | None:
    """Return the coarsest grade that keeps a dimension within its limits; None where grades say nothing about it.

    Geometric tolerances, angles, dimensions without limits, and sizes outside the table (above 500 mm) have none. What
    even the table's finest grade does not keep is one finer than that. A radius is judged by its diameter.

    Examples
    --------
    >>> grade_asked(ToleranceNote(kind="diameter", nominal_mm=10.0, zone_mm=0.015, upper_mm=0.015, lower_mm=0.0))
    7
    >>> grade_asked(ToleranceNote(kind="radius", nominal_mm=5.0, zone_mm=0.0075, upper_mm=0.0075, lower_mm=0.0))
    7
    """
    if not is_size(note) or note.use != "toleranced":
        return None
    if note.fit and (written := _FIT_GRADE.search(note.fit)):
        return int(written[1])
    if note.nominal_mm is None or note.zone_mm is None:
        return None
    factor = 2.0 if note.kind in ("radius", "spherical_radius") else 1.0
    return grade_of_zone(factor * note.nominal_mm, factor * note.zone_mm)


def grade_of_zone(length_mm: float, zone_mm: float) -> int | None:
    """Return the coarsest grade whose standard tolerance of a length fits a zone; None outside the table."""
    finest = min(row.grade for row in rows(ToleranceGrade))
    if standard_tolerance_um(length_mm, finest) is None:
        return None
    kept = grade_of(length_mm, round(zone_mm * MICROMETRES, 6))
    return finest - 1 if kept is None else kept


def largest_size_mm() -> float:
    """Return the largest size that the grades' table knows."""
    return max(row.to_mm for row in rows(ToleranceGrade))
