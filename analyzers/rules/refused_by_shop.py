"""Something the shop does not take on.

What: a material, a process or a kind of feature that the shop's file refuses.
Why: the shop has said so, with its reason; better known now than after the quotation.
Instead: another material or shape, or another shop.
"""

from collections.abc import Iterator

from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits
from analyzers.rules._say import NOUNS


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
                marks=(refusal.what, refusal.name),
            )
