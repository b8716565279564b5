"""Solid that does not pass the kernel's check.

What: faces that cross, loops that do not close, edges that miss their faces.
Why: inside and outside are not sure on such a body, so no volume, wall or toolpath on it can be trusted.
Instead: the model healed and exported again from its own system.
"""

from collections.abc import Iterator

from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for a body that is closed but not valid."""
    part = case.facts.part
    if part.closed and limits["invalid"].broken_by(float(not part.valid)):
        yield limits.finding(
            limits["invalid"],
            measured=1.0,
            message="The solid does not pass the geometry check: faces cross or do not meet. All numbers below "
            "are to be doubted.",
            suggestion="Heal and export it again: 0 faults in the check of the system that drew it.",
            change=Way("faults", 0.0, (0.0,), was=1.0),
            marks=(float(part.n_faces),),
        )
