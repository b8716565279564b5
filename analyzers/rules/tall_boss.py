"""Boss or rib tall for its thickness.

What: the height of what stands up from a floor, against its smaller width.
Why: it springs away from the cutter and rings; the top comes out thicker than the foot, or breaks off.
Instead: a thicker or lower rib, a fillet at its foot, or a part of its own that is screwed on.
"""

from collections.abc import Iterator

from analyzers.features.boss import Boss
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._say import subject, verb
from analyzers.rules._units import drawn_down, drawn_up


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal bosses."""
    for bosses in alike(case.features(Boss), key=lambda each: (each.callout(),)):
        height = bosses[0].height_mm
        width = bosses[0].diameter_mm or min(bosses[0].width_mm, bosses[0].length_mm)
        if limit := limits.strictest_broken(height / width):
            wider = drawn_up(case, height / limit.value)
            yield limits.finding(
                limit,
                on=bosses,
                measured=height / width,
                message=f"{subject(bosses)} {verb(bosses, 'stands', 'stand')} {height / width:.1f} times as high "
                f"as wide ({'beyond what was shown to hold' if limit.name == 'shown' else 'it rings under the cutter'} "
                f"from {limit.value:g}).",
                suggestion=f"{mm_text(wider)} mm wide, or {mm_text(drawn_down(case, width * limit.value))} mm high.",
                change=Way("diameter_mm" if bosses[0].diameter_mm else "width_mm", wider),
                or_else=(Way("height_mm", drawn_down(case, width * limit.value)),),
            )
