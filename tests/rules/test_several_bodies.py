from dataclasses import replace

import pytest

from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "several_bodies"


def test_fires() -> None:
    """Three distinct bodies, this one four times."""
    (found,) = build.ask("several_bodies", build.case(part=solids.block(count=4), n_bodies=3))
    assert (found.level, found.measured) == ("note", 3)
    assert "4 times" in found.message
    assert "3 files" in found.suggestion


def test_stays_silent_on_the_other_bodies() -> None:
    """Once for the file is enough."""
    assert build.ask(RULE, replace(build.case(n_bodies=3), number=2)) == []


@pytest.mark.parametrize("count", [1, 7])
def test_stays_silent(count: int) -> None:
    """Exactly one distinct body, however often it occurs."""
    assert build.ask(RULE, build.case(part=solids.block(count=count), n_bodies=1)) == []
