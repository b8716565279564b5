"""Hole of a standard size that the shop has no drill for.

What: a hole of a standard size, for which the shelf holds no drill or reamer, and into which no end mill goes
to mill it round.
Why: the drill is bought for this part; it costs a day and its price.
Instead: a size that is on the shelf, where no fit keeps it.
"""

from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._say import plural, verb
from analyzers.rules._shelf import drills_of, milled_round
from analyzers.rules._units import drawn_in, named_uses, uses_of


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all such sizes; the suggestion names the nearest drill of the shelf for each."""
    shelf = sorted(each.diameter_mm for each in case.settings.shop.cutters if each.kind == "drill")
    if not shelf:
        return
    units = drawn_in(case)
    wanting: dict[float, tuple[float, tuple[Hole, ...]]] = {}
    for holes in alike(case.features(Hole), key=lambda hole: (hole.diameter_mm, *named_uses(case, hole))):
        hole = holes[0]
        if drills_of(case, hole.diameter_mm, ("drill", "reamer")) or milled_round(case, holes):
            continue
        if uses_of(case, hole, units)[-1].use == "none":
            continue
        nearest = min(shelf, key=lambda each: abs(each - hole.diameter_mm))
        if limits["off"].broken_by(abs(nearest - hole.diameter_mm)):
            wanting[hole.diameter_mm] = (nearest, holes)
    if wanting:
        on = tuple(hole for _, holes in wanting.values() for hole in holes)
        drills = ", ".join(f"⌀{mm_text(each)}" for each in sorted(wanting))
        near = ", ".join(f"⌀{mm_text(wanting[each][0])} for ⌀{mm_text(each)}" for each in sorted(wanting)[:4])
        only = next(iter(wanting.values()))[0] if len(wanting) == 1 else None
        yield limits.finding(
            limits["off"],
            on=on,
            measured=max(abs(nearest - size) for size, (nearest, _) in wanting.items()),
            message=f"{len(on)} {plural('hole', len(on))} {verb(on, 'wants', 'want')} drills that are not on the "
            f"shelf: {drills}.",
            suggestion=f"On the shelf are {near}; else {len(wanting)} {plural('drill', len(wanting))} "
            f"{'is' if len(wanting) == 1 else 'are'} bought.",
            change=None if only is None else ("diameter_mm", only),
        )
