"""The command `partsieve compare`: two models in, what differs out."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from analyzers.errors import SettingsError
from analyzers.rules import known_limits
from analyzers.settings import load_settings
from api.exits import FAILED, NOT_ANALYSED, PASSED, refuse
from worker.collect import Model, collect
from worker.job import Job, make_jobs
from worker.limits import Limits
from worker.sandbox import Sandbox
from worker.store import COMPARISON


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparing:
    """What was asked for on the command line."""

    old: Path
    new: Path
    out: Path
    form: str
    shop: Path | None
    material: str | None
    quantity: int
    repair: bool
    seconds: float
    memory_mib: int
    html: bool
    quiet: bool


def run_compare(order: Comparing, sandbox: Sandbox) -> int:
    """Do what was ordered and return the exit status."""
    try:
        settings = load_settings(order.shop, None, order.material, order.quantity, known_limits(), repair=order.repair)
        models = [_only_model(path) for path in (order.old, order.new)]
        jobs = make_jobs(models, order.out, settings, shop=order.shop, material=order.material, html=order.html)
        order.out.mkdir(parents=True, exist_ok=True)
    except SettingsError as error:
        return refuse(str(error))
    except OSError as error:
        return refuse(f"{order.out}: found no folder that can be written ({error.strerror}); expected one")
    (order.out / COMPARISON).unlink(missing_ok=True)  # what lies there afterwards is of this run
    ending = sandbox.run(_request(jobs, order.out), Limits(order.seconds, order.memory_mib))
    if ending.result is None:
        click.echo(f"{order.old} and {order.new}: {ending.message}", err=True)
        return NOT_ANALYSED
    if not order.quiet:
        _print(order, ending.result)
    if ending.result["unreadable"]:
        return NOT_ANALYSED
    return PASSED if ending.result["same"] else FAILED


def _only_model(path: Path) -> Model:
    """Return the one model at a path.

    Raises
    ------
    SettingsError : there is none, or several
    """
    found = collect([str(path)])
    if found.complaints:
        raise SettingsError(found.complaints[0])
    if len(found.models) != 1:
        raise SettingsError(f"{path}: found {len(found.models)} models, expected one STEP file")
    return found.models[0]


def _request(jobs: list[Job], out: Path) -> Mapping[str, Any]:
    old, new = ({**job.to_json(), "out": str(out.absolute())} for job in jobs)
    return {"old": old, "new": new}


def _print(order: Comparing, result: Mapping[str, Any]) -> None:
    if order.form == "json":
        click.echo((order.out / COMPARISON).read_text("utf-8").strip())
    else:
        click.echo(result[order.form])
        if order.form == "table":
            click.echo(f"comparison in {order.out}", err=True)
