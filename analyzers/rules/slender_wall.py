"""Wall high for its thickness.

What: the height of a thin wall, from the floor beside it up, against its thickness.
Why: it springs away from the cutter and rings like a reed, however thick the material would allow; the top comes out
thicker than the foot.
Instead: a thicker wall, a lower one, a rib across it, or a fillet along its foot.
"""

from collections.abc import Iterator

from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._places import owners
from analyzers.rules._prints import marks_of_places
from analyzers.rules._say import plural
from analyzers.rules._units import drawn_down, drawn_up
from analyzers.tolerance import SAME_PLACE_MM


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of walls of equal thickness and height."""
    walls = tuple(
        each
        for each in case.facts.walls
        if each.kind == "wall" and each.height_mm and each.thickness_mm > SAME_PLACE_MM
    )
    for places in alike(walls, key=lambda each: (round(each.thickness_mm, 2), round(each.height_mm or 0.0, 1))):
        thickness, height = places[0].thickness_mm, places[0].height_mm or 0.0
        limit = limits.strictest_broken(height / thickness)
        if limit is None:
            continue
        wanted = drawn_up(case, height / limit.value)
        what = "A wall" if len(places) == 1 else f"{len(places)} {plural('wall', len(places))}"
        yield limits.finding(
            limit,
            on=owners(case, places),
            faces=tuple(sorted({face for each in places for face in each.faces})),
            measured=height / thickness,
            message=f"{what} {mm_text(round(thickness, 2))} mm thick and {mm_text(round(height, 1))} mm high, "
            f"{height / thickness:.1f} times as high as thick "
            f"({'beyond what was shown to hold' if limit.name == 'shown' else 'it rings under the cutter'} from "
            f"{limit.value:g}).",
            suggestion=f"{mm_text(wanted)} mm thick, or no higher than "
            f"{mm_text(drawn_down(case, limit.value * thickness))} mm, or a rib across it.",
            change=Way("wall_mm", height / limits.to_aim_at(limit), was=thickness),
            marks=marks_of_places(places),
        )
