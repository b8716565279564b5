"""What came out of a job over HTTP: report in every form, small picture, questions; and the list to take along."""

import json
from collections.abc import Callable
from http import HTTPStatus
from pathlib import Path
from typing import Annotated, Any, Final, Literal
from urllib.parse import quote

import anyio
import anyio.to_thread
from fastapi import APIRouter, Depends, HTTPException, Query, Request, Response
from fastapi.responses import FileResponse

from analyzers.report.as_csv import to_csv
from analyzers.report.as_junit import to_junit
from analyzers.report.as_markdown import to_markdown
from analyzers.report.as_sarif import to_sarif
from api.access import entry_of, may, service_of
from api.export import list_csv, list_xlsx
from api.problems import responses
from api.schemas import Filter, JobId
from worker.export_kinds import FILE_OF, Export
from worker.later_exports import FROM_DOCUMENT, ExportFailed, document_for
from worker.ledger import Entry
from worker.listing import every
from worker.service import Service
from worker.storage import NotKept
from worker.store import DOCUMENT, PAGE, THUMBNAIL

router = APIRouter(tags=["reports"])

Form = Literal["json", "html", "csv", "markdown", "junit", "sarif"]
Document = dict[str, Any]

_FORMS: Final[dict[str, tuple[str, Callable[[Document], str]]]] = {
    "csv": ("text/csv; charset=utf-8", lambda document: to_csv([document])),
    "markdown": ("text/markdown; charset=utf-8", lambda document: to_markdown([document])),
    "junit": ("application/xml", lambda document: to_junit([document])),
    "sarif": ("application/sarif+json", lambda document: json.dumps(to_sarif([document]))),
}
_OPAQUE: Final = "sandbox allow-scripts allow-popups allow-downloads allow-modals; frame-ancestors 'self'"
"""Content security policy of a report: whatever it holds, it has no part in this service's origin."""

_STILL: Final = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
"""Content security policy of a drawing: it may look as it likes and do nothing."""

_XLSX: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_EXPORTS: Final[dict[Export, str]] = {
    "xlsx": _XLSX,
    "csv": "text/csv; charset=utf-8",
    "glb": "model/gltf-binary",
    "step": "model/step",
    "pdf": "application/pdf",
}
_makers: Final = anyio.CapacityLimiter(1)  # exports are made one at a time, and those who wait keep no thread


@router.get(
    "/api/jobs/{job_id}/report",
    dependencies=[Depends(may("read"))],
    response_class=Response,
    responses={
        200: {
            "description": "The report",
            "content": {"application/json": {}, "text/html": {}, **{media: {} for media, _ in _FORMS.values()}},
        },
        **responses(401, 403, 404, 409, 422),
    },
)
def report(request: Request, job_id: JobId, form: Form = "json") -> Response:
    """Get the report of a job that is done or set aside, in one of its forms."""
    service = service_of(request)
    entry = entry_of(service, job_id)
    if form == "html":
        _file(service, entry, PAGE)
        try:
            return _html(service.exports.page(entry))
        except ExportFailed as error:
            raise HTTPException(HTTPStatus.CONFLICT, str(error)) from error
    document = document_of(service, entry)
    if form == "json":
        return Response(json.dumps(document, ensure_ascii=False), media_type="application/json")
    media, write = _FORMS[form]
    return Response(write(document), media_type=media)


@router.get(
    "/api/jobs/{job_id}/picture",
    dependencies=[Depends(may("read"))],
    response_class=FileResponse,
    responses={200: {"description": "The picture", "content": {"image/svg+xml": {}}}, **responses(401, 403, 404, 422)},
)
def picture(request: Request, job_id: JobId) -> FileResponse:
    """Get the small drawing of a job's hardest body."""
    service = service_of(request)
    path = _file(service, entry_of(service, job_id), THUMBNAIL)
    headers = {"Cache-Control": "private, max-age=3600", "Content-Security-Policy": _STILL}
    return FileResponse(path, media_type="image/svg+xml", headers=headers)


@router.get(
    "/api/jobs/{job_id}/questions",
    dependencies=[Depends(may("read"))],
    response_class=Response,
    responses={
        200: {"description": "One on each line", "content": {"text/plain": {}}},
        **responses(401, 403, 404, 422),
    },
)
def questions(request: Request, job_id: JobId) -> Response:
    """Get what to ask the customer, ready to send."""
    service = service_of(request)
    document = document_of(service, entry_of(service, job_id))
    asked = [question for body in document["bodies"] for question in body["questions"]]
    return Response("".join(f"{each}\n" for each in asked), media_type="text/plain; charset=utf-8")


@router.get(
    "/api/jobs/{job_id}/export",
    dependencies=[Depends(may("read"))],
    response_class=Response,
    responses={
        200: {"description": "The file", "content": {media: {} for media in _EXPORTS.values()}},
        **responses(401, 403, 404, 409, 422),
    },
)
async def export_one(request: Request, job_id: JobId, form: Export) -> Response:
    """Get a job's workbook, feature list, glTF model, STEP model with faces named and coloured, or report as PDF.

    Those that need the model itself are made when first asked for: that takes as long as its analysis did.
    """
    service = service_of(request)
    entry, document = await anyio.to_thread.run_sync(_entry_and_document, service, job_id)
    stem = Path(document["source"]["file_name"]).stem
    name = quote(f"{stem}-{FILE_OF[form]}", safe="", errors="replace")
    headers = {"Content-Disposition": f"attachment; filename*=UTF-8''{name}", "Content-Security-Policy": _STILL}
    if form in FROM_DOCUMENT:
        content = await anyio.to_thread.run_sync(FROM_DOCUMENT[form], document)
        return Response(content, media_type=_EXPORTS[form], headers=headers)
    try:
        path = await anyio.to_thread.run_sync(service.exports.path, entry, form, limiter=_makers)
    except ExportFailed as error:
        raise HTTPException(HTTPStatus.CONFLICT, str(error)) from error
    except (FileNotFoundError, NotKept) as error:  # the job was removed meanwhile
        raise HTTPException(HTTPStatus.NOT_FOUND, "this report has none") from error
    return FileResponse(path, media_type=_EXPORTS[form], headers=headers)


def _entry_and_document(service: Service, job_id: str) -> tuple[Entry, Document]:
    entry = entry_of(service, job_id)
    return entry, document_of(service, entry)


@router.get(
    "/api/export",
    dependencies=[Depends(may("read"))],
    response_class=Response,
    responses={
        200: {"description": "The list as a file", "content": {"text/csv": {}, _XLSX: {}}},
        **responses(401, 403, 422),
    },
)
def export(request: Request, wanted: Annotated[Filter, Query()], form: Literal["csv", "xlsx"] = "csv") -> Response:
    """Get the list of jobs for a spreadsheet, filtered and sorted like the list itself."""
    entries = every(service_of(request).ledger, wanted.wanted())
    content = list_csv(entries) if form == "csv" else list_xlsx(entries)
    media = "text/csv; charset=utf-8" if form == "csv" else _XLSX
    return Response(content, media_type=media, headers={"Content-Disposition": f'attachment; filename="parts.{form}"'})


def _file(service: Service, entry: Entry, name: str) -> Path:
    """Return a file of a job's result; 404 where there is none."""
    if entry.folder is None:
        raise HTTPException(HTTPStatus.NOT_FOUND, f"this job is {entry.state.replace('_', ' ')}: there is no report")
    try:
        return service.state.storage.fetch(service.state.result(entry.folder) / name)
    except NotKept as error:
        reason = str(error) if name == DOCUMENT else "this report has none"
        raise HTTPException(HTTPStatus.NOT_FOUND, reason) from error


def document_of(service: Service, entry: Entry) -> Document:
    """Return the document of a job that has one, under the name its model was given; else a 404 problem."""
    return document_for(entry, _file(service, entry, DOCUMENT))


def _html(path: Path) -> Response:
    return FileResponse(path, media_type="text/html; charset=utf-8", headers={"Content-Security-Policy": _OPAQUE})
