"""Thinnest material beside a hole: to the next hole, to a pocket, to the outside."""

from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.measures._survey import survey_of
from analyzers.model.geometry import Geometry
from analyzers.model.measure import Measure, ThinPlace
from analyzers.model.report import Facts


def measure(facts: Facts, geometry: Geometry) -> Iterator[Measure | ThinPlace]:
    """Yield the least web of the body and the thin webs.

    A web lies beside a hole's flank: two bores of 8 and 6 mm at 12 mm pitch leave 12 - (8 + 6) / 2 = 5 mm. What lies
    below a blind hole is a floor, and a tube's wall, which goes all round, is a wall.
    """
    survey = survey_of(facts, geometry)
    web = next((each for each in survey.walls if survey.owners.kind(each) == "web"), None)
    if web is None:
        holes = any(isinstance(each, Hole) for each in facts.features)
        why = "no face stands opposite the flank of a hole" if holes else "the body has no holes"
        yield Measure(name="min_web_mm", value=None, applies=False, why_none=why)
        return
    hole_first = isinstance(survey.owners.of(web.first), Hole)
    hole = survey.owners.of(web.first if hole_first else web.second)
    yield Measure(
        name="min_web_mm",
        value=web.thickness_mm,
        point_mm=web.first_mm if hole_first else web.second_mm,
        faces=web.faces,
        feature=hole.id if hole else None,
    )
    yield from (place for place in survey.places if place.kind == "web")
