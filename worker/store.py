"""Reports on disk: written whole or not at all."""

import json
import os
import tempfile
from pathlib import Path
from typing import Any, Final

from worker.export_kinds import FILE_OF
from worker.limits import status_of

DOCUMENT: Final = "report.json"
PAGE: Final = "report.html"
COMPARISON: Final = "comparison.json"
COMPARISON_PAGE: Final = "comparison.html"
THUMBNAIL: Final = "thumbnail.svg"
"""A small line drawing of the hardest body, for lists."""

MEMORY: Final = ".checked.json"
"""Beside the folders of reports: what they were made from."""

MOST_BYTES: Final = 256 << 20
"""A larger report.json is none: those of the largest models take a tenth of it."""


def write_document(folder: Path, document: dict[str, Any]) -> None:
    """Write report.json, and remove page, picture and exports of an earlier run: they would contradict it.

    A reader sees the old file or the new one, never a half; the same goes for the page.
    """
    folder.mkdir(parents=True, exist_ok=True)
    _remove_companions(folder)
    rewrite_document(folder, document)


def remove_report(folder: Path) -> None:
    """Remove report.json with page, picture and exports, as far as they are there."""
    (folder / DOCUMENT).unlink(missing_ok=True)
    _remove_companions(folder)


def _remove_companions(folder: Path) -> None:
    for old in (PAGE, THUMBNAIL, *FILE_OF.values()):
        (folder / old).unlink(missing_ok=True)


def rewrite_document(folder: Path, document: dict[str, Any]) -> None:
    """Write report.json again in the same run, with what became of page and exports."""
    write_whole(folder / DOCUMENT, json.dumps(document, ensure_ascii=False, allow_nan=False) + "\n")


def write_page(folder: Path, page: str) -> None:
    """Write report.html beside the document that it shows."""
    write_whole(folder / PAGE, page)


def read_document(path: Path) -> dict[str, Any]:
    """Return a report.json again."""
    document: dict[str, Any] = json.loads(path.read_text("utf-8"))
    return document


def report_in(path: Path) -> dict[str, Any] | None:
    """Return a file's report, with what everybody looks at; None = it is none, for a child may leave anything."""
    try:
        if path.is_symlink() or path.stat().st_size > MOST_BYTES:
            return None
        document: Any = read_document(path)
    except (OSError, ValueError, RecursionError):
        return None
    whole = (
        isinstance(document, dict)
        and document.get("status") in {"complete", "partial", "unreadable"}
        and all(isinstance(document.get(name), list) for name in ("problems", "bodies"))
        and all(isinstance(each, dict) and isinstance(each.get("message"), str) for each in document["problems"])
    )
    return document if whole else None


def copy_whole(source: Path, target: Path) -> None:
    """Copy a text file so that no reader sees a half."""
    write_whole(target, source.read_text("utf-8"))


def write_whole(path: Path, text: str) -> None:
    """Write a text file so that no reader sees a half."""
    write_bytes(path, text.encode("utf-8", "backslashreplace"))


def write_bytes(path: Path, content: bytes) -> None:
    """Write a file so that no reader sees a half: under another name, then renamed (rename(2): in one step)."""
    descriptor, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    temporary = Path(name)
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(content)
        temporary.chmod(0o666 & ~_umask())
        temporary.replace(path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise


def _umask() -> int:
    """Return the umask as the kernel shows it; asking os.umask would change it for all threads for a moment."""
    return int(status_of(os.getpid(), "Umask") or "077", 8)
