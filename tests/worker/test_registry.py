"""Names for settings files, and tokens."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from worker.ledger import Ledger
from worker.registry import SCOPES, Registry, Scope


@pytest.fixture
def registry(database: str) -> Iterator[Registry]:
    """Open an empty one."""
    ledger = Ledger(database)
    yield Registry(ledger)
    ledger.close()


def test_a_name_stands_for_the_last_file(registry: Registry) -> None:
    """Shops and policies do not share their names."""
    registry.put("shop", "ours", "d1")
    registry.put("policy", "ours", "d2")
    registry.put("shop", "ours", "d3")
    assert registry.digest("shop", "ours") == "d3"
    assert registry.digest("policy", "ours") == "d2"
    assert registry.digest("shop", "theirs") is None
    assert [each.name for each in registry.files("shop")] == ["ours"]


@pytest.mark.parametrize("scope", SCOPES)
def test_a_scope_includes_those_before_it(registry: Registry, scope: Scope) -> None:
    """And no other."""
    token = registry.make_token("me", scope)
    allowed = [each for each in SCOPES if registry.allows(token, each)]
    assert allowed == list(SCOPES[: SCOPES.index(scope) + 1])


def test_a_token_is_not_kept_and_can_be_dropped(registry: Registry, tmp_path: Path) -> None:
    """What lies on disk is no token; a dropped or replaced one is worthless."""
    assert not registry.has_tokens()
    first = registry.make_token("me", "admin")
    second = registry.make_token("me", "read")
    assert registry.has_tokens()
    assert all(first.encode() not in each.read_bytes() for each in tmp_path.iterdir())
    assert not registry.allows(first, "read")
    assert registry.allows(second, "read")
    assert registry.drop_token("me")
    assert not registry.drop_token("me")
    assert not registry.allows(second, "read")
    assert not registry.allows("", "read")
