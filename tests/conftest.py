"""What all tests share."""

import os
from pathlib import Path

import pytest
from hypothesis import settings

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
def parts() -> Path:
    """Folder of the example parts."""
    return ROOT / "fixtures" / "parts"
