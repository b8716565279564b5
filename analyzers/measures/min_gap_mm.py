"""Narrowest clear way between two faces that look at one another across the air: slots, ribs, undercuts."""

from collections.abc import Iterator

from analyzers.measures._pairs import Between
from analyzers.measures._survey import survey_of
from analyzers.model.geometry import Geometry
from analyzers.model.measure import Measure
from analyzers.model.report import Facts


def measure(facts: Facts, geometry: Geometry) -> Iterator[Measure]:
    """Yield the least gap, found like a wall with air for material; a cutter that makes the faces must be thinner.

    The inside of holes does not count: a hole's own diameter is no gap.
    """
    survey = survey_of(facts, geometry)

    def counts(gap: Between) -> bool:
        return any(facts.face_class[face] != "hole" for face in gap.faces)

    gap = next((each for each in survey.gaps if counts(each)), None)
    if gap is None:
        why = "no two faces look at one another across the air"
        yield Measure(name="min_gap_mm", value=None, applies=False, why_none=why)
        return
    yield Measure(
        name="min_gap_mm",
        value=gap.thickness_mm,
        point_mm=gap.first_mm,
        faces=gap.faces,
        feature=survey.owners.first_of(gap.faces),
    )
