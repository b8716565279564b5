"""The HTTP interface as an application: routes, errors, security headers, health, events."""

from http import HTTPStatus
from importlib.metadata import version
from typing import Final

from fastapi import FastAPI, Request
from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

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

    app.add_middleware(Hardened, rate=rate)
    return app


class Hardened:
    """Turns away who asks too often or comes from another site, and puts the security headers on every other answer.

    Plain ASGI: the framework's own base class for such costs a task group and a queue for each request.
    """

    def __init__(self, app: ASGIApp, rate: Rate) -> None:
        self._app, self._rate = app, rate

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def send_hardened(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        request = Request(scope)
        wait_s = self._rate.wait_s(request.client.host if request.client else "")
        if wait_s:
            many = problems.problem(HTTPStatus.TOO_MANY_REQUESTS, "too many requests", {"Retry-After": str(wait_s)})
            await many(scope, receive, send)
        elif reason := foreign(request):
            await problems.problem(HTTPStatus.FORBIDDEN, reason)(scope, receive, send_hardened)
        else:
            await self._app(scope, receive, send_hardened)
