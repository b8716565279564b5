"""Many different cutters.

What: the number of different cutters that the plan takes for one part.
Why: each is measured, loaded and changed; beyond the magazine the operator stands by and changes them by
hand.
Instead: corner radii, hole sizes and chamfers brought together, so that one cutter does several.
"""

from collections.abc import Iterator

from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits
from analyzers.rules._say import plural


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for the whole plan; it names the features whose cutters do nothing else."""
    cutters: dict[str, set[str]] = {}
    for use in case.plan.tools:
        cutters.setdefault(use.cutter, set()).update(use.features)
    if not limits["cutters"].broken_by(len(cutters)):
        return
    spare = len(cutters) - int(limits["cutters"].value)
    lone = sorted(name for name in cutters if len(cutters[name]) == 1)
    ids = {feature for name in lone for feature in cutters[name]}
    yield limits.finding(
        limits["cutters"],
        on=tuple(each for each in case.facts.features if each.id in ids),
        measured=len(cutters),
        message=f"The plan takes {len(cutters)} different cutters, {len(lone)} of them for a single feature.",
        suggestion=f"{spare} {plural('cutter', spare)} less by bringing radii and hole sizes together"
        + (f", first those of {', '.join(lone[:4])}." if lone else "."),
        marks=("whole part",),
    )
