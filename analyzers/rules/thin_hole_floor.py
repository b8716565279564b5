"""Little material left below a blind hole.

What: what remains between the end of a blind hole and the other side, against the least wall of the material.
Why: the drill pushes it out as a bulge, or breaks through; a tap does so for certain.
Instead: less depth, more stock below, or a through hole.
"""

from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._say import subject, verb


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal blind holes with equal floors."""
    least = case.settings.material.min_wall_mm
    floors: dict[str, tuple[float, tuple[int, ...]]] = {}
    for place in case.facts.walls:  # thinnest first
        sides = {each.id: each for face in place.faces if isinstance(each := case.owner_of_face.get(face), Hole)}
        for name, hole in sides.items():
            if place.kind == "floor" and not hole.through:
                floors.setdefault(name, (place.thickness_mm, place.faces))
    below = tuple(hole for hole in case.features(Hole) if hole.id in floors)
    for holes in alike(below, key=lambda hole: (hole.kind, hole.callout(), round(floors[hole.id][0], 2))):
        left = floors[holes[0].id][0]
        if limits["material"].broken_by(left / least):
            wanted = least * limits["material"].value
            depth = holes[0].depth_mm
            yield limits.finding(
                limits["material"],
                on=holes,
                faces=tuple(sorted({face for hole in holes for face in floors[hole.id][1]})),
                measured=left,
                against=wanted,
                unit="mm",
                basis=case.settings.material.source,
                message=f"{subject(holes)} {verb(holes, 'leaves', 'leave')} {mm_text(round(left, 2))} mm below "
                f"{verb(holes, 'it', 'them')}; in {case.settings.material.name} this shop wants {mm_text(wanted)} mm.",
                suggestion=f"{mm_text(round(wanted - left, 2))} mm less depth, or drill right through.",
                change=None if depth is None else Way("depth_mm", depth - (wanted - left)),
            )
