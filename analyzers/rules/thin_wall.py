"""Wall thinner than the material allows.

What: material between two faces, thinner than the shop's least wall for this material.
Why: the wall springs away from the cutter, comes out thick at the top and rings; plastics and soft metals
tear.
Instead: a thicker wall, a lower one, or a rib behind it.
"""

from collections.abc import Iterator

from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._places import owners
from analyzers.rules._prints import marks_of_places
from analyzers.rules._say import plural


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each thickness that is too thin; equal walls share it."""
    least = case.settings.material.min_wall_mm
    thin = tuple(
        each
        for each in case.facts.walls
        if each.kind == "wall" and limits["material"].broken_by(each.thickness_mm / least)
    )
    for places in alike(thin, key=lambda each: (round(each.thickness_mm, 2),)):
        thickness = places[0].thickness_mm
        wanted = least * limits["material"].value
        what = "A wall" if len(places) == 1 else f"{len(places)} {plural('wall', len(places))}"
        yield limits.finding(
            limits["material"],
            on=owners(case, places),
            faces=tuple(sorted({face for each in places for face in each.faces})),
            measured=thickness,
            against=wanted,
            unit="mm",
            basis=case.settings.material.source,
            message=f"{what} {mm_text(round(thickness, 2))} mm thick; in {case.settings.material.name} this shop wants "
            f"{mm_text(wanted)} mm.",
            suggestion=f"{mm_text(round(wanted - thickness, 2))} mm more, to {mm_text(wanted)} mm.",
            change=Way("wall_mm", wanted, was=thickness),
            marks=marks_of_places(places),
        )
