"""Which features a thin place touches, and what names a place when the part is moved."""

from collections.abc import Iterable

from analyzers.model.feature import Feature
from analyzers.model.measure import ThinPlace
from analyzers.rules._base import Case
from analyzers.rules._prints import marks_of_places


def owners(case: Case, places: Iterable[ThinPlace]) -> tuple[Feature, ...]:
    """Return the features that own a face of these places, in the order of the report."""
    ids = {case.owner_of_face[face].id for each in places for face in each.faces if face in case.owner_of_face}
    return tuple(each for each in case.facts.features if each.id in ids)


def place_marks(case: Case, places: Iterable[ThinPlace]) -> tuple[float | str, ...]:
    """Return what thin places are known by: thickness and what lies on both sides, wherever the part is moved."""
    return marks_of_places(places, {face: each.kind for face, each in case.owner_of_face.items()})
