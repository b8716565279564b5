"""Part larger than any machine of the shop travels.

What: the block the part is cut from, laid in the best direction, against the travels of the shop's machines.
Why: what the spindle does not reach cannot be cut in one clamping, and often not held at all.
Instead: a shorter part, two parts joined, or a shop with a longer table.
"""

from collections.abc import Iterator

from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way

KINDS = {"turned": ("lathe", "mill_turn"), "mill_turned": ("mill_turn", "lathe", "mill")}


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding where no machine of the right kind takes the block."""
    kinds = KINDS.get(case.facts.made_by.process, ("mill", "mill_turn"))
    machines = [each for each in case.settings.shop.machines if each.kind in kinds]
    block = sorted(case.plan.stock_mm)
    over = [
        (
            max(
                (length / travel, length, travel) for length, travel in zip(block, sorted(each.travel_mm), strict=True)
            ),
            each,
        )
        for each in machines
    ]
    if not over:
        return
    (ratio, length, travel), machine = min(over, key=lambda each: each[0])
    if limits["travel"].broken_by(ratio):
        allowance = 2.0 * case.settings.shop.stock_allowance_mm
        size = " × ".join(mm_text(round(each, 1)) for each in reversed(block))
        yield limits.finding(
            limits["travel"],
            measured=length,
            against=travel * limits["travel"].value,
            unit="mm",
            message=f"The part needs a block of {size} mm; the roomiest machine, {machine.name}, "
            f"travels {mm_text(travel)} mm where {mm_text(round(length, 1))} mm are needed.",
            suggestion=f"{mm_text(round(length - travel * limits['travel'].value, 1))} mm less in that direction, "
            "two parts joined, or a larger machine.",
            change=Way("length_mm", travel * limits["travel"].value - allowance, was=length - allowance),
            marks=tuple(block),
        )
