"""A repair is asked for on the command line and over HTTP, and said wherever the report is read."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.api.browsing import MINUTE_MS, all_ready, browser
from tests.api.command import partsieve
from tests.api.serving import Server, serving
from tests.kernel._broken import with_slivers
from tests.kernel._files import write_shapes
from tests.report._chromium import needs_chromium
from worker.limits import Limits
from worker.sandbox import ANALYSIS

SAID = "The numbers are of a repaired model, not of the model as it was sent."


@pytest.fixture
def block(tmp_path: Path) -> Path:
    """Write a block of 40 × 30 × 10 with four sliver faces."""
    return write_shapes([with_slivers(0.005)], tmp_path / "block.step")


@pytest.mark.parametrize("form", ["table", "markdown", "lines"])
def test_the_command_says_that_it_repaired(block: Path, form: str) -> None:
    """In what it prints and in the document, whose block has its six faces; without --repair it has ten."""
    for arguments, faces in ((["--repair"], 6), ([], 10)):
        done = partsieve(
            "check", "block.step", "--format", form, "--no-html", "--fail-on", "never", *arguments, cwd=block.parent
        )
        document = json.loads((block.parent / "reports" / "block" / "report.json").read_text("utf-8"))
        assert len(document["bodies"][0]["faces"]) == faces
        assert document["settings"]["repair"] == document["health"]["repaired"] == bool(arguments)
        assert (SAID in " ".join(done.stdout.replace("\\", "").split())) == bool(arguments)


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    """Serve the real analysis."""
    yield from serving(tmp_path / "service", call=ANALYSIS, limits=Limits(), workers=1)


def report(server: Server, job: dict[str, Any]) -> Any:
    """Return a job's report when it is done."""
    assert server.ended(job["id"])["state"] == "done"
    return server.client.get(f"/api/jobs/{job['id']}/report").json()


def test_a_job_may_ask_for_a_repair(server: Server, block: Path) -> None:
    """It is another result than without, in either order and done again: neither is taken for the other's."""
    content = block.read_bytes()
    (plain,) = server.client.post("/api/jobs", params={"file_name": "block.step"}, content=content).json()["jobs"]
    assert (plain["repair"], report(server, plain)["health"]["repaired"]) == (False, False)
    asked = server.client.post(f"/api/jobs/{plain['id']}/again", params={"repair": True}).json()
    found = report(server, asked)
    assert (asked["repair"], found["health"]["repaired"], len(found["bodies"][0]["faces"])) == (True, True, 6)
    assert asked["settings_digest"] != plain["settings_digest"]
    other = server.client.post(f"/api/jobs/{asked['id']}/again", params={"quantity": 5}).json()
    assert (other["repair"], len(report(server, other)["bodies"][0]["faces"])) == (True, 6)
    back = server.client.post(f"/api/jobs/{asked['id']}/again", params={"repair": False, "quantity": 5}).json()
    assert (back["repair"], len(report(server, back)["bodies"][0]["faces"])) == (False, 10)


@pytest.mark.chromium
@needs_chromium
def test_the_page_asks_for_a_repair(server: Server, block: Path) -> None:
    """As sent, judged again with a repair, and brought in anew with one: the list tells which is which."""

    def repaired() -> list[bool]:
        return [job["repair"] for job in server.client.get("/api/jobs?sort=arrival").json()["jobs"]]

    with browser(server) as page:
        marked = page.locator("tr", has_text="repaired first where unsound")
        page.set_input_files("#files", block)
        all_ready(page, 1)
        expect(marked).to_have_count(0)
        page.locator("tbody input").check()
        page.select_option("#again-repair", "true")
        page.click("#again")
        expect(marked).to_have_count(1, timeout=MINUTE_MS)
        all_ready(page, 2)
        page.select_option("#terms [name=repair]", "true")
        page.set_input_files("#files", block)
        all_ready(page, 3)
        expect(marked).to_have_count(2)
        assert sorted(repaired()) == [False, True, True]
