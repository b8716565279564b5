"""For those who run the service: is it alive, is it ready, what does it do; and a stream of what changes."""

import asyncio
import json
from collections.abc import AsyncIterator
from typing import Annotated, Final

from fastapi import APIRouter, Depends, Header, Request, Response
from fastapi.responses import StreamingResponse
from sqlalchemy import func, select
from sqlalchemy.exc import SQLAlchemyError

from api.access import may, service_of
from api.problems import problem, responses
from api.schemas import Job, Overview
from worker.ledger import Entry, Ledger
from worker.ledger_tables import JOBS
from worker.listing import materials
from worker.service import Service

router = APIRouter(tags=["operations"])

LOOK_S: Final = 0.4
SILENCE_S: Final = 15.0
"""After so much silence a stream says that it is still there, so that no proxy closes it."""

_STATES: Final = ("waiting", "running", "done", "set_aside", "cancelled")


@router.get("/health")
def health() -> dict[str, str]:
    """Say that the process lives."""
    return {"status": "alive"}


@router.get("/ready", responses=responses(503))
def ready(request: Request) -> Response:
    """Say whether jobs can be entered: the ledger answers and files can be kept."""
    service = service_of(request)
    try:
        service.ledger.counts()
        service.state.storage.check()
    except (SQLAlchemyError, OSError) as error:
        return problem(503, type(error).__name__)
    return Response('{"status":"ready"}', media_type="application/json")


@router.get(
    "/metrics",
    dependencies=[Depends(may("read"))],
    response_class=Response,
    responses={200: {"description": "Prometheus text", "content": {"text/plain": {}}}, **responses(401, 403)},
)
def metrics(request: Request) -> Response:
    """Give counts and times in the Prometheus text format 0.0.4."""
    ledger = service_of(request).ledger
    counts = ledger.counts()
    ended = (JOBS.c.seconds.is_not(None), JOBS.c.state.in_(("done", "set_aside")))
    with ledger.look() as connection:
        number, seconds = connection.execute(select(func.count(), func.sum(JOBS.c.seconds)).where(*ended)).one()
    lines = [
        "# HELP partsieve_jobs Jobs in the ledger by state.",
        "# TYPE partsieve_jobs gauge",
        *(f'partsieve_jobs{{state="{state}"}} {counts.get(state, 0)}' for state in _STATES),
        "# HELP partsieve_analysis_seconds Seconds that the analyses of the ended jobs took.",
        "# TYPE partsieve_analysis_seconds summary",
        f"partsieve_analysis_seconds_sum {seconds or 0.0:.3f}",
        f"partsieve_analysis_seconds_count {number}",
    ]
    return Response("\n".join(lines) + "\n", media_type="text/plain; version=0.0.4; charset=utf-8")


@router.get("/api/overview", dependencies=[Depends(may("read"))], responses=responses(401, 403))
def overview(request: Request) -> Overview:
    """Count the jobs in each state, and name what they can be filtered and judged by."""
    service = service_of(request)
    shops, policies = ([each.name for each in service.registry.files(kind)] for kind in ("shop", "policy"))
    return Overview(
        states=service.ledger.counts(),
        materials=materials(service.ledger),
        shops=shops,
        policies=policies,
        workers_here=0 if service.setup.broker else service.setup.workers,
    )


@router.get(
    "/api/events",
    dependencies=[Depends(may("read"))],
    response_class=StreamingResponse,
    responses={
        200: {"description": "Server-sent events", "content": {"text/event-stream": {}}},
        **responses(401, 403, 422),
    },
)
async def events(
    request: Request, last_event_id: Annotated[str | None, Header(max_length=20, pattern=r"^\d+$")] = None
) -> StreamingResponse:
    """Stream every change of a job as it is seen (server-sent events); a reader that comes back misses nothing."""
    service = service_of(request)
    ledger = service.ledger
    since = int(last_event_id) if last_event_id else await asyncio.to_thread(_newest, ledger)
    return StreamingResponse(_changes(request, service, since), media_type="text/event-stream")


async def _changes(request: Request, service: Service, since: int) -> AsyncIterator[str]:
    silence = 0.0
    yield "retry: 2000\n\n"
    while not service.ending and not await request.is_disconnected():
        changed = await asyncio.to_thread(_changed, service.ledger, since)
        for entry in changed:
            since = max(since, entry.touched)
            yield f"id: {entry.touched}\nevent: job\ndata: {json.dumps(Job.of(entry).model_dump())}\n\n"
        silence = 0.0 if changed else silence + LOOK_S
        if silence >= SILENCE_S:
            silence = 0.0
            yield ": still there\n\n"
        await asyncio.sleep(LOOK_S)


def _newest(ledger: Ledger) -> int:
    with ledger.look() as connection:
        return int(connection.execute(select(func.coalesce(func.max(JOBS.c.touched), 0))).scalar_one())


def _changed(ledger: Ledger, since: int) -> list[Entry]:
    return ledger.select(select(JOBS).where(JOBS.c.touched > since).order_by(JOBS.c.touched, JOBS.c.number))
