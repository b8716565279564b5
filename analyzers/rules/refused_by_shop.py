"""Something the shop does not take on.

What: a material, a process or a kind of feature that the shop's file refuses.
Why: the shop has said so, with its reason; better known now than after the quotation.
Instead: another material or shape, or another shop.
"""

from collections.abc import Iterator

from analyzers.model.feature import Feature
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way
from analyzers.rules._say import NOUNS
from analyzers.settings.shop import Refusal


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each refusal of the shop that this part meets."""
    for refusal in case.settings.shop.refuses:
        on = tuple(each for each in case.facts.features if refusal.what == "feature" and each.kind == refusal.name)
        met = {
            "material": case.settings.material.id == refusal.name,
            "process": case.facts.made_by.process == refusal.name,
            "feature": bool(on),
        }[refusal.what]
        if limits["refused"].broken_by(float(met)):
            name = case.settings.material.name if refusal.what == "material" else NOUNS.get(refusal.name, refusal.name)
            yield limits.finding(
                limits["refused"],
                on=on,
                measured=1.0,
                message=f"The shop does not take {refusal.what} {name.replace('_', ' ')}: {refusal.why.rstrip('.')}.",
                suggestion=f"Without {f'these {len(on)} features' if on else name.replace('_', ' ')} the shop can "
                "quote.",
                change=_way(case, refusal, on),
                no_change="" if refusal.what != "process" else "another process is another part",
                marks=(refusal.what, refusal.name),
            )


def _way(case: Case, refusal: Refusal, on: tuple[Feature, ...]) -> Way | None:
    """Return the way without what is refused: the features left out, or another material of the shop."""
    if refusal.what == "feature":
        return Way("count", 0.0, (0.0,), was=float(len(on)))
    if refusal.what == "process":
        return None
    shop = case.settings.shop
    refused = {each.name for each in shop.refuses if each.what == "material"}
    others = [each for each in shop.materials if each.id not in refused]
    own = case.settings.material.cutting_speed_m_min
    nearest = min(others, key=lambda each: abs(each.cutting_speed_m_min - own), default=None)
    return None if nearest is None else Way("material", nearest.id, was=case.settings.material.id)
