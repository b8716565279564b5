"""What changed from one model to another, over HTTP."""

import math
from http import HTTPStatus
from typing import Final, Literal

from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import FileResponse

from api.access import entry_of, may, service_of
from api.problems import responses
from api.schemas import JobId
from worker.ledger import Entry
from worker.revisions import WAIT_S, Busy, NotCompared
from worker.service import Service
from worker.store import COMPARISON, COMPARISON_PAGE

router = APIRouter(tags=["reports"])

_NO_SCRIPT: Final = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'self'"
"""Content security policy of a comparison: the list's page may measure it, so nothing in it may run."""


@router.get(
    "/api/compare",
    dependencies=[Depends(may("read"))],
    response_class=FileResponse,
    responses={
        200: {"description": "The comparison", "content": {"application/json": {}, "text/html": {}}},
        **responses(401, 403, 404, 422, 503),
    },
)
def compare(request: Request, old: JobId, new: JobId, form: Literal["json", "html"] = "json") -> FileResponse:
    """Get what changed between two models, face by face; both are judged by the settings of the new one."""
    service = service_of(request)
    try:
        folder = service.revisions.compared(*pair_of(service, old, new))
    except Busy as error:
        wait = {"Retry-After": str(math.ceil(WAIT_S))}
        raise HTTPException(HTTPStatus.SERVICE_UNAVAILABLE, str(error), wait) from error
    except NotCompared as error:
        raise HTTPException(HTTPStatus.UNPROCESSABLE_ENTITY, f"not compared: {error}") from error
    if form == "json":
        return FileResponse(folder / COMPARISON, media_type="application/json")
    headers = {"Content-Security-Policy": _NO_SCRIPT}
    return FileResponse(folder / COMPARISON_PAGE, media_type="text/html; charset=utf-8", headers=headers)


def pair_of(service: Service, old: str, new: str) -> tuple[Entry, Entry]:
    """Return two jobs that have a report; else a 404 problem."""
    first, second = (entry_of(service, each) for each in (old, new))
    for entry in (first, second):
        if entry.folder is None:
            raise HTTPException(HTTPStatus.NOT_FOUND, f"{entry.file_name}: there is no report yet")
    return first, second
