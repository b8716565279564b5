"""Errors of the HTTP interface as problem documents (RFC 9457, application/problem+json)."""

import logging
from http import HTTPStatus
from typing import Any, Final

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel
from starlette.exceptions import HTTPException
from starlette.routing import Match, Route

from analyzers.errors import SettingsError
from worker.listing import BadCursor
from worker.state import TooLarge
from worker.storage import NotKept, StorageAway

log = logging.getLogger(__name__)

MEDIA_TYPE = "application/problem+json"
_LATER: Final = {"Retry-After": "10"}


class ProblemDocument(BaseModel):
    """What went wrong with a request."""

    type: str = "about:blank"
    title: str
    status: int
    detail: str


def problem(status: int, detail: str, headers: dict[str, str] | None = None) -> JSONResponse:
    """Return a problem document as a response."""
    content = ProblemDocument(title=HTTPStatus(status).phrase, status=status, detail=detail)
    return JSONResponse(content.model_dump(), status, headers, MEDIA_TYPE)


def responses(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """Return the entries for these errors in the OpenAPI document; what may come anywhere need not be named."""
    schema = {"schema": ProblemDocument.model_json_schema()}
    anywhere = (HTTPStatus.TOO_MANY_REQUESTS.value, HTTPStatus.SERVICE_UNAVAILABLE.value)
    return {
        each: {"description": HTTPStatus(each).phrase, "content": {MEDIA_TYPE: schema}}
        for each in dict.fromkeys((*statuses, *anywhere))
    }


def _methods(request: Request) -> set[str]:
    """Return all methods that the address takes; the framework names those of the first route only."""
    return {
        method
        for route in request.app.routes
        if isinstance(route, Route) and route.matches(request.scope)[0] is not Match.NONE
        for method in route.methods or ()
    }


def install(app: FastAPI) -> None:
    """Have all errors of the application answered by problem documents."""

    @app.exception_handler(HTTPException)
    async def http(request: Request, error: HTTPException) -> JSONResponse:
        headers = dict(error.headers or {})
        if error.status_code == HTTPStatus.METHOD_NOT_ALLOWED:
            headers["Allow"] = ", ".join(sorted(_methods(request)))
        return problem(error.status_code, str(error.detail), headers)

    @app.exception_handler(RequestValidationError)
    async def invalid(_: Request, error: RequestValidationError) -> JSONResponse:
        first = error.errors()[0]
        where = ".".join(str(each) for each in first["loc"])
        return problem(HTTPStatus.UNPROCESSABLE_ENTITY, f"{where}: {first['msg']}")

    @app.exception_handler(SettingsError)
    async def settings(_: Request, error: SettingsError) -> JSONResponse:
        return problem(HTTPStatus.UNPROCESSABLE_ENTITY, str(error))

    @app.exception_handler(BadCursor)
    async def cursor(_: Request, error: BadCursor) -> JSONResponse:
        return problem(HTTPStatus.UNPROCESSABLE_ENTITY, f"query.cursor: {error}")

    @app.exception_handler(TooLarge)
    async def large(_: Request, error: TooLarge) -> JSONResponse:
        return problem(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, str(error))

    @app.exception_handler(NotKept)
    async def not_kept(_: Request, error: NotKept) -> JSONResponse:
        return problem(HTTPStatus.NOT_FOUND, str(error))

    @app.exception_handler(StorageAway)
    async def away(request: Request, error: StorageAway) -> JSONResponse:
        log.warning("%s %s: %s", request.method, request.url.path, error)
        return problem(HTTPStatus.SERVICE_UNAVAILABLE, "files cannot be kept or fetched just now", _LATER)

    @app.exception_handler(Exception)
    async def surprise(request: Request, error: Exception) -> JSONResponse:
        log.exception("%s %s", request.method, request.url.path, exc_info=error)
        return problem(HTTPStatus.INTERNAL_SERVER_ERROR, "an error of the service; its log has the details")
