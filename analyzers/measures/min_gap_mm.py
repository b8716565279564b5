"""Narrowest clear way between two faces that look at one another across the air: slots, ribs, undercuts."""

import math
from collections.abc import Iterator

from analyzers.features.boss import Boss
from analyzers.features.fillet import Fillet
from analyzers.features.pocket import Pocket
from analyzers.measures._pairs import Between
from analyzers.measures._survey import Survey, survey_of
from analyzers.model.geometry import Geometry
from analyzers.model.measure import FeatureNumber, Measure
from analyzers.model.report import Facts
from analyzers.tolerance import WALL_LEAN_DEG


def measure(facts: Facts, geometry: Geometry) -> Iterator[Measure | FeatureNumber]:
    """Yield the least gap, found like a wall with air for material; a cutter that makes the faces must be thinner.

    The inside of holes does not count: a hole's own diameter is no gap. Also `passage_mm` of each pocket: the narrowest
    way across it, between two of its walls or past an island.
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
    yield from _passages(survey)


def _passages(survey: Survey) -> Iterator[FeatureNumber]:
    """Yield the narrowest way across each pocket."""
    lean = math.sin(math.radians(WALL_LEAN_DEG))
    done: set[str] = set()
    for gap in survey.gaps:  # narrowest first
        owners = [survey.owners.of(face) for face in gap.faces]
        for pocket in owners:
            if not isinstance(pocket, Pocket) or pocket.id in done:
                continue
            within = all(owner is pocket or isinstance(owner, Boss | Fillet) for owner in owners)
            ways = zip(gap.first_mm, gap.second_mm, pocket.direction, strict=True)
            along = abs(sum((a - b) * d for a, b, d in ways))
            if within and along <= lean * gap.thickness_mm:
                done.add(pocket.id)
                yield FeatureNumber(feature=pocket.id, field="passage_mm", value=gap.thickness_mm)
