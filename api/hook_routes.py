"""Addresses that want to hear of ended jobs, over HTTP."""

from http import HTTPStatus
from typing import Annotated
from urllib.parse import urlsplit

from fastapi import APIRouter, Depends, HTTPException, Request
from pydantic import AfterValidator, BaseModel, StringConstraints

from analyzers.errors import SettingsError
from api.access import may, service_of
from api.problems import responses
from api.schemas import JobId

router = APIRouter(prefix="/api/hooks", tags=["hooks"])


def _address(text: str) -> str:
    """Return an address that notices can be sent to; `SettingsError` for anything else."""
    try:
        parts = urlsplit(text)
        fits = parts.scheme in {"http", "https"} and bool(parts.hostname) and parts.username is None
        _ = parts.port
    except ValueError:
        fits = False
    if not fits:
        raise SettingsError("body.url: found no address; expected http://... or https://..., without a user name")
    return text


Url = Annotated[str, StringConstraints(max_length=2000, pattern=r"^https?://[!-~]+$"), AfterValidator(_address)]


class NewHook(BaseModel):
    """Where to send."""

    url: Url


class MadeHook(BaseModel):
    """What was made; the secret is shown this once."""

    id: str
    secret: str


class Hook(BaseModel):
    """One address, and how it stands with it."""

    id: str
    url: str
    made_at: str
    waiting: int
    trouble: str | None


class HookList(BaseModel):
    """All of them."""

    hooks: list[Hook]


@router.post(
    "", status_code=HTTPStatus.CREATED, dependencies=[Depends(may("admin"))], responses=responses(400, 401, 403, 422)
)
def add_hook(request: Request, hook: NewHook) -> MadeHook:
    """Send a notice of each job that ends from now on, signed as the Standard Webhooks specification says."""
    made, secret = service_of(request).hooks.add(hook.url)
    return MadeHook(id=made, secret=secret)


@router.get("", dependencies=[Depends(may("admin"))], responses=responses(401, 403))
def list_hooks(request: Request) -> HookList:
    """List the addresses, with the notices that have not arrived yet."""
    hooks = service_of(request).hooks.all()
    return HookList(
        hooks=[Hook(id=e.id, url=e.url, made_at=e.made_at, waiting=e.waiting, trouble=e.trouble) for e in hooks]
    )


@router.delete(
    "/{hook_id}",
    status_code=HTTPStatus.NO_CONTENT,
    dependencies=[Depends(may("admin"))],
    responses=responses(401, 403, 404, 422),
)
def remove_hook(request: Request, hook_id: JobId) -> None:
    """Send no more notices to an address."""
    if not service_of(request).hooks.remove(hook_id):
        raise HTTPException(HTTPStatus.NOT_FOUND, "there is no such hook")
