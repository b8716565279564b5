"""The report on a file whose analysis did not come to its end."""

import hashlib
from pathlib import Path
from typing import Final

from analyzers.model.report import Report, SettingsUsed, Status
from analyzers.model.source import Problem, Source
from analyzers.report.health import unusable
from analyzers.settings import Settings
from worker.job import Job
from worker.outcome import Ending

LOADING: Final = ("", "load")
"""Stages before which nothing about the part is known."""


def unreadable(job: Job, settings: Settings, message: str) -> Report:
    """Return the report on a model that could not be opened at all."""
    return _report(job, settings, "unreadable", Problem("load", message), "refused")


def unfinished(job: Job, settings: Settings, ending: Ending) -> Report:
    """Return the report on a model whose child crashed or was stopped."""
    status: Status = "unreadable" if ending.stage in LOADING else "partial"
    return _report(job, settings, status, Problem(ending.stage or "start", ending.message), "not_analysed")


def _report(job: Job, settings: Settings, status: Status, problem: Problem, code: str) -> Report:
    return Report(
        status=status,
        source=_source(job),
        settings=SettingsUsed(
            shop=settings.shop.name,
            policy=settings.policy.name,
            material=settings.material.name,
            quantity=settings.quantity,
            digest=settings.digest,
            repair=settings.repair,
        ),
        health=unusable(code, problem.message),
        problems=(problem,),
    )


def _source(job: Job) -> Source:
    """Return what can be said without reading the model: name, size and digest of the file (of the archive)."""
    path = Path(job.path)
    name = job.file_name or path.name
    if job.member is not None:
        name = f"{name}/{job.member}"
    try:
        with path.open("rb") as file:
            return Source(name, hashlib.file_digest(file, "sha256").hexdigest(), path.stat().st_size)
    except OSError:
        return Source(name, "", 0)
