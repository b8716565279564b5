"""Comparisons that the service makes for whoever asks."""

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from tests.api.serving import Server, serving
from tests.compare._latch import Latch
from tests.kernel._files import write_shapes
from worker.limits import Limits
from worker.revisions import NotCompared, Revisions
from worker.sandbox import ANALYSIS
from worker.store import COMPARISON


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """Serve with the real analysis."""
    yield from serving(
        tmp_path_factory.mktemp("service"), call=ANALYSIS, limits=Limits(seconds=60), most_bytes=10_000_000
    )


@pytest.fixture(scope="module")
def pair(server: Server, tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, Any]]:
    """Send in two revisions under one name, the second with a wider hole; return their jobs when they are done."""
    folder = tmp_path_factory.mktemp("revisions")
    jobs = []
    for number, latch in enumerate((Latch(), replace(Latch(), dowel=8.0))):
        path = write_shapes([latch.work().shape], folder / f"{number}.step")
        sent = server.client.post("/api/jobs", params={"file_name": "latch.step"}, content=path.read_bytes())
        (job,) = sent.json()["jobs"]
        jobs.append(server.ended(job["id"]))
    return jobs


def test_the_difference_over_http(server: Server, pair: list[dict[str, Any]]) -> None:
    """The wider hole, as document and as page; the page may run nothing; the other way round it is narrower."""
    ids = [each["id"] for each in pair]
    found = server.client.get("/api/compare", params={"old": ids[0], "new": ids[1]}).json()
    ((change,),) = [body["changed"] for body in found["bodies"]]
    assert change["differences"] == [{"field": "diameter_mm", "old": 6.0, "new": 8.0}]
    page = server.client.get("/api/compare", params={"old": ids[0], "new": ids[1], "form": "html"})
    assert "diameter 6 → 8 mm" in page.text
    assert "script-src" not in page.headers["content-security-policy"]
    back = server.client.get("/api/compare", params={"old": ids[1], "new": ids[0]}).json()
    assert back["bodies"][0]["changed"][0]["differences"] == [{"field": "diameter_mm", "old": 8.0, "new": 6.0}]


def test_asked_again_nothing_is_made_again(server: Server, pair: list[dict[str, Any]]) -> None:
    """The second answer is the first one's file."""
    old, new = (server.service.ledger.get(each["id"]) for each in pair)
    assert old
    assert new
    first = server.service.revisions.compared(old, new)
    made = (first / COMPARISON).stat()
    second = server.service.revisions.compared(old, new)
    assert second == first
    assert (second / COMPARISON).stat().st_ino == made.st_ino
    assert json.loads((first / COMPARISON).read_text("utf-8"))["new"]["file_name"] == "latch.step"


def test_a_child_that_takes_too_long_is_said(server: Server, pair: list[dict[str, Any]]) -> None:
    """No answer, but why; and nothing is left that would be taken for one."""
    old, new = (server.service.ledger.get(each["id"]) for each in pair)
    assert old
    assert new
    revisions = Revisions(server.service.state, Limits(seconds=0.001))
    try:
        with pytest.raises(NotCompared, match="time limit"):
            revisions.compared(replace(old, file_name="other.step"), new)
    finally:
        revisions.close()


def test_what_is_not_there_cannot_be_compared(server: Server, pair: list[dict[str, Any]]) -> None:
    """A job that does not exist, and one whose report is not there yet, are 404."""
    answer = server.client.get("/api/compare", params={"old": pair[0]["id"], "new": "0" * 32})
    assert answer.status_code == 404
