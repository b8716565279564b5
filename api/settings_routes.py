"""Shop and policy files over HTTP: sent in under a name, checked before they are kept."""

from http import HTTPStatus
from typing import Literal

from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import FileResponse

from analyzers.errors import SettingsError
from analyzers.rules import known_limits
from analyzers.settings import check_policy, check_shop
from api.access import may, service_of
from api.problems import responses
from api.schemas import Name, Settings, SettingsList
from api.upload import receive
from worker.registry import Kind
from worker.service import Service

router = APIRouter(prefix="/api/settings", tags=["settings"])

MOST_BYTES = 4 << 20


@router.get("/{kind}", dependencies=[Depends(may("read"))], responses=responses(401, 403, 422))
def list_files(request: Request, kind: Literal["shop", "policy"]) -> SettingsList:
    """List the named files of a kind."""
    files = service_of(request).registry.files(kind)
    return SettingsList(files=[Settings.of(each) for each in files])


@router.put(
    "/{kind}/{name}",
    dependencies=[Depends(may("admin"))],
    responses=responses(401, 403, 408, 413, 422),
    openapi_extra={"requestBody": {"required": True, "content": {"application/toml": {}}}},
)
async def put_file(request: Request, kind: Literal["shop", "policy"], name: Name) -> Settings:
    """Keep a TOML file under a name; one with mistakes is refused, each mistake on a line of the detail."""
    service = service_of(request)
    kept = await receive(request, MOST_BYTES, service.intake.keep_settings)
    check = check_shop if kind == "shop" else check_policy
    if mistakes := check(kept.path, known_limits()):
        raise SettingsError("\n".join(each.replace(kept.path.name, name, 1) for each in mistakes))
    return Settings.of(service.registry.put(kind, name, kept.digest))


@router.get(
    "/{kind}/{name}",
    dependencies=[Depends(may("read"))],
    response_class=FileResponse,
    responses={200: {"description": "The file", "content": {"application/toml": {}}}, **responses(401, 403, 404, 422)},
)
def get_file(request: Request, kind: Literal["shop", "policy"], name: Name) -> FileResponse:
    """Get a named file."""
    service = service_of(request)
    digest = service.registry.digest(kind, name)
    if digest is None:
        raise HTTPException(HTTPStatus.NOT_FOUND, f"there is no {kind} of that name")
    return FileResponse(service.state.storage.fetch(service.state.path(digest)), media_type="application/toml")


def named_digest(service: Service, kind: Kind, name: str | None) -> str | None:
    """Return the digest of a named file; None for None.

    Raises
    ------
    SettingsError : there is none of that name
    """
    if name is None:
        return None
    digest = service.registry.digest(kind, name)
    if digest is None:
        raise SettingsError(f"query.{kind}: found {name!r}; expected the name of a {kind} file that was sent in")
    return digest
