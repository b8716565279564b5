"""Files are written whole or not at all."""

import os
from pathlib import Path

import pytest

from worker.store import DOCUMENT, PAGE, read_document, report_in, write_document, write_page


def listing(folder: Path) -> list[str]:
    """Return the names in a folder."""
    return sorted(each.name for each in folder.iterdir())


def test_a_document_comes_back(tmp_path: Path) -> None:
    """Text of any script survives; missing folders are made; nothing but the report is left."""
    document = {"name": "Träger ⌀6 \u202e", "number": 0.1, "nothing": None}
    write_document(tmp_path / "a" / "b", document)
    assert read_document(tmp_path / "a" / "b" / DOCUMENT) == document
    assert listing(tmp_path / "a" / "b") == [DOCUMENT]


def test_text_that_no_encoding_takes_is_written_all_the_same(tmp_path: Path) -> None:
    """A lone surrogate, as file names may hold, becomes its code."""
    write_document(tmp_path, {"name": "a\udcffb"})
    assert read_document(tmp_path / DOCUMENT) == {"name": "a\udcffb"}


def test_not_a_number_is_an_error_and_the_old_document_stays(tmp_path: Path) -> None:
    """JSON has no NaN; a document that holds one is a bug, and no half file is left of it."""
    write_document(tmp_path, {"number": 1})
    with pytest.raises(ValueError, match="not JSON compliant"):
        write_document(tmp_path, {"number": float("nan")})
    assert read_document(tmp_path / DOCUMENT) == {"number": 1}
    assert listing(tmp_path) == [DOCUMENT]


def test_a_new_document_removes_the_old_page(tmp_path: Path) -> None:
    """A page never stands beside a document that it does not show."""
    write_document(tmp_path, {"run": 1})
    write_page(tmp_path, "<p>1")
    assert listing(tmp_path) == [PAGE, DOCUMENT]
    write_document(tmp_path, {"run": 2})
    assert listing(tmp_path) == [DOCUMENT]


@pytest.mark.parametrize("mask", [0o022, 0o077])
def test_reports_are_as_readable_as_other_files(tmp_path: Path, mask: int) -> None:
    """The umask decides, not the temporary file that the text was first written to."""
    before = os.umask(mask)
    try:
        write_document(tmp_path, {})
    finally:
        os.umask(before)
    assert (tmp_path / DOCUMENT).stat().st_mode & 0o777 == 0o666 & ~mask


def test_a_full_disk_leaves_no_half(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When writing fails on the way, the old page stays and the temporary file goes."""
    write_page(tmp_path, "old")
    monkeypatch.setattr(os, "fdopen", _full)
    with pytest.raises(OSError, match="No space"):
        write_page(tmp_path, "new")
    assert listing(tmp_path) == [PAGE]
    assert (tmp_path / PAGE).read_text() == "old"


def _full(descriptor: int, *args: object, **more: object) -> object:
    os.close(descriptor)
    return Path("/dev/full").open("wb")


@pytest.mark.parametrize(
    "content",
    [
        pytest.param(b"", id="empty"),
        pytest.param(b"{", id="torso"),
        pytest.param(b"[]", id="list"),
        pytest.param(b"\xff", id="no-text"),
        pytest.param(b"{}", id="no-fields"),
        pytest.param(b'{"status": "fine", "problems": [], "bodies": []}', id="odd-status"),
        pytest.param(b'{"status": "complete", "problems": {}, "bodies": []}', id="odd-problems"),
        pytest.param(b'{"status": "partial", "problems": [1], "bodies": []}', id="odd-problem"),
        pytest.param(b"[" * 100_000, id="deep"),
    ],
)
def test_what_is_no_report(content: bytes, tmp_path: Path) -> None:
    """Whatever a child leaves, nobody falls over it."""
    path = tmp_path / "report.json"
    path.write_bytes(content)
    assert report_in(path) is None


def test_a_link_is_no_report(tmp_path: Path) -> None:
    """It might lead to a file that the child could not read and this process can."""
    (tmp_path / "real.json").write_text('{"status": "complete", "problems": [], "bodies": []}')
    (tmp_path / "report.json").symlink_to(tmp_path / "real.json")
    assert report_in(tmp_path / "real.json") is not None
    assert report_in(tmp_path / "report.json") is None
    assert report_in(tmp_path / "none.json") is None
