"""How many requests one address may make."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from api.rate import Rate
from tests.api.serving import Server, serving


def test_so_many_at_once_and_so_many_a_second() -> None:
    """A pause fills the bucket, up to its brim; others have buckets of their own."""
    moment = [0.0]
    rate = Rate(2.0, 4, lambda: moment[0])
    assert [rate.wait_s("a") for _ in range(6)] == [0, 0, 0, 0, 1, 1]
    assert rate.wait_s("b") == 0
    moment[0] = 0.5
    assert [rate.wait_s("a") for _ in range(2)] == [0, 1]
    moment[0] = 1e6
    assert [rate.wait_s("a") for _ in range(5)] == [0, 0, 0, 0, 1]


def test_a_slow_rate_says_how_long_to_wait() -> None:
    """One request in ten seconds."""
    rate = Rate(0.1, 1, lambda: 0.0)
    assert [rate.wait_s("a") for _ in range(2)] == [0, 10]


def test_no_rate_is_no_limit() -> None:
    """Zero lets all pass."""
    rate = Rate(0.0, 0)
    assert {rate.wait_s("a") for _ in range(1000)} == {0}


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    """Serve with a low rate."""
    yield from serving(tmp_path, requests_per_s=1.0)


def test_too_many_requests_are_told_when_to_come_again(server: Server) -> None:
    """429 as a problem document, with Retry-After."""
    answers = [server.client.get("/api/jobs") for _ in range(20)]
    refused = [each for each in answers if each.status_code != 200]
    assert refused
    assert {each.status_code for each in refused} == {429}
    assert refused[0].headers["retry-after"] == "1"
    assert refused[0].headers["content-type"] == "application/problem+json"
