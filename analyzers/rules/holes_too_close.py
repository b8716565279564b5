"""Holes close to one another.

What: the material between two holes, against the material's least wall and the size of the smaller hole.
Why: the second drill runs into the weak side and spoils both; a thin web tears when the screws are pulled.
Instead: a wider pitch, or smaller holes.
"""

from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.model.measure import ThinPlace
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._places import face_owner, place_marks
from analyzers.rules._say import plural

Neighbours = tuple[ThinPlace, Hole, Hole]


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal webs between equal holes."""
    for places in alike(_between(case), key=lambda each: (round(each[0].thickness_mm, 2), *_sizes(each))):
        web, smaller = places[0][0].thickness_mm, min(_sizes(places[0]))
        least = case.settings.material.min_wall_mm
        if limits["material"].broken_by(web / least):
            limit, wanted = limits["material"], least * limits["material"].value
        elif limits["size"].broken_by(web / smaller):
            limit, wanted = limits["size"], smaller * limits["size"].value
        else:
            continue
        on = tuple(dict.fromkeys(hole for _, *holes in places for hole in holes))
        first, second = _sizes(places[0])
        what = f"⌀{mm_text(first)} and ⌀{mm_text(second)}" if first != second else f"two ⌀{mm_text(first)}"
        yield limits.finding(
            limit,
            on=on,
            faces=tuple(sorted({face for place, *_ in places for face in place.faces})),
            measured=web,
            against=wanted,
            unit="mm",
            basis=case.settings.material.source if limit.name == "material" else "",
            message=f"{len(places)} {plural('place', len(places))} with {mm_text(round(web, 2))} mm between "
            f"{what} holes; "
            f"{mm_text(wanted)} mm is the least that holds.",
            suggestion=f"{mm_text(round(wanted - web, 2))} mm more pitch, to leave {mm_text(wanted)} mm.",
            marks=place_marks(case, [place for place, *_ in places]),
        )


def _between(case: Case) -> tuple[Neighbours, ...]:
    """Return the thin places that lie between two different holes."""
    found: list[Neighbours] = []
    for place in case.facts.walls:
        sides = [face_owner(case, face) for face in place.faces]
        holes = {each.id: each for each in sides if isinstance(each, Hole)}
        if place.kind == "web" and len(holes) == 2:
            first, second = holes.values()
            found.append((place, first, second))
    return tuple(found)


def _sizes(neighbours: Neighbours) -> tuple[float, float]:
    _, first, second = neighbours
    low, high = sorted((first.diameter_mm, second.diameter_mm))
    return (low, high)
