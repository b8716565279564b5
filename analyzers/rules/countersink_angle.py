"""Countersink of an unusual angle.

What: a countersink whose included angle is that of no screw head and of no common countersink tool.
Why: the tool is ground for this part; a screw of another angle bears on its rim only.
Instead: 90° for metric heads, 82° for inch heads, or the angle of the rivet or fitting that goes in.
"""

from collections.abc import Iterator

from analyzers.features.hole import CountersunkHole
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._say import subject, verb

STANDARD_DEG = {
    60.0: "centre holes",
    82.0: "ASME B18.6.3 flat heads",
    90.0: "ISO 10642 and ISO 15065 heads",
    100.0: "aircraft heads",
    120.0: "rivets and burrs",
}


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal countersunk holes."""
    for holes in alike(case.features(CountersunkHole), key=lambda hole: (hole.callout(),)):
        angle = holes[0].countersink_angle_deg
        nearest = min(STANDARD_DEG, key=lambda each: abs(each - angle))
        if limits["off"].broken_by(abs(angle - nearest)):
            yield limits.finding(
                limits["off"],
                on=holes,
                measured=abs(angle - nearest),
                message=f"{subject(holes)} {verb(holes, 'is', 'are')} countersunk at {angle:.4g}°, no usual angle.",
                suggestion=f"{nearest:g}° ({STANDARD_DEG[nearest]}), {abs(angle - nearest):.3g}° away.",
                change=("countersink_angle_deg", nearest),
            )
