"""Who may do what: tokens with scopes, once there are any; before, only callers on this machine.

A token comes as a bearer token, or as the cookie that the page gets for one: out of reach of scripts, and never sent
along when another site sends a visitor's browser here.
"""

import ipaddress
from collections.abc import Callable
from http import HTTPStatus
from typing import Annotated, Final
from urllib.parse import urlsplit

from fastapi import Depends, HTTPException, Request
from fastapi.security import APIKeyCookie, HTTPAuthorizationCredentials, HTTPBearer

from worker.ledger import Entry
from worker.registry import Scope
from worker.service import Service

COOKIE: Final = "partsieve"
_BEARER = HTTPBearer(auto_error=False, description="A token of `partsieve token`; none is needed while there are none.")
_COOKIE = APIKeyCookie(name=COOKIE, auto_error=False, description="The same token, as the page keeps it.")
_SAFE: Final = frozenset({"GET", "HEAD", "OPTIONS"})


def service_of(request: Request) -> Service:
    """Return the service behind the application."""
    service: Service = request.app.state.service
    return service


def entry_of(service: Service, job_id: str) -> Entry:
    """Return a job; 404 where there is none."""
    entry = service.ledger.get(job_id)
    if entry is None:
        raise HTTPException(HTTPStatus.NOT_FOUND, "there is no such job")
    return entry


def may(scope: Scope) -> Callable[..., None]:
    """Return a dependency that lets a request pass whose token has the scope."""

    def check(
        request: Request,
        given: Annotated[HTTPAuthorizationCredentials | None, Depends(_BEARER)],
        kept: Annotated[str | None, Depends(_COOKIE)],
    ) -> None:
        registry = service_of(request).registry
        if not registry.has_tokens():
            return
        token = given.credentials if given is not None else kept
        if token is None:
            challenge = {"WWW-Authenticate": "Bearer"}
            raise HTTPException(HTTPStatus.UNAUTHORIZED, "a token is needed", challenge)
        if not registry.allows(token, "read"):
            challenge = {"WWW-Authenticate": 'Bearer error="invalid_token"'}
            raise HTTPException(HTTPStatus.UNAUTHORIZED, "this token is not known", challenge)
        if not registry.allows(token, scope):
            raise HTTPException(HTTPStatus.FORBIDDEN, f"this token may not {scope}")

    return check


def foreign(request: Request) -> str | None:
    """Return why a request is not this service's own page's or a program's; None where it is.

    A browser that another site has sent here says so (Origin, Sec-Fetch-Site). While there are no tokens, a name that
    is not this machine's in `Host` means that another site's name has been pointed here (DNS rebinding).
    """
    host = request.headers.get("host", "")
    if request.method not in _SAFE:
        origin = request.headers.get("origin")
        if origin is not None and urlsplit(origin).netloc != host:
            return "this request comes from another site"
        if request.headers.get("sec-fetch-site") in {"cross-site", "same-site"}:
            return "this request comes from another site"
    if not _is_local(host) and not service_of(request).registry.has_tokens():
        return "without tokens this service answers only to its own machine's names"
    return None


def _is_local(host: str) -> bool:
    try:
        name = urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return False
    try:
        return name == "localhost" or ipaddress.ip_address(name).is_loopback
    except ValueError:
        return False
