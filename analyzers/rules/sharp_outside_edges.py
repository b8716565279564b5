"""Outside edges left sharp.

What: the length of outside edges without a chamfer or round, as minutes of deburring by hand.
Why: every such edge is broken by somebody, by hand, on every part; and how far is left to taste.
Instead: one general note for the break of all edges, or chamfers that the mill cuts while the part is
clamped.
"""

from collections.abc import Iterator

from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits
from analyzers.units import duration_text


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for the whole body."""
    sharp = case.facts.measure("external_sharp_edge_length_mm")
    if sharp is None or sharp.value is None:
        return
    metres = sharp.value / 1000.0
    minutes = metres * case.settings.shop.deburr_minutes_per_m
    if limits["deburring"].broken_by(minutes):
        time = duration_text(minutes)
        yield limits.finding(
            limits["deburring"],
            faces=sharp.faces,
            measured=minutes,
            basis="the shop file's deburr_minutes_per_m",
            message=f"{metres:.2g} m of outside edges are drawn sharp: some {time} of deburring by hand a part.",
            suggestion="One note for all edges (say 0.2 to 0.5 mm, ISO 13715), or 0.5 × 45° chamfers where the "
            "mill passes.",
            effect=f"up to {time} less by hand for each part.",
            marks=("whole part",),
        )
