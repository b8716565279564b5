"""More clampings than the shop likes.

What: the number of directions from which the part has to be cut, each a clamping of its own.
Why: each clamping costs setting-up time once and handling on every part, and loses some of the position
between its sides.
Instead: holes and pockets drawn so that they are reached from the sides that are cut anyway.
"""

from collections.abc import Iterator

from analyzers.model.finding import Finding
from analyzers.model.plan import Setup
from analyzers.rules._base import Case, Limits, Way
from analyzers.rules._say import plural, verb


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for the whole part; it names the clampings with the least work in them."""
    setups = case.plan.setups
    if limits["shop"].broken_by(len(setups) / case.settings.shop.max_setups):
        limit, most = limits["shop"], int(case.settings.shop.max_setups * limits["shop"].value)
    elif limits["few"].broken_by(len(setups)):
        limit, most = limits["few"], int(limits["few"].value)
    else:
        return
    spare = sorted(setups, key=lambda each: len(each.features))[: len(setups) - most]
    ids = {feature for each in spare for feature in each.features}
    kept = max((each for each in setups if each not in spare), key=lambda each: len(each.features))
    yield limits.finding(
        limit,
        on=tuple(each for each in case.facts.features if each.id in ids),
        measured=len(setups),
        against=most,
        unit="setups",
        marks=("whole part", float(len(setups))),
        message=f"The part is cut from {len(setups)} sides; "
        f"{'the shop takes' if limit.name == 'shop' else 'it is cheap up to'} {most}.",
        suggestion=f"{_spared(spare)} {_work(spare, len(ids))}: reached from another side, {most} setups are left.",
        change=Way("setup", kept.id, was=", ".join(each.id for each in spare)),
    )


def _spared(spare: list[Setup]) -> str:
    return f"{'Setup' if len(spare) == 1 else 'Setups'} {', '.join(each.id for each in spare)}"


def _work(spare: list[Setup], count: int) -> str:
    """Return what the spared setups are there for; none of them may have a feature of its own."""
    if not count:
        return f"{verb(tuple(spare), 'cuts', 'cut')} nothing but what the others leave over"
    return f"only {verb(tuple(spare), 'exists', 'exist')} for {count} {plural('feature', count)}"
