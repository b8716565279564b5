"""Exports as the command writes them; the PDF by the machine's own Chromium."""

import json
import os
import shutil
from pathlib import Path

import pytest

from tests.api.command import partsieve
from worker.export_kinds import FILE_OF
from worker.pdf import print_pdf

needs_browser = pytest.mark.skipif(
    not (os.environ.get("PARTSIEVE_CHROMIUM") or shutil.which("chromium")),
    reason="NO BROWSER: install chromium; PDF is not tested",
)


@needs_browser
def test_every_export_lies_beside_its_report(parts: Path, tmp_path: Path) -> None:
    """One order, five files, each of its kind by its first bytes; nothing else is left behind."""
    asked = [word for kind in FILE_OF for word in ("--export", kind)]
    done = partsieve("check", parts / "lid_plate.step", "--out", tmp_path, "--quiet", *asked, cwd=tmp_path)
    assert done.returncode in (0, 1), done.stderr
    folder = tmp_path / "lid_plate"
    assert {each.name for each in folder.iterdir()} == {
        "report.json", "report.html", "thumbnail.svg", *FILE_OF.values()
    }  # fmt: skip
    begins = {"xlsx": b"PK", "csv": b"file,body", "glb": b"glTF", "step": b"ISO-10303-21;", "pdf": b"%PDF-"}
    for kind, magic in begins.items():
        assert (folder / FILE_OF[kind]).read_bytes().startswith(magic), kind
    assert json.loads((folder / "report.json").read_text())["status"] == "complete"


def test_a_model_that_cannot_be_read_says_which_exports_are_missing(tmp_path: Path) -> None:
    """There is no model to hand back; the workbook names the reason all the same."""
    (tmp_path / "letter.step").write_text("Dear sirs")
    asked = ("--export", "step", "--export", "xlsx", "--export", "glb")
    partsieve("check", "letter.step", "--out", "out", "--quiet", *asked, cwd=tmp_path)
    folder = tmp_path / "out" / "letter"
    document = json.loads((folder / "report.json").read_text())
    assert document["status"] == "unreadable"
    missing = [each["message"] for each in document["problems"] if each["stage"] == "export"]
    assert [each.split()[0] for each in missing] == ["part.glb", "part.step"]
    assert (folder / "report.xlsx").is_file()


def test_exports_of_an_earlier_run_do_not_stay(parts: Path, tmp_path: Path) -> None:
    """A second run without exports removes what would contradict its report."""
    order = ("check", str(parts / "lid_plate.step"), "--out", str(tmp_path), "--quiet", "--no-html")
    partsieve(*order, "--export", "csv", cwd=tmp_path)
    assert (tmp_path / "lid_plate" / "features.csv").is_file()
    partsieve(*order, cwd=tmp_path)
    assert {each.name for each in (tmp_path / "lid_plate").iterdir()} == {"report.json"}


def test_pdf_without_its_page_is_wrong_usage(parts: Path, tmp_path: Path) -> None:
    """The PDF is the printed page."""
    done = partsieve("check", parts / "lid_plate.step", "--no-html", "--export", "pdf", cwd=tmp_path)
    assert done.returncode == 2
    assert "--no-html" in done.stderr


def test_without_a_browser_the_problem_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No silent gap: the report names the browser that was looked for."""
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.delenv("PARTSIEVE_CHROMIUM", raising=False)
    problem = print_pdf(tmp_path)
    assert problem is not None
    assert "found no browser" in problem.message
    assert "chromium" in problem.message
