"""Parts seen before, over HTTP."""

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from pydantic import BaseModel

from analyzers.signature.nearest import Relation
from api.access import entry_of, may, service_of
from api.problems import responses
from api.report_routes import document_of
from api.schemas import JobId

router = APIRouter(tags=["reports"])


class Seen(BaseModel):
    """A body of another model that one of this model's bodies is like."""

    body: str
    job_id: str
    file_name: str
    other_body: str
    relation: Relation
    distance: float


@router.get(
    "/api/jobs/{job_id}/alike", dependencies=[Depends(may("read"))], responses={**responses(401, 403, 404, 422)}
)
def alike(request: Request, job_id: JobId, most: Annotated[int, Query(ge=1, le=50)] = 5) -> list[Seen]:
    """Get the parts seen before that are most like this one: the same, its mirror image, or alike by how much."""
    service = service_of(request)
    entry = entry_of(service, job_id)
    found = service.shapes.seen_before(entry, document_of(service, entry), most)
    return [Seen(**{name: getattr(each, name) for name in Seen.model_fields}) for each in found]
