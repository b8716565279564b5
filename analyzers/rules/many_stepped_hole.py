"""Hole of many diameters.

What: a stepped hole with more lengths of different diameter than drill, counterbore and countersink give.
Why: each length is a cutter of its own, each depth a dimension to hold.
Instead: fewer steps; or one special step drill, where the number of parts pays for it.
"""

from collections.abc import Iterator

from analyzers.features.hole import SteppedHole
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._say import plural, subject, verb


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal stepped holes."""
    for holes in alike(case.features(SteppedHole), key=lambda hole: (hole.callout(),)):
        count, most = len(holes[0].segments), int(limits["lengths"].value)
        if limits["lengths"].broken_by(count):
            yield limits.finding(
                limits["lengths"],
                on=holes,
                measured=count,
                message=f"{subject(holes)} {verb(holes, 'has', 'have')} {count} lengths of different form, a "
                "cutter for each.",
                suggestion=f"{count - most} {plural('step', count - most)} less, {most} in all; at "
                f"{case.settings.quantity * len(holes)} holes a step drill may pay.",
            )
