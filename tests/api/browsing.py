"""The service's page in a real browser."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

from playwright.sync_api import Page, expect, sync_playwright

from tests.api.serving import Server
from tests.report._chromium import CHROMIUM

MINUTE_MS: Final = 60_000
OFFICE: Final[dict[str, Any]] = {"viewport": {"width": 1400, "height": 900}}
TABLET: Final[dict[str, Any]] = {"viewport": {"width": 768, "height": 1024}, "has_touch": True, "is_mobile": True}


@contextmanager
def browser(server: Server, expected: str | None = None, **screen: Any) -> Iterator[Page]:
    """Open the list; whatever the page complains of unexpectedly, or asks of another machine, fails the test.

    `screen` says what differs from an office's: Playwright's options of a context.
    """
    wrong: list[str] = []
    with sync_playwright() as play:
        chromium = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        context = chromium.new_context(**{**OFFICE, "accept_downloads": True, **screen})
        context.grant_permissions(["clipboard-read", "clipboard-write"], origin=server.url)
        page = context.new_page()
        page.on("console", lambda message: wrong.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("request", lambda request: wrong.append(request.url) if not _own(request.url, server) else None)
        page.on("dialog", lambda dialog: dialog.accept() if dialog.type == "confirm" else wrong.append(dialog.message))
        page.goto(server.url)
        try:
            yield page
        finally:
            chromium.close()
    assert [each for each in wrong if expected is None or expected not in each] == []


def _own(address: str, server: Server) -> bool:
    return address.startswith((server.url, "data:", "blob:"))


def names(page: Page) -> list[str]:
    """Return the file names in the order of the list."""
    return page.locator("tbody td.part > :first-child").all_inner_texts()


def all_ready(page: Page, number: int) -> None:
    """Wait until so many parts are ready, without anybody pressing anything."""
    expect(page.locator("tr[data-state=done]")).to_have_count(number, timeout=2 * MINUTE_MS)
