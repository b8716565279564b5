"""Several bodies in one file.

What: the file holds more than one distinct solid.
Why: a shop quotes parts one by one: it must know which of them are wanted, and whether they are one part that
fell apart.
Instead: one file for each part, or a list of what is wanted how often.
"""

from collections.abc import Iterator

from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for the file, with its first body."""
    if case.number == 1 and limits["bodies"].broken_by(case.n_bodies):
        times = f", {case.facts.part.count} times" if case.facts.part.count > 1 else ""
        yield limits.finding(
            limits["bodies"],
            measured=case.n_bodies,
            message=f"The file holds {case.n_bodies} different bodies; the first is this one{times}.",
            suggestion=f"Send {case.n_bodies} files, or say which bodies are wanted and how many of each.",
            marks=("bodies",),
        )
