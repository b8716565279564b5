"""Thinnest material between two faces, wherever it is: walls, ribs, floors, webs, necks."""

from collections.abc import Iterator

from analyzers.measures._survey import survey_of
from analyzers.model.geometry import Geometry
from analyzers.model.measure import Measure, ThinPlace
from analyzers.model.report import Facts


def measure(facts: Facts, geometry: Geometry) -> Iterator[Measure | ThinPlace]:
    """Yield the least thickness of the body and the thin walls.

    Thickness is the shortest way between two faces that stand opposite one another with nothing but material between
    them; a rod's is its diameter. Knife edges, the rims of chamfers and the tips of wedges are edges, not walls (see
    _pairs). Floors and webs count for the number; as places they come from min_floor_mm and min_web_mm. A body whose
    faces meet in edges everywhere (a cone, a pyramid) has none.
    """
    survey = survey_of(facts, geometry)
    if not survey.walls:
        yield Measure(name="min_wall_mm", value=None, applies=False, why_none="no two faces stand opposite one another")
        return
    thinnest = survey.walls[0]
    yield Measure(
        name="min_wall_mm",
        value=thinnest.thickness_mm,
        point_mm=thinnest.first_mm,
        faces=thinnest.faces,
        feature=survey.owners.first_of(thinnest.faces),
    )
    yield from (place for place in survey.places if place.kind == "wall")
