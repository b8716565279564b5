"""What all tests share."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from tests.worker.object_store import CREDENTIALS, ObjectStore

settings.register_profile("untimed", deadline=None)  # a busy machine is no fault of the code
settings.load_profile("untimed")

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="session")
def corpora() -> Path:
    """Models from elsewhere: $PARTSIEVE_CORPORA, or ../shared/corpora beside the project; skipped where absent."""
    folder = Path(os.environ.get("PARTSIEVE_CORPORA", ROOT.parent / "shared" / "corpora"))
    if not folder.is_dir():
        pytest.skip(f"no corpora at {folder}: set PARTSIEVE_CORPORA")
    return folder


@pytest.fixture(scope="session")
def object_store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ObjectStore]:
    """Run one object store for all tests of a process, and let this process use it."""
    with pytest.MonkeyPatch.context() as patch:
        for name, value in CREDENTIALS.items():
            patch.setenv(name, value)
        store = ObjectStore(tmp_path_factory.mktemp("object_store"))
        yield store
        store.close()


@pytest.fixture(scope="session")
def parts() -> Path:
    """Folder of the example parts."""
    return ROOT / "fixtures" / "parts"
