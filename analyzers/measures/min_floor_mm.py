"""Thinnest floor left under a pocket, slot, groove or blind hole."""

from collections.abc import Iterator

from analyzers.measures._survey import survey_of
from analyzers.model.geometry import Geometry
from analyzers.model.measure import FeatureNumber, Measure, ThinPlace
from analyzers.model.report import Facts


def measure(facts: Facts, geometry: Geometry) -> Iterator[Measure | ThinPlace | FeatureNumber]:
    """Yield the least floor of the body, the thin floors, and `floor_thickness_mm` of each recess that has a floor.

    A floor is the material that lies along the recess's direction below it. Under a drill point it is measured from the
    tip. Through pockets and holes have none.
    """
    survey = survey_of(facts, geometry)
    found = [(between, feature) for between in survey.walls for feature in survey.owners.floored(between)]
    if not found:
        why = "no pocket, slot, groove or blind hole stands on a floor"
        yield Measure(name="min_floor_mm", value=None, applies=False, why_none=why)
        return
    thinnest, feature = found[0]
    yield Measure(
        name="min_floor_mm",
        value=thinnest.thickness_mm,
        point_mm=thinnest.first_mm if thinnest.first in feature.faces else thinnest.second_mm,
        faces=thinnest.faces,
        feature=feature.id,
    )
    yield from (place for place in survey.places if place.kind == "floor")
    done: set[str] = set()
    for between, owner in found:  # thinnest first, so the first of each feature is its floor
        if owner.id not in done:
            done.add(owner.id)
            yield FeatureNumber(feature=owner.id, field="floor_thickness_mm", value=between.thickness_mm)
