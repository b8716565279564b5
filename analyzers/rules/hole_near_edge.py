"""Hole close to the edge of the part.

What: the material between a hole and the next outer face or pocket wall, against the material's least wall
and the hole's size.
Why: the thin side gives way under the drill: the hole wanders outward, the edge bulges, a screw later pulls
it open.
Instead: the hole moved inward, made smaller, or the part made wider there.
"""

from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limit, Limits, Way, alike
from analyzers.rules._say import subject, verb

Web = tuple[float, tuple[int, ...]]  # thickness and the two faces


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal holes below the material's wall, and one for all that are merely near."""
    thinnest: dict[str, Web] = {}
    for place in case.facts.walls:  # thinnest first
        sides = [case.owner_of_face.get(face) for face in place.faces]
        holes = {each.id for each in sides if isinstance(each, Hole)}
        if place.kind == "web" and len(holes) == 1:
            thinnest.setdefault(holes.pop(), (place.thickness_mm, place.faces))
    least = case.settings.material.min_wall_mm
    beside = tuple(hole for hole in case.features(Hole) if hole.id in thinnest)
    weak = tuple(hole for hole in beside if limits["material"].broken_by(thinnest[hole.id][0] / least))
    for on in alike(weak, key=lambda hole: (hole.kind, hole.callout(), round(thinnest[hole.id][0], 2))):
        yield _finding(limits, limits["material"], on, thinnest, least * limits["material"].value)
    near = [hole for hole in beside if hole not in weak and _drilled(case, hole)]
    near = [hole for hole in near if limits["size"].broken_by(thinnest[hole.id][0] / hole.diameter_mm)]
    if near:
        near.sort(key=lambda hole: thinnest[hole.id][0] / hole.diameter_mm)
        yield _finding(limits, limits["size"], tuple(near), thinnest, near[0].diameter_mm * limits["size"].value)


def _drilled(case: Case, hole: Hole) -> bool:
    """Return whether a drill makes the hole; a bore that is milled or turned has a wall, which nothing pushes aside."""
    kinds = {each.id: each.kind for each in case.settings.shop.cutters}
    used = {kinds.get(use.cutter) for use in case.plan.tools if hole.id in use.features}
    return not used or "drill" in used


def _finding(limits: Limits, limit: Limit, on: tuple[Hole, ...], webs: dict[str, Web], wanted: float) -> Finding:
    """Return one finding about holes; the first of them stands nearest."""
    web = webs[on[0].id][0]
    more = f"{mm_text(round(wanted - web, 2))} mm"
    return limits.finding(
        limit,
        on=on,
        faces=tuple(sorted({face for each in on for face in webs[each.id][1]})),
        measured=web,
        against=wanted,
        unit="mm",
        message=f"{subject(on)} {verb(on, 'stands', 'stand')} near the outside or a wall: "
        f"{mm_text(round(web, 2))} mm are left at ⌀{mm_text(on[0].diameter_mm)}, {mm_text(round(wanted, 2))} mm "
        "is the least that holds.",
        suggestion=f"Move {verb(on, 'it', 'each')} inward{'' if len(on) == 1 else ' by up to'} {more}, or widen "
        "the part there.",
        change=Way("web_mm", wanted, was=web),
        or_else=(Way("diameter_mm", on[0].diameter_mm - 2.0 * (wanted - web)),),
    )
