"""Edges too short to be meant.

What: edges shorter than models for manufacturing should hold.
Why: they are left over from the export or from features that nearly touch; toolpaths stumble over them,
dimensions hang on them.
Instead: the features moved so that they meet, or the model healed.
"""

from collections.abc import Iterator

from analyzers.model.finding import Finding
from analyzers.model.part import Curve
from analyzers.rules._base import Case, Limits, Way
from analyzers.rules._say import plural, verb


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all such edges; the tips of cones and poles of spheres have none."""
    part = case.facts.part
    short = limits["length"].broken_by_each(part.edge_length_mm) & (part.edge_curve != Curve.DEGENERATE)
    if not short.any():
        return
    count, least = int(short.sum()), float(part.edge_length_mm[short].min())
    beside = part.edge_faces[short]
    yield limits.finding(
        limits["length"],
        faces=tuple(sorted({int(face) for face in beside[beside >= 0]})),
        measured=least,
        message=f"{count} {plural('edge', count)} {verb(tuple(range(count)))} shorter than "
        f"{limits['length'].value:g} mm, the shortest {least:.2g} mm: leftovers of the export.",
        suggestion=f"Heal the model so that no edge stays below {limits['length'].value:g} mm.",
        change=Way("short_edges", 0.0, (0.0,), was=float(count)),
        marks=(float(count),),
    )
