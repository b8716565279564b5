"""Jobs over HTTP: send in, look at, cancel, delete, do again, and their reports."""

from http import HTTPStatus
from typing import Annotated, Final

from fastapi import APIRouter, Depends, Header, HTTPException, Query, Request, Response

from api.access import entry_of, may, service_of
from api.problems import responses
from api.schemas import Day, Job, JobId, JobPage, Jobs, PageFilter, Priority, Quantity, Struck, Text, Which
from api.settings_routes import named_digest
from api.upload import receive
from worker.intake import Terms
from worker.ledger import Entry
from worker.listing import page
from worker.service import Service

REPAIR: Final = "Repair a model that is not sound before it is measured; the report says what was done to it."

router = APIRouter(prefix="/api/jobs", tags=["jobs"])
batch = APIRouter(prefix="/api/batch", tags=["jobs"])


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
    repair: Annotated[bool, Query(description=REPAIR)] = False,
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
        repair=repair,
        priority=priority,
        due=due,
        customer=customer,
        idempotency_key=idempotency_key,
    )
    entries = await receive(
        request, service.setup.most_bytes, lambda pieces: service.intake.take(pieces, file_name, terms)
    )
    return Jobs(jobs=[Job.of(each) for each in entries])


@router.get("", response_model=JobPage, dependencies=[Depends(may("read"))], responses=responses(401, 403, 422))
def list_jobs(request: Request, wanted: Annotated[PageFilter, Query()]) -> Response:
    """List jobs, a page at a time. Jobs without a value for the sort key come last."""
    found = page(service_of(request).ledger, wanted.wanted(wanted.limit, wanted.cursor))
    told = JobPage(jobs=[Job.of(each) for each in found.jobs], next_cursor=found.next_cursor)
    return Response(told.model_dump_json(), media_type="application/json")  # checked once, not once more on its way


@router.get("/{job_id}", dependencies=[Depends(may("read"))], responses=responses(401, 403, 404, 422))
def look_at(request: Request, job_id: JobId) -> Job:
    """Look at one job."""
    return Job.of(entry_of(service_of(request), job_id))


@router.post("/{job_id}/cancel", dependencies=[Depends(may("write"))], responses=responses(401, 403, 404, 409, 422))
def cancel(request: Request, job_id: JobId) -> Job:
    """Take a job out of the queue, or stop it; one that has ended cannot be cancelled."""
    service = service_of(request)
    entry_of(service, job_id)
    if not service.ledger.cancel(job_id):
        raise HTTPException(HTTPStatus.CONFLICT, "this job has ended")
    return Job.of(entry_of(service, job_id))


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
    repair: bool | None = None,
    shop: Text | None = None,
    policy: Text | None = None,
) -> Job:
    """Enter a new job for the same model, by other settings where they are given."""
    service = service_of(request)
    return Job.of(_again(service, entry_of(service, job_id), material, quantity, repair, shop, policy))


@router.delete(
    "/{job_id}",
    status_code=HTTPStatus.NO_CONTENT,
    dependencies=[Depends(may("write"))],
    responses=responses(401, 403, 404, 422),
)
def remove(request: Request, job_id: JobId) -> None:
    """Stop a job if need be and strike it from the list; its file and result go when no other job has them."""
    service = service_of(request)
    service.intake.remove(entry_of(service, job_id))


@batch.post(
    "/again",
    status_code=HTTPStatus.CREATED,
    dependencies=[Depends(may("write"))],
    responses=responses(400, 401, 403, 404, 422),
)
def do_all_again(
    request: Request,
    which: Which,
    material: Text | None = None,
    quantity: Quantity | None = None,
    repair: bool | None = None,
    shop: Text | None = None,
    policy: Text | None = None,
) -> Jobs:
    """Enter new jobs for the models of some, by another shop, say; what was measured is not measured again."""
    service = service_of(request)
    entries = [entry_of(service, each) for each in which.jobs]
    return Jobs(jobs=[Job.of(_again(service, each, material, quantity, repair, shop, policy)) for each in entries])


@batch.post("/delete", dependencies=[Depends(may("write"))], responses=responses(400, 401, 403, 422))
def remove_all(request: Request, which: Which) -> Struck:
    """Strike some jobs from the list, as `DELETE` does for one; those that are gone already are passed over."""
    service = service_of(request)
    entries = [found for each in which.jobs if (found := service.ledger.get(each)) is not None]
    for entry in entries:
        service.intake.remove(entry)
    return Struck(struck=len(entries))


def _again(
    service: Service,
    entry: Entry,
    material: str | None,
    quantity: int | None,
    repair: bool | None,
    shop: str | None,
    policy: str | None,
) -> Entry:
    """Enter a job anew, by other settings where they are given."""
    terms = Terms(
        shop=named_digest(service, "shop", shop) or entry.shop,
        policy=named_digest(service, "policy", policy) or entry.policy,
        material=material or entry.material,
        quantity=quantity or entry.quantity,
        repair=entry.repair if repair is None else repair,
        priority=entry.priority,
        due=entry.due,
        customer=entry.customer,
    )
    new = service.intake.again(entry, terms)
    if new is None:
        raise HTTPException(HTTPStatus.NOT_FOUND, "there is no such job")
    return new
