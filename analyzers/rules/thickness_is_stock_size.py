"""Thickness just at a stock size.

What: the distance between the two main sides of a part that is cut from plate, against the plate on the
shop's list less what facing takes off.
Why: a 20 mm part is not faced from 20 mm plate: it is cut from the next thicker one, and the rest becomes
chips.
Instead: a little less thickness, or sides left as the plate comes.
"""

from collections.abc import Iterator

from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits
from analyzers.rules._flat import main_sides
from analyzers.tolerance import SAME_LENGTH_MM


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding where a part as thick as a plate is cut from a much thicker one, for its facing."""
    shop, sides = case.settings.shop, main_sides(case.facts.part)
    if sides is None or case.plan.stock_form != "plate":
        return
    plates = sorted(
        size
        for stock in shop.stock
        if stock.form == "plate" and (not stock.materials or case.settings.material.id in stock.materials)
        for size in stock.sizes_mm
    )
    facing = 2.0 * shop.stock_allowance_mm
    just = next((size for size in plates if size >= sides.apart_mm - SAME_LENGTH_MM), None)
    needed = next((size for size in plates if size >= sides.apart_mm + facing - SAME_LENGTH_MM), None)
    if just is None or needed is None or limits["beside"].broken_by(just - sides.apart_mm):
        return
    if abs(min(case.plan.stock_mm) - needed) > SAME_LENGTH_MM:  # the blank's plate lies along other sides
        return
    if needed > just and limits["extra"].broken_by((needed - just) / just):
        yield limits.finding(
            limits["extra"],
            measured=(needed - just) / just,
            message=f"{mm_text(round(sides.apart_mm, 2))} mm thick, as {mm_text(just)} mm plate comes: with "
            f"{mm_text(shop.stock_allowance_mm)} mm a side for facing it is cut from {mm_text(needed)} mm.",
            suggestion=f"May two sides stay as the {mm_text(just)} mm plate comes?",
            effect=f"{mm_text(needed - just)} mm less plate to buy and to cut away.",
            marks=("whole part",),
        )
