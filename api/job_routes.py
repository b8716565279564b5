"""Jobs over HTTP: send in, look at, cancel, delete, do again, and their reports."""

import json
from collections.abc import Callable
from http import HTTPStatus
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from fastapi import APIRouter, Depends, Header, HTTPException, Query, Request, Response
from fastapi.responses import FileResponse

from analyzers.report.as_csv import to_csv
from analyzers.report.as_junit import to_junit
from analyzers.report.as_markdown import to_markdown
from analyzers.report.as_sarif import to_sarif
from api.access import may, service_of
from api.problems import responses
from api.schemas import Day, Job, JobId, JobPage, Jobs, Priority, Quantity, Text
from api.settings_routes import named_digest
from api.upload import receive
from worker.intake import Terms
from worker.ledger import Entry, State
from worker.listing import SortKey, Wanted, page
from worker.service import Service
from worker.store import DOCUMENT, PAGE, read_document

router = APIRouter(prefix="/api/jobs", tags=["jobs"])

Form = Literal["json", "html", "csv", "markdown", "junit", "sarif"]
Document = dict[str, Any]

_FORMS: Final[dict[str, tuple[str, Callable[[Document], str]]]] = {
    "csv": ("text/csv; charset=utf-8", lambda document: to_csv([document])),
    "markdown": ("text/markdown; charset=utf-8", lambda document: to_markdown([document])),
    "junit": ("application/xml", lambda document: to_junit([document])),
    "sarif": ("application/sarif+json", lambda document: json.dumps(to_sarif([document]))),
}
_NO_JOB: Final = "there is no such job"
_OPAQUE: Final = "sandbox allow-scripts allow-popups allow-downloads"
"""Content security policy of a report: whatever it holds, it has no part in this service's origin."""


@router.post(
    "",
    status_code=HTTPStatus.CREATED,
    dependencies=[Depends(may("write"))],
    responses=responses(401, 403, 408, 413, 422),
    openapi_extra={"requestBody": {"required": True, "content": {"application/octet-stream": {}}}},
)
async def send_in(
    request: Request,
    file_name: Annotated[Text, Query(description="What the file is called; shown, never used as a path.")],
    material: Text | None = None,
    quantity: Quantity = 1,
    priority: Priority = 0,
    due: Day | None = None,
    customer: Text | None = None,
    shop: Annotated[Text | None, Query(description="Name of a shop file that was sent in.")] = None,
    policy: Annotated[Text | None, Query(description="Name of a policy file that was sent in.")] = None,
    idempotency_key: Annotated[Text | None, Header(description="Sent again, it makes no second job.")] = None,
) -> Jobs:
    """Send in a model or an archive of models: the body is the file. There is one job for each model."""
    service = service_of(request)
    terms = Terms(
        shop=named_digest(service, "shop", shop),
        policy=named_digest(service, "policy", policy),
        material=material,
        quantity=quantity,
        priority=priority,
        due=due,
        customer=customer,
        idempotency_key=idempotency_key,
    )
    entries = await receive(
        request, service.setup.most_bytes, lambda pieces: service.intake.take(pieces, file_name, terms)
    )
    return Jobs(jobs=[Job.of(each) for each in entries])


@router.get("", dependencies=[Depends(may("read"))], responses=responses(401, 403, 422))
def list_jobs(
    request: Request,
    state: Annotated[list[State] | None, Query()] = None,
    bucket: Text | None = None,
    material: Text | None = None,
    customer: Text | None = None,
    name: Annotated[Text | None, Query(description="Part of the file's name, in any case.")] = None,
    max_setups: Annotated[int | None, Query(ge=0, le=1000)] = None,
    max_internal_radius_mm: Annotated[float | None, Query(ge=0, le=1e6)] = None,
    due_until: Day | None = None,
    sort: SortKey = "arrival",
    falling: bool = False,
    limit: Annotated[int, Query(ge=1, le=500)] = 50,
    cursor: Annotated[str | None, Query(max_length=1000)] = None,
) -> JobPage:
    """List jobs, a page at a time. Jobs without a value for the sort key come last."""
    found = page(
        service_of(request).ledger,
        Wanted(
            states=tuple(state or ()),
            bucket=bucket,
            material=material,
            customer=customer,
            name_contains=name,
            max_setups=max_setups,
            max_internal_radius_mm=max_internal_radius_mm,
            due_until=due_until,
            sort=sort,
            falling=falling,
            limit=limit,
            cursor=cursor,
        ),
    )
    return JobPage(jobs=[Job.of(each) for each in found.jobs], next_cursor=found.next_cursor)


@router.get("/{job_id}", dependencies=[Depends(may("read"))], responses=responses(401, 403, 404, 422))
def look_at(request: Request, job_id: JobId) -> Job:
    """Look at one job."""
    return Job.of(_entry(service_of(request), job_id))


@router.post("/{job_id}/cancel", dependencies=[Depends(may("write"))], responses=responses(401, 403, 404, 409, 422))
def cancel(request: Request, job_id: JobId) -> Job:
    """Take a job out of the queue, or stop it; one that has ended cannot be cancelled."""
    service = service_of(request)
    _entry(service, job_id)
    if not service.ledger.cancel(job_id):
        raise HTTPException(HTTPStatus.CONFLICT, "this job has ended")
    return Job.of(_entry(service, job_id))


@router.post(
    "/{job_id}/again",
    status_code=HTTPStatus.CREATED,
    dependencies=[Depends(may("write"))],
    responses=responses(401, 403, 404, 422),
)
def do_again(
    request: Request,
    job_id: JobId,
    material: Text | None = None,
    quantity: Quantity | None = None,
    shop: Text | None = None,
    policy: Text | None = None,
) -> Job:
    """Enter a new job for the same model, by other settings where they are given."""
    service = service_of(request)
    entry = _entry(service, job_id)
    terms = Terms(
        shop=named_digest(service, "shop", shop) or entry.shop,
        policy=named_digest(service, "policy", policy) or entry.policy,
        material=material or entry.material,
        quantity=quantity or entry.quantity,
        priority=entry.priority,
        due=entry.due,
        customer=entry.customer,
    )
    new = service.intake.again(entry, terms)
    if new is None:
        raise HTTPException(HTTPStatus.NOT_FOUND, _NO_JOB)
    return Job.of(new)


@router.delete(
    "/{job_id}",
    status_code=HTTPStatus.NO_CONTENT,
    dependencies=[Depends(may("write"))],
    responses=responses(401, 403, 404, 422),
)
def remove(request: Request, job_id: JobId) -> None:
    """Stop a job if need be and strike it from the list; its file and result go when no other job has them."""
    service = service_of(request)
    service.intake.remove(_entry(service, job_id))


@router.get(
    "/{job_id}/report",
    dependencies=[Depends(may("read"))],
    response_class=Response,
    responses={
        200: {
            "description": "The report",
            "content": {"application/json": {}, "text/html": {}, **{media: {} for media, _ in _FORMS.values()}},
        },
        **responses(401, 403, 404, 422),
    },
)
def report(request: Request, job_id: JobId, form: Form = "json") -> Response:
    """Get the report of a job that is done or set aside, in one of its forms."""
    service = service_of(request)
    entry = _entry(service, job_id)
    if entry.folder is None or not ((folder := service.state.result(entry.folder)) / DOCUMENT).exists():
        raise HTTPException(HTTPStatus.NOT_FOUND, f"this job is {entry.state.replace('_', ' ')}: there is no report")
    if form == "html":
        return _html(folder / PAGE)
    document = read_document(folder / DOCUMENT)
    document["source"]["file_name"] = entry.file_name if entry.member is None else entry.member
    if form == "json":
        return Response(json.dumps(document, ensure_ascii=False), media_type="application/json")
    media, write = _FORMS[form]
    return Response(write(document), media_type=media)


def _html(path: Path) -> Response:
    if not path.exists():
        raise HTTPException(HTTPStatus.NOT_FOUND, "this report has no page")
    return FileResponse(path, media_type="text/html; charset=utf-8", headers={"Content-Security-Policy": _OPAQUE})


def _entry(service: Service, job_id: str) -> Entry:
    entry = service.ledger.get(job_id)
    if entry is None:
        raise HTTPException(HTTPStatus.NOT_FOUND, _NO_JOB)
    return entry
