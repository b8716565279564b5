"""The commands of the service: `serve`, `worker` and `token`. What is slow to load is loaded inside them."""

from pathlib import Path
from typing import Literal

import click

from api.options import JOBS, MEMORY, PER_CHILD, TIMEOUT

STATE = click.option(
    "--state",
    default="partsieve-state",
    show_default=True,
    metavar="DIR",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for all that the service keeps.",
)
DATABASE = click.option(
    "--database", metavar="URL", help="Database of the jobs.  [default: a file in the state folder]"
)
STORE = click.option(
    "--store",
    metavar="URL",
    help="Object store for files and reports: s3://BUCKET[/PREFIX][?endpoint=URL&region=NAME].  [default: they lie in "
    "the state folder]",
)
CACHE = click.option(
    "--cache",
    default=10_240,
    show_default=True,
    metavar="MIB",
    type=click.IntRange(min=1),
    help="How much of the object store may lie in the state folder too.",
)
LOG = click.option(
    "--log",
    "log_form",
    default="text",
    show_default=True,
    type=click.Choice(["text", "json"]),
    help="Log lines for people, or for programs.",
)


@click.command()
@STATE
@DATABASE
@STORE
@CACHE
@JOBS
@TIMEOUT
@MEMORY
@PER_CHILD
@LOG
@click.option(
    "--keep-days",
    metavar="DAYS",
    type=click.FloatRange(min=0, min_open=True),
    help="Remove jobs with their files and reports so long after they ended.  [default: keep all]",
)
@click.option(
    "--rate",
    default=100.0,
    show_default=True,
    type=click.FloatRange(min=0),
    help="Requests a second that one address may make on average; 0 for any number.",
)
@click.option(
    "--inbox", metavar="DIR", type=click.Path(file_okay=False, path_type=Path), help="Folder to drop models into."
)
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to serve on.")
@click.option("--port", default=8765, show_default=True, type=click.IntRange(1, 65535), help="Port to serve on.")
@click.option(
    "--broker", metavar="URL", help="Redis that wakes `partsieve worker` processes.  [default: workers in here]"
)
def serve(
    state: Path,
    database: str | None,
    store: str | None,
    cache: int,
    jobs: int,
    timeout: float,
    memory: int,
    files_per_child: int,
    inbox: Path | None,
    host: str,
    port: int,
    broker: str | None,
    log_form: Literal["text", "json"],
    keep_days: float | None,
    rate: float,
) -> None:
    """Serve an HTTP interface and a drop folder on this machine; nothing else has to be installed."""
    from api.serve import serve as run
    from worker.limits import Limits
    from worker.service import Setup

    limits = Limits(timeout, memory, files_per_child)
    setup = Setup(
        folder=state,
        store=store,
        cache_bytes=cache << 20,
        database=database,
        broker=broker,
        workers=jobs,
        limits=limits,
        inbox=inbox,
        keep_days=keep_days,
        requests_per_s=rate,
    )
    run(setup, host, port, log_form)


@click.command()
@STATE
@DATABASE
@STORE
@CACHE
@JOBS
@TIMEOUT
@MEMORY
@PER_CHILD
@LOG
@click.option("--broker", required=True, metavar="URL", help="The Redis that `serve` was given.")
def worker(
    state: Path,
    database: str | None,
    store: str | None,
    cache: int,
    jobs: int,
    timeout: float,
    memory: int,
    files_per_child: int,
    log_form: Literal["text", "json"],
    broker: str,
) -> None:
    """Work for a `serve` that runs elsewhere, over the same Redis and database, and the same state folder or store."""
    from api.serve import work
    from worker.limits import Limits
    from worker.service import Setup

    limits = Limits(timeout, memory, files_per_child)
    setup = Setup(folder=state, store=store, cache_bytes=cache << 20, database=database, workers=jobs, limits=limits)
    work(setup, broker, log_form)


@click.command()
@click.argument("name")
@STATE
@DATABASE
@click.option(
    "--scope",
    default="write",
    show_default=True,
    type=click.Choice(["read", "write", "admin"]),
    help="What it allows; each includes those before it.",
)
def token(name: str, state: Path, database: str | None, scope: Literal["read", "write", "admin"]) -> None:
    """Make a token for the HTTP interface and print it, this once; one of the same name is replaced."""
    from api.serve import make_token

    click.echo(make_token(state, database, name, scope))
