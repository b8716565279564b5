"""Databases for the ledger: each promise holds on both."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.worker.object_store import STORES, Line, ObjectStore, store_url
from tests.worker.postgres import Postgres


@pytest.fixture(scope="session")
def postgres(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Postgres]:
    """Run one PostgreSQL server for all tests of a process."""
    if not Postgres.installed():
        pytest.skip("no PostgreSQL server on this machine (Debian: postgresql)")
    server = Postgres(tmp_path_factory.mktemp("postgres") / "server")
    server.start()
    yield server
    server.kill()


KINDS = ("sqlite", "postgresql")


@pytest.fixture(params=KINDS)
def database(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Return the URL of an empty database of either kind."""
    return empty_database(request, tmp_path)


def empty_database(request: pytest.FixtureRequest, folder: Path) -> str:
    """Return the URL of an empty database of the kind that is the fixture's parameter."""
    if request.param == "sqlite":
        return f"sqlite:///{folder / 'ledger.sqlite'}"
    server: Postgres = request.getfixturevalue("postgres")
    return server.new_database()


@pytest.fixture(params=STORES)
def store(request: pytest.FixtureRequest) -> str | None:
    """Return the URL of an empty object store; None = files lie in the state folder."""
    return store_url(request)


@pytest.fixture
def line(object_store: ObjectStore) -> Iterator[Line]:
    """Lay a line to the object store that can be cut."""
    laid = Line(object_store)
    yield laid
    laid.cut()
