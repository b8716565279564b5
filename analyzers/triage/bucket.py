"""Which pile a part goes on, and the reason in one sentence."""

from collections.abc import Sequence
from typing import Final

from analyzers.model.finding import Finding
from analyzers.model.plan import Plan
from analyzers.model.triage import Bucket, Driver

INVOLVED_FROM: Final = 12.0
DEMANDING_FROM: Final = 35.0
"""Difficulty from which a part is more than routine, and from which it is demanding (judgement)."""

REASONS: Final = 3

PLAIN_WORK: Final = ("setups", "cutters", "features", "time", "size")
"""Drivers that only say how much there is to do."""

WRONG_SCALE: Final = ("suspect_units", "suspect_size")
"""Rules that doubt the unit of the whole model: until that is answered all else is in doubt."""

WORDS: Final[dict[Bucket, str]] = {
    "routine": "Routine",
    "involved": "Involved",
    "demanding": "Demanding",
    "not_as_modelled": "Not as modelled",
}


def bucket_of(difficulty: float, plan: Plan, findings: Sequence[Finding]) -> Bucket:
    """Return the pile: `not_as_modelled` only when something cannot be made with this shop's means.

    That is: a feature stays unmade, no machine takes the blank, or a finding of level error says so.
    """
    if plan.unmade or plan.machine is None or any(each.level == "error" for each in findings):
        return "not_as_modelled"
    if difficulty >= DEMANDING_FROM:
        return "demanding"
    return "involved" if difficulty >= INVOLVED_FROM else "routine"


def summary(bucket: Bucket, drivers: Sequence[Driver], plan: Plan, findings: Sequence[Finding]) -> str:
    """Return one sentence that names the largest reasons.

    Where the part cannot be made as modelled, that reason is given alone and in full: nothing else matters as much. A
    doubt about the model's unit comes before all others.
    """
    reasons = [each.why for each in drivers]
    doubts = [each.message.rstrip(".") for each in findings if each.rule in WRONG_SCALE]
    if bucket == "not_as_modelled":
        blocking = [each.why for each in plan.unmade]
        errors = [each.message.rstrip(".") for each in findings if each.level == "error"]
        if errors:  # findings say it with sizes; the plan's reasons say it only where there is no finding
            blocking = errors
        more = f" (and {len(blocking) - 1} more)" if len(blocking) > 1 else ""
        reasons = [f"{each}{more}" for each in blocking[:1]] or reasons
    if bucket == "routine" and reasons and all(each.name in PLAIN_WORK for each in drivers):
        reasons = [*reasons[: REASONS - 1], "nothing delicate"]
    if doubts:
        reasons = doubts[:1] if bucket == "not_as_modelled" else [doubts[0], *reasons]
    if not reasons:
        return f"{WORDS[bucket]}: one setup, ordinary cutters, nothing delicate."
    return f"{WORDS[bucket]}: {'; '.join(reasons[:REASONS])}."
