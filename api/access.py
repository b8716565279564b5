"""Who may do what: bearer tokens with scopes, once there are any; before, only callers on this machine."""

from collections.abc import Callable
from http import HTTPStatus
from typing import Annotated

from fastapi import Depends, HTTPException, Request
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer

from worker.registry import Scope
from worker.service import Service

_BEARER = HTTPBearer(auto_error=False, description="A token of `partsieve token`; none is needed while there are none.")


def service_of(request: Request) -> Service:
    """Return the service behind the application."""
    service: Service = request.app.state.service
    return service


def may(scope: Scope) -> Callable[..., None]:
    """Return a dependency that lets a request pass whose token has the scope."""

    def check(request: Request, given: Annotated[HTTPAuthorizationCredentials | None, Depends(_BEARER)]) -> None:
        registry = service_of(request).registry
        if not registry.has_tokens():
            return
        if given is None:
            challenge = {"WWW-Authenticate": "Bearer"}
            raise HTTPException(HTTPStatus.UNAUTHORIZED, "a bearer token is needed", challenge)
        if not registry.allows(given.credentials, "read"):
            challenge = {"WWW-Authenticate": 'Bearer error="invalid_token"'}
            raise HTTPException(HTTPStatus.UNAUTHORIZED, "this token is not known", challenge)
        if not registry.allows(given.credentials, scope):
            raise HTTPException(HTTPStatus.FORBIDDEN, f"this token may not {scope}")

    return check
