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
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._places import face_owner
from analyzers.rules._say import subject, verb


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal holes with equal thin sides: the stricter limit that these break."""
    thinnest: dict[str, tuple[float, tuple[int, ...]]] = {}
    for place in case.facts.walls:  # thinnest first
        sides = [face_owner(case, face) for face in place.faces]
        holes = {each.id for each in sides if isinstance(each, Hole)}
        if place.kind == "web" and len(holes) == 1:
            thinnest.setdefault(holes.pop(), (place.thickness_mm, place.faces))
    near = tuple(hole for hole in case.features(Hole) if hole.id in thinnest)
    for holes_alike in alike(near, key=lambda hole: (hole.kind, hole.callout(), round(thinnest[hole.id][0], 2))):
        hole, web = holes_alike[0], thinnest[holes_alike[0].id][0]
        by_material = case.settings.material.min_wall_mm * limits["material"].value
        by_size = hole.diameter_mm * limits["size"].value
        if limits["material"].broken_by(web / case.settings.material.min_wall_mm):
            limit, least = limits["material"], by_material
        elif limits["size"].broken_by(web / hole.diameter_mm):
            limit, least = limits["size"], by_size
        else:
            continue
        yield limits.finding(
            limit,
            on=holes_alike,
            faces=tuple(sorted({face for each in holes_alike for face in thinnest[each.id][1]})),
            measured=web,
            against=least,
            unit="mm",
            basis=case.settings.material.source if limit.name == "material" else "",
            message=f"{subject(holes_alike)} {verb(holes_alike)} {mm_text(round(web, 2))} mm from the nearest outside; "
            f"{mm_text(round(least, 2))} mm is the least that holds.",
            suggestion=f"Move {verb(holes_alike, 'it', 'each')} {mm_text(round(least - web, 2))} mm inward, "
            f"or widen the part there to leave {mm_text(round(least, 2))} mm.",
        )
