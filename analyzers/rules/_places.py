"""Which features a thin place touches."""

from collections.abc import Iterable

from analyzers.model.feature import Feature
from analyzers.model.measure import ThinPlace
from analyzers.rules._base import Case


def owners(case: Case, places: Iterable[ThinPlace]) -> tuple[Feature, ...]:
    """Return the features that own a face of these places, in the order of the report."""
    ids = {case.owner_of_face[face].id for each in places for face in each.faces if face in case.owner_of_face}
    return tuple(each for each in case.facts.features if each.id in ids)
