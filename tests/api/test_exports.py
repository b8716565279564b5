"""Everything that the command can write beside a report is to be had over HTTP; by the real analysis."""

import csv
import io
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.api.serving import Server, serving
from tests.worker.object_store import ObjectStore
from worker.export_kinds import FILE_OF
from worker.limits import Limits
from worker.sandbox import ANALYSIS

NO_BROWSER = not (os.environ.get("PARTSIEVE_CHROMIUM") or shutil.which("chromium"))
BEGINS = {"xlsx": b"PK", "csv": b"file,body", "glb": b"glTF", "step": b"ISO-10303-21;", "pdf": b"%PDF-"}


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """Serve the real analysis."""
    folder = tmp_path_factory.mktemp("service")
    yield from serving(folder, call=ANALYSIS, limits=Limits(), workers=1)


@pytest.fixture(scope="module")
def plate(server: Server, parts: Path) -> dict[str, Any]:
    """Send in a plate and wait for its report."""
    sent = server.client.post(
        "/api/jobs", params={"file_name": "Blech 1/ä\u202e.step"}, content=(parts / "lid_plate.step").read_bytes()
    )
    return server.ended(sent.json()["jobs"][0]["id"])


def get(server: Server, job: dict[str, Any], form: str) -> Any:
    """Ask for an export; making one takes as long as an analysis."""
    return server.client.get(f"/api/jobs/{job['id']}/export", params={"form": form}, timeout=120)


def page(server: Server, job: dict[str, Any], form: str) -> Any:
    """Ask for the report; making one under another name takes as long as judging it."""
    return server.client.get(f"/api/jobs/{job['id']}/report", params={"form": form}, timeout=120)


def test_every_kind_of_the_command_is_offered() -> None:
    """None is forgotten here."""
    assert BEGINS.keys() == FILE_OF.keys()


@pytest.mark.parametrize(
    "form",
    [
        pytest.param(each, marks=pytest.mark.skipif(each == "pdf" and NO_BROWSER, reason="NO BROWSER: no chromium"))
        for each in BEGINS
    ],
)
def test_a_done_job_has_every_export(server: Server, plate: dict[str, Any], form: str) -> None:
    """Each is of its kind by its first bytes, bears the model's name, and is the same when asked for again."""
    first, second = get(server, plate, form), get(server, plate, form)
    assert first.status_code == 200, first.text
    assert first.content.startswith(BEGINS[form])
    assert first.headers["content-disposition"] == (f"attachment; filename*=UTF-8''%C3%A4%E2%80%AE-{FILE_OF[form]}")
    if form != "xlsx":  # a workbook bears the moment it was made
        assert first.content == second.content


def test_lists_hold_what_the_report_holds(server: Server, plate: dict[str, Any]) -> None:
    """One row for each feature, in CSV and in the workbook."""
    report = server.client.get(f"/api/jobs/{plate['id']}/report").json()
    rows = list(csv.DictReader(io.StringIO(get(server, plate, "csv").text)))
    assert len(rows) == sum(len(body["features"]) for body in report["bodies"]) > 0
    book = openpyxl.load_workbook(io.BytesIO(get(server, plate, "xlsx").content))
    assert len(book.sheetnames) > 1


def test_what_cannot_be_made_says_why(server: Server) -> None:
    """Nothing can be drawn of a model that could not be read; its workbook is there all the same."""
    letter = server.ended(server.send("Dear sirs", "letter.step").json()["jobs"][0]["id"])
    for form in ("step", "glb"):
        answer = get(server, letter, form)
        assert answer.status_code == 409
        assert FILE_OF[form] in answer.json()["detail"]
    assert get(server, letter, "xlsx").status_code == 200


def test_the_same_bytes_bear_the_name_that_each_sender_gave_them(server: Server, parts: Path) -> None:
    """There is one result, but in nobody's page or handed-back file does another sender's file name stand."""
    content = (parts / "link_bar.step").read_bytes()
    jobs = {}
    for name in ("first order.step", "second order.step"):
        sent = server.client.post("/api/jobs", params={"file_name": name}, content=content)
        jobs[name] = server.ended(sent.json()["jobs"][0]["id"])
    for form in ("html", "step", "glb", "csv"):
        ask = page if form == "html" else get
        found = {name: ask(server, job, form) for name, job in jobs.items()}
        for name, other in (tuple(jobs), tuple(jobs)[::-1]):
            assert found[name].status_code == 200, form
            assert Path(other).stem.encode() not in found[name].content, (form, name)
            assert form in {"step", "glb"} or name.encode() in found[name].content, (form, name)


def test_nothing_is_left_of_making_them(server: Server, plate: dict[str, Any]) -> None:
    """What was made lies beside the report and nowhere else."""
    get(server, plate, "glb")
    state = server.service.state
    assert list((state.folder / "incoming").iterdir()) == []
    assert list(state.folder.glob("results/*/*/part.glb")) != []


def test_exports_and_comparisons_are_kept_in_the_object_store(
    object_store: ObjectStore, parts: Path, tmp_path: Path
) -> None:
    """Made on a machine that has neither model nor report at hand; kept for all others; an export goes with its job."""
    url = object_store.new_bucket()
    for server in serving(tmp_path, call=ANALYSIS, limits=Limits(), workers=1, most_bytes=1 << 20, store=url):
        content = (parts / "link_bar.step").read_bytes()
        sent = server.client.post("/api/jobs", params={"file_name": "bar.step"}, content=content)
        job = server.ended(sent.json()["jobs"][0]["id"])
        made = []
        for _ in range(2):
            for each in ("files", "results", "facts"):  # as on another machine
                shutil.rmtree(server.service.state.folder / each)
                (server.service.state.folder / each).mkdir()
            compared = server.client.get("/api/compare", params={"old": job["id"], "new": job["id"]}, timeout=120)
            made.append((get(server, job, "step").content, compared.json()))
        assert made[0] == made[1]
        assert made[0][0].startswith(BEGINS["step"])
        assert len([key for key in object_store.keys(url) if key.endswith(("part.step", "comparison.json"))]) == 2
        server.client.delete(f"/api/jobs/{job['id']}")
        left = {key.split("/")[-1] for key in object_store.keys(url)}
        assert left == {"comparison.json", "comparison.html"}  # the housekeeping's


def test_a_job_without_a_report_or_of_another_kind_is_told(server: Server, plate: dict[str, Any]) -> None:
    """Both are problem documents."""
    assert get(server, {"id": "0" * 32}, "xlsx").status_code == 404
    assert get(server, plate, "docx").status_code == 422
