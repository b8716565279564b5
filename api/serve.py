"""The commands `serve`, `worker` and `token`: the service on one machine, a worker of many, and who may use it."""

import contextlib
import ipaddress
import signal
import socket
from collections.abc import Iterator
from pathlib import Path

import click
import uvicorn

from analyzers.errors import SettingsError
from api.app import make_app
from worker import log
from worker.ledger import Ledger
from worker.queues import celery_app, serve_celery
from worker.registry import Registry, Scope
from worker.runner import Runner
from worker.sandbox import Sandbox
from worker.service import Service, Setup
from worker.state import State

GRACE_S = 3
"""How long requests under way may take to end when the service is told to."""


def serve(setup: Setup, host: str, port: int, log_form: log.Form) -> None:
    """Serve HTTP interface, drop folder and workers until told to end.

    Raises
    ------
    click.UsageError : the address can be reached from other machines and no token has been made
    """
    log.set_up(log_form)
    with _said():
        made = Service(setup)
        made.state.storage.check()
    with made as service:
        if not _is_this_machine(host) and not service.registry.has_tokens():
            raise click.UsageError(
                f"--host {host} can be reached from other machines, and anybody could use it; "
                "make a token first: partsieve token NAME"
            )
        click.echo(f"serving on http://{host}:{port}, state in {service.state.folder}", err=True)
        if service.drop is not None:
            click.echo(f"drop models into {service.drop.inbox}; results come to {service.drop.results}", err=True)
        _serve_http(service, host, port)


def _serve_http(service: Service, host: str, port: int) -> None:
    """Serve until SIGTERM or Ctrl-C; then come back, so that jobs in hand are given back."""
    config = uvicorn.Config(
        make_app(service), host=host, port=port, log_config=None, server_header=False, timeout_graceful_shutdown=GRACE_S
    )
    server = uvicorn.Server(config)
    service.ending_when(lambda: server.should_exit)
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # the server raises it again when it has ended
    with contextlib.suppress(KeyboardInterrupt, SystemExit):  # it exits by itself where it cannot begin
        server.run()
    if not server.started:
        raise click.ClickException(f"cannot serve on {host}:{port}: is something else listening there?")


def work(setup: Setup, broker: str, log_form: log.Form) -> None:
    """Be a worker woken over a broker, until told to end."""
    log.set_up(log_form)
    with _said():
        state = State(setup.folder, setup.store, setup.cache_bytes)
        state.storage.check()
    ledger = Ledger(setup.database or state.ledger_url)
    with Sandbox() as sandbox:
        sandbox.start()
        serve_celery(celery_app(broker), Runner(ledger, state, sandbox, setup.limits), ledger, setup.workers)


def make_token(folder: Path, database: str | None, name: str, scope: Scope) -> str:
    """Return a new token, shown this once."""
    ledger = Ledger(database or State(folder).ledger_url)
    try:
        return Registry(ledger).make_token(name, scope)
    finally:
        ledger.close()


@contextlib.contextmanager
def _said() -> Iterator[None]:
    """End with one line where files cannot be kept."""
    try:
        yield
    except (OSError, SettingsError) as error:
        raise click.ClickException(str(error)) from error


def _is_this_machine(host: str) -> bool:
    """Return True where an address is reached from this machine only."""
    try:
        found = {info[4][0] for info in socket.getaddrinfo(host, None)}
    except socket.gaierror:
        return False
    return all(ipaddress.ip_address(each).is_loopback for each in found)
