"""Slenderest wall or rib: how many of its thicknesses it stands high."""

from collections.abc import Iterator

from analyzers.measures._survey import survey_of
from analyzers.model.geometry import Geometry
from analyzers.model.measure import Measure
from analyzers.model.report import Facts


def measure(facts: Facts, geometry: Geometry) -> Iterator[Measure]:
    """Yield the largest height / thickness of the listed walls that stand along the direction a feature is cut from.

    A rib of 1.5 mm between pockets 20 mm deep has 13.3. Walls thicker than what a report lists (see _places) do not
    count: they stand by themselves.
    """
    survey = survey_of(facts, geometry)
    known = [(each.height_mm / each.thickness_mm, each) for each in survey.places if each.height_mm is not None]
    if not known:
        why = "no thin wall stands beside a pocket, slot, step or boss"
        yield Measure(name="max_wall_height_ratio", value=None, applies=False, why_none=why)
        return
    ratio, wall = max(known, key=lambda each: each[0])  # of equals the thinnest, which comes first
    yield Measure(
        name="max_wall_height_ratio",
        value=ratio,
        point_mm=wall.point_mm,
        faces=wall.faces,
        feature=survey.owners.first_of(wall.faces),
    )
