"""The page for people: the list of parts, two reports side by side, and what they need to be shown."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from http import HTTPStatus
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import FileResponse, HTMLResponse
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from analyzers.report.words import BUCKET
from analyzers.units import duration_text
from api.access import COOKIE, may, service_of
from api.compare_routes import pair_of
from api.problems import responses
from api.schemas import JobId
from worker.ledger import Entry

router = APIRouter(tags=["page"])

_FOLDER: Final = Path(__file__).parent / "pages"
_KINDS: Final = {
    "page.js": "text/javascript",
    "compare.js": "text/javascript",
    "page.css": "text/css",
    "mark.svg": "image/svg+xml",
}
_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; frame-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
_STATES: Final = {
    "waiting": "waits",
    "running": "in work",
    "done": "ready",
    "set_aside": "set aside",
    "cancelled": "cancelled",
}
_TIME: Final = "Likely time a part"
_NONE: Final = "–"
_DAYS_S: Final = 30 * 24 * 3600
_BEARER = HTTPBearer(auto_error=False)


@cache
def _pages() -> Environment:
    return Environment(
        loader=FileSystemLoader(_FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _page(template: str, **values: Any) -> HTMLResponse:
    text = _pages().get_template(template).render(**values)
    return HTMLResponse(text, headers={"Content-Security-Policy": _POLICY, "Cache-Control": "no-store"})


@router.get("/", response_class=HTMLResponse)
def list_page() -> HTMLResponse:
    """Show the list; it asks for a token itself where one is needed."""
    return _page("list.html.j2", buckets=BUCKET, states=_STATES)


@router.get(
    "/assets/{name}",
    response_class=FileResponse,
    responses={200: {"description": "The file", "content": {kind: {} for kind in _KINDS.values()}}, **responses(422)},
)
def asset(name: Literal["page.js", "compare.js", "page.css", "mark.svg"]) -> FileResponse:
    """Get a script of the pages, their styles or mark."""
    return FileResponse(_FOLDER / name, media_type=_KINDS[name], headers={"Cache-Control": "no-cache"})


@router.post(
    "/api/session",
    status_code=HTTPStatus.NO_CONTENT,
    dependencies=[Depends(may("read"))],
    responses=responses(401, 403),
)
def go_in(
    request: Request, response: Response, given: Annotated[HTTPAuthorizationCredentials | None, Depends(_BEARER)]
) -> None:
    """Keep the bearer token in a cookie that no script can read, for the page."""
    if given is not None:
        secure = request.url.scheme == "https"
        response.set_cookie(COOKIE, given.credentials, max_age=_DAYS_S, httponly=True, samesite="strict", secure=secure)


@router.delete("/api/session", status_code=HTTPStatus.NO_CONTENT)
def go_out(response: Response) -> None:
    """Forget the token in the cookie."""
    response.delete_cookie(COOKIE, httponly=True, samesite="strict")


@dataclass(frozen=True, slots=True)
class _Row:
    """One line of the table that sets two parts side by side."""

    what: str
    old: str
    new: str
    change: str

    @property
    def differs(self) -> bool:
        """True where the two are not the same."""
        return self.old != self.new


@dataclass(frozen=True, slots=True)
class _Side:
    id: str
    name: str


@router.get(
    "/compare",
    response_class=HTMLResponse,
    dependencies=[Depends(may("read"))],
    responses=responses(401, 403, 404, 422),
)
def compare_page(request: Request, old: JobId, new: JobId) -> Response:
    """Show two parts side by side: their numbers, what has changed from one to the other, and both reports."""
    pair = pair_of(service_of(request), old, new)
    sides = [_Side(each.id, each.member or each.file_name) for each in pair]
    settings_differ = pair[0].settings_digest != pair[1].settings_digest
    return _page(
        "compare.html.j2", old=sides[0], new=sides[1], rows=list(_rows(*pair)), settings_differ=settings_differ
    )


def _rows(old: Entry, new: Entry) -> Iterator[_Row]:
    first, second = (_told(each) for each in (old, new))
    for what, (value, text) in first.items():
        other, other_text = second[what]
        change = ""
        if text == other_text == _NONE:
            continue
        if isinstance(value, float | int) and isinstance(other, float | int) and text != other_text:
            change = _change(other - value, time=what == _TIME)
        elif text != other_text:
            change = "other"
        yield _Row(what, text, other_text, change)


def _told(entry: Entry) -> dict[str, tuple[Any, str]]:
    """Return each number by its name, with the text that shows it."""
    summary = entry.summary or {}
    size = summary.get("size_mm")
    values = {
        "Sent in": entry.submitted_at[:16].replace("T", " ") + " UTC",
        "Size, mm": " × ".join(f"{each:.4g}" for each in size) if size else None,
        "Material": entry.material_used,
        "Pieces": entry.quantity,
        "Sorted as": BUCKET.get(entry.bucket, entry.bucket) if entry.bucket else None,  # type: ignore[call-overload]
        "Difficulty, 0 to 100": None if entry.difficulty is None else round(entry.difficulty),
        _TIME: entry.minutes,
        "Setups": entry.setups,
        "Smallest inside radius, mm": entry.min_internal_radius_mm,
        "Thinnest wall, mm": summary.get("min_wall_mm"),
        "Errors": summary.get("errors"),
        "Warnings": summary.get("warnings"),
        "Questions": entry.questions,
        "Problem": entry.problem,
    }
    return {what: (value, _text(value, time=what == _TIME)) for what, value in values.items()}


def _text(value: Any, *, time: bool) -> str:
    if value is None:
        return _NONE
    if time:
        return duration_text(value)
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def _change(by: float, *, time: bool) -> str:
    sign = "−" if by < 0 else "+"
    return f"{sign}{duration_text(abs(by)) if time else format(abs(by), '.3g')}"
