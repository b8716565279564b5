"""The HTTP interface as an application: routes, errors, security headers, health, events."""

from collections.abc import Awaitable, Callable
from http import HTTPStatus
from importlib.metadata import version
from typing import Final

from fastapi import FastAPI, Request, Response

from api import (
    compare_routes,
    hook_routes,
    job_routes,
    operations,
    page_routes,
    problems,
    report_routes,
    settings_routes,
    shape_routes,
)
from api.access import foreign
from api.rate import Rate
from worker.service import Service

_HEADERS: Final = {
    "Content-Security-Policy": "default-src 'self'; frame-ancestors 'self'; base-uri 'none'; form-action 'self'",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}

Next = Callable[[Request], Awaitable[Response]]


def make_app(service: Service) -> FastAPI:
    """Return the application over a service that somebody else starts and stops."""
    app = FastAPI(
        title="partsieve",
        version=version("partsieve"),
        summary="Screens STEP models for a machine shop. Times are estimates; the shop's own procedures come first.",
        docs_url=None,  # they load scripts from elsewhere
        redoc_url=None,
        openapi_url="/api/openapi.json",
    )
    app.state.service = service
    rate = Rate(service.setup.requests_per_s, int(8 * service.setup.requests_per_s))
    problems.install(app)
    parts = (job_routes, report_routes, compare_routes, shape_routes, settings_routes, hook_routes, operations)
    for part in (*parts, page_routes):
        app.include_router(part.router)
    app.include_router(job_routes.batch)

    @app.middleware("http")
    async def harden(request: Request, call_next: Next) -> Response:
        wait_s = rate.wait_s(request.client.host if request.client else "")
        if wait_s:
            return problems.problem(HTTPStatus.TOO_MANY_REQUESTS, "too many requests", {"Retry-After": str(wait_s)})
        reason = foreign(request)
        response = await call_next(request) if reason is None else problems.problem(HTTPStatus.FORBIDDEN, reason)
        for name, value in _HEADERS.items():
            response.headers.setdefault(name, value)
        return response

    return app
