"""Copy of a feature missing from its pattern.

What: a row, bolt circle or mirror pair in which one place is empty.
Why: a copy forgotten when the model was mirrored or patterned looks exactly so, and is found when the part
does not fit.
Instead: the missing copy added, or a word that the gap is meant.
"""

from collections.abc import Iterator

from analyzers.model.feature import Pattern, mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way
from analyzers.rules._say import noun, plural, subject

WORDS = {"rectangular": "row or grid", "circular": "circle", "mirror": "mirror pair", "general": "pattern"}


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each pattern with empty places."""
    for pattern in case.facts.patterns:
        if limits["missing"].broken_by(len(pattern.missing)):
            yield _finding(case, limits, pattern)


def _finding(case: Case, limits: Limits, pattern: Pattern) -> Finding:
    on = tuple(each for each in case.facts.features if each.id in pattern.features)
    count = len(pattern.missing)
    places = ", ".join(f"({', '.join(mm_text(each) for each in place)})" for place in pattern.missing[:4])
    word = noun(on[0]) if on else "feature"
    what = subject(on) if on else "Features"
    return limits.finding(
        limits["missing"],
        on=on,
        measured=count,
        message=f"{what} in a {WORDS[pattern.kind]}, and {count} {plural('place', count)} empty: {places}.",
        change=Way("missing_places", 0.0, (0.0,), was=float(count)),
        suggestion=f"Add the {count} missing {plural(word, count)}, or say that {len(on)} are meant.",
    )
