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
from analyzers.rules._base import Case, Limit, Limits, Way, alike
from analyzers.rules._prints import marks_of_places
from analyzers.rules._say import plural

Neighbours = tuple[ThinPlace, Hole, Hole]


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal webs below the material's wall, and one for all that are merely thin."""
    least = case.settings.material.min_wall_mm
    between = _between(case)
    weak = tuple(each for each in between if limits["material"].broken_by(each[0].thickness_mm / least))
    for places in alike(weak, key=lambda each: (round(each[0].thickness_mm, 2), *_sizes(each))):
        yield _finding(limits, limits["material"], places, least * limits["material"].value)
    thin = [each for each in between if each not in weak]
    thin = [each for each in thin if limits["size"].broken_by(each[0].thickness_mm / min(_sizes(each)))]
    if thin:
        thin.sort(key=lambda each: each[0].thickness_mm / min(_sizes(each)))
        yield _finding(limits, limits["size"], tuple(thin), min(_sizes(thin[0])) * limits["size"].value)


def _finding(limits: Limits, limit: Limit, places: tuple[Neighbours, ...], wanted: float) -> Finding:
    """Return one finding about places; the first of them is the thinnest for its holes."""
    web = places[0][0].thickness_mm
    first, second = _sizes(places[0])
    larger = tuple(dict.fromkeys(max(two, key=lambda hole: hole.diameter_mm) for _, *two in places))
    what = f"⌀{mm_text(first)} and ⌀{mm_text(second)}" if first != second else f"two ⌀{mm_text(first)}"
    return limits.finding(
        limit,
        on=tuple(dict.fromkeys(hole for _, *holes in places for hole in holes)),
        faces=tuple(sorted({face for place, *_ in places for face in place.faces})),
        measured=web,
        against=wanted,
        unit="mm",
        message=f"{len(places)} thin {plural('web', len(places))} between holes: {mm_text(round(web, 2))} mm "
        f"between {what}, {mm_text(round(wanted, 2))} mm is the least that holds.",
        suggestion=f"{mm_text(round(wanted - web, 2))} mm more pitch there, to leave {mm_text(round(wanted, 2))} mm.",
        change=Way("web_mm", wanted, was=web),
        or_else=(Way("diameter_mm", second - 2.0 * (wanted - web), on=larger),),
        marks=marks_of_places(place for place, *_ in places),
    )


def _between(case: Case) -> tuple[Neighbours, ...]:
    """Return the thin places that lie between two different holes."""
    found: list[Neighbours] = []
    for place in case.facts.walls:
        sides = [case.owner_of_face.get(face) for face in place.faces]
        holes = {each.id: each for each in sides if isinstance(each, Hole)}
        if place.kind == "web" and len(holes) == 2:
            first, second = holes.values()
            found.append((place, first, second))
    return tuple(found)


def _sizes(neighbours: Neighbours) -> tuple[float, float]:
    _, first, second = neighbours
    low, high = sorted((first.diameter_mm, second.diameter_mm))
    return (low, high)
