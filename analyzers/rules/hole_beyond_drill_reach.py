"""Hole deeper than the shop's drill of that size reaches.

What: the depth of a hole against the longest drill of its diameter on the shelf.
Why: the chuck meets the part before the tip meets the depth; a long drill has to be bought, or the hole
drilled from both sides.
Instead: less depth of a blind hole, or a diameter for which a longer drill is there.
"""

from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._say import subject, verb
from analyzers.rules._shelf import drills_of, reaches
from analyzers.rules._units import drawn_down, drawn_up


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal holes; sizes without a drill on the shelf are another rule's."""
    unmade = {each.feature for each in case.plan.unmade}
    deep = tuple(hole for hole in case.features(Hole) if hole.depth_mm is not None)
    for holes in alike(deep, key=lambda hole: (hole.kind, hole.callout(), hole.depth_mm, hole.id in unmade)):
        depth, drills = holes[0].depth_mm or 0.0, drills_of(case, holes[0].diameter_mm)
        longest = max(drills, key=lambda each: each.reach_mm, default=None)
        limit = limits["unmade" if holes[0].id in unmade else "reach"]
        if longest is None or not limit.broken_by(depth / longest.reach_mm):
            continue
        reach = longest.reach_mm * limit.value
        both = holes[0].through and depth <= 2.0 * reach
        longer = [each for each in case.settings.shop.cutters if each.kind == "drill" and reaches(each, depth)]
        wider = tuple(sorted(each.diameter_mm for each in longer if each.diameter_mm > holes[0].diameter_mm))
        cure = f"Make it no deeper than {mm_text(drawn_down(case, reach))} mm, or b"
        if holes[0].through:  # it is as deep as the part is thick
            cure = "Drill it from both sides, or b" if both else "B"
        larger = (Way("diameter_mm", wider[0], wider),) if wider else ()
        shallower = () if holes[0].through else (Way("depth_mm", drawn_down(case, reach)),)
        ways = (*shallower, *larger)
        yield limits.finding(
            limit,
            on=holes,
            measured=depth,
            against=reach,
            unit="mm",
            message=f"{subject(holes)} {verb(holes)} {mm_text(depth)} mm deep; the longest "
            f"⌀{mm_text(longest.diameter_mm)} drill on the shelf reaches {mm_text(longest.reach_mm)} mm.",
            suggestion=f"{cure}uy a drill {mm_text(drawn_up(case, depth - reach))} mm longer.",
            change=ways[0] if ways else None,
            or_else=ways[1:],
        )
