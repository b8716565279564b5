"""Exports of a job that has its report, made when somebody asks for them and kept beside it."""

import os
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from analyzers.report.as_csv import features_csv
from worker.export_kinds import FILE_OF, STAGE, Export
from worker.ledger import Entry
from worker.limits import Limits
from worker.pdf import print_pdf
from worker.runner import job_at_hand, settings_of
from worker.sandbox import Sandbox
from worker.state import State
from worker.storage import NotKept
from worker.store import DOCUMENT, PAGE, is_report, read_document


class ExportFailed(Exception):
    """One sentence: which file could not be made, and why."""


def features_text(document: dict[str, Any]) -> bytes:
    """Return the feature list of a report."""
    return features_csv([document]).encode("utf-8", "backslashreplace")


def workbook(document: dict[str, Any]) -> bytes:
    """Return the workbook of a report."""
    from analyzers.report.as_xlsx import to_xlsx

    return to_xlsx([document])


FROM_DOCUMENT: Final[dict[str, Callable[[dict[str, Any]], bytes]]] = {"csv": features_text, "xlsx": workbook}
"""Kinds that need nothing but the document: made anew each time."""


class LaterExports:
    """Makes what needs the geometry, in a child like every analysis, or the printed page."""

    def __init__(self, state: State, sandbox: Sandbox, limits: Limits) -> None:
        self._state, self._sandbox, self._limits = state, sandbox, limits

    def path(self, entry: Entry, kind: Export) -> Path:
        """Return where the export lies, made if need be; takes as long as an analysis, or as a browser to print.

        Raises
        ------
        ExportFailed : it could not be made
        NotKept : the job has no result, or it or its model was removed meanwhile
        """
        if entry.folder is None:
            raise NotKept(f"{entry.file_name}: there is no report")
        storage, folder = self._state.storage, self._state.result(entry.folder)
        path = folder / FILE_OF[kind]
        try:
            return storage.fetch(path)
        except NotKept:
            storage.fetch(folder / DOCUMENT)  # an export beside no report would be nobody's
        with tempfile.TemporaryDirectory(dir=self._state.folder / "incoming") as name:
            made = self._printed(folder, Path(name)) if kind == "pdf" else self._analysed(entry, kind, Path(name))
            made.replace(path)
        storage.send(path)
        return path

    def _analysed(self, entry: Entry, kind: Export, folder: Path) -> Path:
        settings = settings_of(self._state, entry)
        job = replace(job_at_hand(self._state, entry, settings, folder), html=False, exports=(kind,), facts=None)
        ending = self._sandbox.run(job.to_json(), self._limits)
        path = folder / FILE_OF[kind]
        if ending.how != "finished":
            raise ExportFailed(f"{path.name} could not be made. {ending.message}")
        if path.is_symlink() or not path.is_file():  # a child that went wrong may leave anything
            problems = read_document(folder / DOCUMENT)["problems"] if is_report(folder / DOCUMENT) else []
            told = (each["message"] for each in problems if each.get("stage") == STAGE)
            raise ExportFailed(next(told, f"{path.name} could not be made."))
        return path

    def _printed(self, result: Path, folder: Path) -> Path:
        os.link(self._state.storage.fetch(result / PAGE), folder / PAGE)
        if problem := print_pdf(folder):
            raise ExportFailed(problem.message)
        return folder / FILE_OF["pdf"]
