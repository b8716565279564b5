"""The command `partsieve check`: from paths and options to reports, printed results and an exit status."""

import datetime
import logging
import os
import sys
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final, cast

import click

from analyzers.errors import SettingsError
from analyzers.model.finding import LEVELS, Level
from analyzers.report.baseline import read_baseline
from analyzers.report.gate import Gate
from analyzers.report.text import plural
from analyzers.rules import known_limits
from analyzers.settings import Policy, Settings, load_settings
from api.accept import Acceptance, accept_all
from api.exits import FAILED, INTERRUPTED, NOT_ANALYSED, PASSED, WRONG_USAGE, refuse
from api.formats import Documents, print_all
from api.progress import Show, for_stderr
from api.since import changed_since
from worker.batch import run_batch
from worker.collect import Collection, collect
from worker.job import Job, make_jobs
from worker.limits import Limits
from worker.outcome import Outcome
from worker.overview import OVERVIEW, write_overview
from worker.reuse import Memory
from worker.sandbox import Sandbox
from worker.store import DOCUMENT, read_document

NEVER: Final = "never"

MANY: Final = 4
"""Children from which on the warming up pays: it takes 1.0 s of processor time and saves 0.3 s of each one's first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What was asked for on the command line."""

    paths: tuple[str, ...]
    out: Path
    form: str
    shop: Path | None
    policy: Path | None
    baseline: Path | None
    material: str | None
    quantity: int
    repair: bool
    jobs: int
    seconds: float
    memory_mib: int
    files_per_child: int
    html: bool
    exports: tuple[str, ...]
    quiet: bool
    verbose: bool
    fail_on: str | None = None  # a level, instead of the policy's
    since: str | None = None  # a revision in git: only what differs from it
    fresh: bool = False  # make every report anew
    acceptance: Acceptance | None = None  # where to write down what fails as accepted


@dataclass(slots=True)
class _Tally:
    """What has come out so far."""

    statuses: Counter[str]
    not_analysed: int = 0
    failing: int = 0
    unchanged: int = 0


def run_check(order: Order, sandbox: Sandbox) -> int:
    """Do what was ordered and return the exit status."""
    logging.basicConfig(level=logging.DEBUG if order.verbose else logging.CRITICAL, format="%(name)s: %(message)s")
    try:
        settings = load_settings(
            order.shop, order.policy, order.material, order.quantity, known_limits(), repair=order.repair
        )
        accepted = read_baseline(order.baseline) if order.baseline else ()
        found = _found(order)
        order.out.mkdir(parents=True, exist_ok=True)
    except SettingsError as error:
        return refuse(str(error))
    except OSError as error:
        return refuse(f"{order.out}: found no folder that can be written ({error.strerror}); expected one")
    today = datetime.datetime.now(datetime.UTC).date()
    gate = Gate(policy=_policy(settings.policy, order.fail_on), accepted=accepted, today=today)
    jobs = make_jobs(
        found.models,
        order.out,
        settings,
        shop=order.shop,
        policy=order.policy,
        material=order.material,
        html=order.html,
        exports=order.exports,
    )
    if max(min(order.jobs, len(jobs)), len(jobs) // order.files_per_child) >= MANY:
        sandbox.warm_up()
    try:
        return _run(order, settings, gate, found, jobs, sandbox)
    except KeyboardInterrupt:
        done = sum((Path(job.out) / DOCUMENT).exists() for job in jobs)
        click.echo(f"interrupted; {done} of {len(jobs)} reports are finished in {order.out}", err=True)
        return INTERRUPTED
    except OSError as error:
        return refuse(f"{error.filename or order.out}: cannot be written ({error.strerror})")


def _policy(policy: Policy, fail_on: str | None) -> Policy:
    """Return the policy with the levels that `--fail-on` names: that one and the graver ones; "never" = none."""
    if fail_on is None:
        return policy
    levels = () if fail_on == NEVER else LEVELS[: LEVELS.index(cast(Level, fail_on)) + 1]
    return replace(policy, fail_levels=levels, override=())


def _found(order: Order) -> Collection:
    """Return the models behind the paths, less those that did not change since the revision, if one was named.

    Raises
    ------
    SettingsError : git cannot say what changed
    """
    found = collect(_listed(order.paths))
    if order.since is None:
        return found
    folders = {each.path.resolve().parent for each in found.models}
    changed = changed_since(order.since, folders)
    return Collection([each for each in found.models if each.path.resolve() in changed], found.complaints)


def _run(order: Order, settings: Settings, gate: Gate, found: Collection, jobs: Sequence[Job], sandbox: Sandbox) -> int:
    tally = _Tally(Counter())
    limits = Limits(order.seconds, order.memory_mib, order.files_per_child)
    with for_stderr(len(jobs), order.quiet) as show:
        for line in found.complaints:
            show.say(line)
        if not order.quiet:
            _say_renamed(found, jobs, show)
        memory = Memory(order.out)
        known = (lambda _: None) if order.fresh or order.exports else memory.known
        try:
            for outcome in run_batch(jobs, settings, sandbox, limits, order.jobs, show, known):
                memory.note(outcome)
                _count(outcome, gate, tally, order.form)
        finally:
            memory.save()
    if order.html and len(jobs) > 1:
        if not memory.has_overview(order.out / OVERVIEW, jobs):
            write_overview(order.out.absolute(), [Path(job.out) for job in jobs])
            memory.note_overview(jobs)
            memory.save()
        if not order.quiet:
            click.echo(f"overview: {order.out / OVERVIEW}", err=True)
    documents = Documents([(Path(job.out) / DOCUMENT, job.name) for job in jobs], gate)
    print_all(order.form, documents)
    if jobs and not order.quiet:
        click.echo(_summary(tally, len(jobs), gate.policy.name, order.out), err=True)
        _say_fixed(gate, documents)
    if order.acceptance is not None:
        count = accept_all(documents, gate, order.acceptance)
        click.echo(f"{plural(count, 'finding')} accepted in {order.acceptance.path}", err=True)
        later = replace(gate, accepted=read_baseline(order.acceptance.path))
        tally.failing = sum(bool(later.reasons(each)) for each in documents)
    if found.complaints:
        return WRONG_USAGE
    if tally.not_analysed:
        return NOT_ANALYSED
    return FAILED if tally.failing else PASSED


def _count(outcome: Outcome, gate: Gate, tally: _Tally, form: str) -> None:
    path = Path(outcome.job.out) / DOCUMENT
    document: Mapping[str, Any] = read_document(path)
    tally.statuses[outcome.status] += 1
    tally.not_analysed += not outcome.analysed
    tally.failing += bool(gate.reasons({**document, "path": outcome.job.name}))
    tally.unchanged += outcome.reused
    if form == "jsonl":
        click.echo(path.read_text("utf-8").strip())


def _summary(tally: _Tally, total: int, policy: str, out: Path) -> str:
    statuses = ", ".join(f"{tally.statuses[each]} {each}" for each in sorted(tally.statuses))
    gate = f"{tally.failing} fail the gate" if tally.failing else "none fails the gate"
    unchanged = f"; {tally.unchanged} unchanged, not made anew" if tally.unchanged else ""
    models = plural(total, "model")
    return f"{models}: {statuses}; {gate} (policy {policy!r}){unchanged}; reports in {out}"


def _say_fixed(gate: Gate, documents: Documents) -> None:
    """Name the accepted findings that are no longer there, so that their entries can go."""
    for each in gate.fixed(documents) if gate.accepted else ():
        what = f": {each.what}" if each.what else ""
        click.echo(f"fixed: {each.file} {each.fingerprint}{what}; its entry can go", err=True)


def _say_renamed(found: Collection, jobs: Sequence[Job], show: Show) -> None:
    for model, job in zip(found.models, jobs, strict=True):
        folder = Path(job.out).name
        if folder != model.stem:
            show.say(f"{model.name}: report in {folder}, as another model is called {model.stem}")


def _listed(paths: Sequence[str]) -> Iterator[str]:
    """Yield the paths; for - those on stdin, one on each line."""
    for each in paths:
        if each == "-":
            yield from (os.fsdecode(line) for line in sys.stdin.buffer.read().splitlines() if line.strip())
        else:
            yield each
