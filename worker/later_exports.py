"""Exports of a job that has its report, made when somebody asks for them and kept beside it."""

import hashlib
import os
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from analyzers.report.as_csv import features_csv
from worker.archive import safe_name
from worker.export_kinds import FILE_OF, STAGE, Export
from worker.ledger import Entry
from worker.limits import Limits
from worker.pdf import print_pdf
from worker.runner import job_at_hand, settings_of
from worker.sandbox import Sandbox
from worker.state import State
from worker.storage import NotKept
from worker.store import DOCUMENT, PAGE, read_document, report_in


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
        if kind == "pdf":
            page = self.page(entry)
            path = page.with_name(page.name.removesuffix(PAGE) + FILE_OF[kind])
            return self._kept(path, lambda folder: _printed(page, folder))
        path = _result(self._state, entry) / FILE_OF[kind]
        return self._kept(path, lambda folder: self._analysed(entry, folder, path.name, html=False, exports=(kind,)))

    def page(self, entry: Entry) -> Path:
        """Return where the report's page lies that bears the name this job's sender gave the model.

        Jobs for the same bytes share one result, and its page bears the first sender's name: who sent them under
        another gets a page of his own, judged from the kept facts when it is first asked for.

        Raises
        ------
        ExportFailed : it could not be made
        NotKept : there is no page
        """
        shared, document = self.shared_page(entry), read_document(self._fetched(entry, DOCUMENT))
        name = safe_name(Path(entry.member or entry.file_name).name)
        if document["status"] == "unreadable" or document["source"]["file_name"] == name:
            return shared
        own = hashlib.sha256(name.encode("utf-8", "surrogatepass")).hexdigest()[:16]
        return self._kept(
            shared.with_name(f"{own}-{PAGE}"), lambda place: self._analysed(entry, place, PAGE, html=True)
        )

    def shared_page(self, entry: Entry) -> Path:
        """Return where the page lies that bears the first sender's name; NotKept where there is none."""
        return self._fetched(entry, PAGE)

    def document(self, entry: Entry) -> dict[str, Any]:
        """Return the report's document, with the name this job's sender gave the model.

        Raises
        ------
        NotKept : there is none
        """
        return document_for(entry, self._fetched(entry, DOCUMENT))

    def _fetched(self, entry: Entry, name: str) -> Path:
        return self._state.storage.fetch(_result(self._state, entry) / name)

    def _kept(self, path: Path, make: Callable[[Path], Path]) -> Path:
        """Return a file beside a report, which a function makes in a folder of its own where it is not kept yet."""
        storage = self._state.storage
        try:
            return storage.fetch(path)
        except NotKept:
            storage.fetch(path.with_name(DOCUMENT))  # what lay beside no report would be nobody's
        with tempfile.TemporaryDirectory(dir=self._state.folder / "incoming") as name:
            make(Path(name)).replace(path)
        storage.send(path)
        return path

    def _analysed(self, entry: Entry, folder: Path, name: str, *, html: bool, exports: tuple[Export, ...] = ()) -> Path:
        """Return a file that a child makes of the model, or, where it exports nothing, of the kept facts."""
        job = job_at_hand(self._state, entry, settings_of(self._state, entry), folder)
        job = replace(job, html=html, exports=exports, facts=None if exports else job.facts)
        ending = self._sandbox.run(job.to_json(), self._limits)
        path = folder / name
        if ending.how != "finished":
            raise ExportFailed(f"{name} could not be made. {ending.message}")
        if path.is_symlink() or not path.is_file():  # a child that went wrong may leave anything
            document = report_in(folder / DOCUMENT) or {"problems": []}
            told = (each["message"] for each in document["problems"] if each.get("stage") == STAGE)
            raise ExportFailed(next(told, f"{name} could not be made."))
        return path


def document_for(entry: Entry, path: Path) -> dict[str, Any]:
    """Return a document, with the name that a job's sender gave the model."""
    document = read_document(path)
    document["source"]["file_name"] = entry.file_name if entry.member is None else entry.member
    return document


def _result(state: State, entry: Entry) -> Path:
    """Return the folder of a job's result; NotKept where it has none."""
    if entry.folder is None:
        raise NotKept(f"{entry.file_name}: there is no report")
    return state.result(entry.folder)


def _printed(page: Path, folder: Path) -> Path:
    os.link(page, folder / PAGE)
    if problem := print_pdf(folder):
        raise ExportFailed(problem.message)
    return folder / FILE_OF["pdf"]
