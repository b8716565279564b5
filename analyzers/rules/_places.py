"""Which features a thin place touches, and what names a place when the part is moved."""

from collections.abc import Iterable

from analyzers.model.feature import Feature
from analyzers.model.measure import ThinPlace
from analyzers.rules._base import Case


def owners(case: Case, places: Iterable[ThinPlace]) -> tuple[Feature, ...]:
    """Return the features that own a face of these places, in the order of the report."""
    ids = {case.owner_of_face[face].id for each in places for face in each.faces if face in case.owner_of_face}
    return tuple(each for each in case.facts.features if each.id in ids)


def place_marks(case: Case, places: Iterable[ThinPlace]) -> tuple[float | str, ...]:
    """Return thicknesses (to 0.01 mm) and the areas of the faces (to a mm²): the same wherever the part is moved."""
    areas = case.facts.part.face_area_mm2
    marks = [
        (round(each.thickness_mm, 2), *sorted(float(round(areas[face])) for face in each.faces)) for each in places
    ]
    return tuple(number for mark in sorted(marks) for number in mark)
