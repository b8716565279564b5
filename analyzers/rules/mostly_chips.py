"""Most of the block becomes chips.

What: the volume that is cut away, against the block the part is cut from.
Why: the customer pays for the block and for the time to turn it into chips; released stresses bend what is
left.
Instead: nearer stock (tube, profile, plate in two layers), two parts joined, or a casting at larger numbers.
"""

import math
from collections.abc import Iterator

from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for the whole body."""
    block = math.prod(case.plan.stock_mm)
    part = case.facts.part
    if block <= 0.0 or part.volume_mm3 <= 0.0:
        return
    share = 1.0 - part.volume_mm3 / block
    if limits["chips"].broken_by(share):
        kilograms = (block - part.volume_mm3) * 1e-9 * case.settings.material.density_kg_m3
        yield limits.finding(
            limits["chips"],
            measured=share,
            message=f"{share:.0%} of the block becomes chips, {kilograms:.2g} kg of {case.settings.material.name} "
            "a part.",
            suggestion=f"A block of {part.volume_mm3 / (1.0 - limits['chips'].value) / 1000.0:.0f} cm³ or less "
            f"(now {block / 1000.0:.0f} cm³): two parts joined, a profile, or tube.",
            marks=("whole part",),
        )
