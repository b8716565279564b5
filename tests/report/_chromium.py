"""A real browser for the page's tests: opened from disk, without a network."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Page, sync_playwright

CHROMIUM = os.environ.get("PARTSIEVE_CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")

needs_chromium = pytest.mark.skipif(
    CHROMIUM is None, reason="NO BROWSER: install chromium or name it in PARTSIEVE_CHROMIUM; the page is not tested"
)


@contextmanager
def opened(path: Path, width: int = 1400, height: int = 900) -> Iterator[tuple[Page, list[str]]]:
    """Open a page from disk; yield it and the list of what went wrong: console errors, script errors, requests out."""
    wrong: list[str] = []
    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
        )
        context = browser.new_context(viewport={"width": width, "height": height}, offline=True)
        page = context.new_page()
        page.on("console", lambda message: wrong.append(message.text) if message.type in ("error", "warning") else None)
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on(
            "request",
            lambda request: wrong.append(request.url) if not request.url.startswith(("file:", "data:")) else None,
        )
        page.goto(path.as_uri())
        try:
            yield page, wrong
        finally:
            browser.close()
