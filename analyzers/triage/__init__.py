"""How hard a part is, which pile it goes on, and what to ask the customer."""

from collections.abc import Sequence

from analyzers.model.finding import Finding
from analyzers.model.plan import Plan
from analyzers.model.report import Facts
from analyzers.model.source import Source
from analyzers.model.triage import Triage
from analyzers.settings import Settings
from analyzers.triage.bucket import bucket_of, summary
from analyzers.triage.difficulty import drivers, total
from analyzers.triage.questions import Question, ask, ask_about

__all__ = ["Question", "ask", "ask_about", "assess", "sort_out"]


def assess(facts: Facts, plan: Plan, findings: Sequence[Finding], settings: Settings) -> Triage:
    """Return difficulty, bucket and the reasons for both."""
    found = drivers(facts, plan, findings, settings)
    points = total(found)
    bucket = bucket_of(points, plan, findings)
    return Triage(
        difficulty=points,
        bucket=bucket,
        drivers=found,
        machining_minutes=plan.minutes,
        summary=summary(bucket, found, plan, findings),
    )


def sort_out(
    facts: Facts, plan: Plan, findings: Sequence[Finding], source: Source, settings: Settings
) -> tuple[Triage, tuple[str, ...]]:
    """Return the triage of one body and the questions to its customer."""
    return assess(facts, plan, findings, settings), ask(facts, plan, findings, source, settings)
