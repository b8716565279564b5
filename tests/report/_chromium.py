"""A real browser for the page's tests: opened from disk, without a network."""

import importlib.util
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import ConsoleMessage, Page, expect, sync_playwright

ROOT = Path(__file__).parents[2]
CHROMIUM = os.environ.get("PARTSIEVE_CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")

needs_chromium = pytest.mark.skipif(
    CHROMIUM is None, reason="NO BROWSER: install chromium or name it in PARTSIEVE_CHROMIUM; the page is not tested"
)


def _viewer_is_of_this_source() -> bool:
    """Return whether the viewer's script is there and made from the source as it is now."""
    spec = importlib.util.spec_from_file_location("build_viewer", ROOT / "deploy" / "build_viewer.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return bool(module.up_to_date())


needs_viewer = pytest.mark.skipif(
    not _viewer_is_of_this_source(),
    reason="NO VIEWER, or an old one: install the project or run deploy/build_viewer.py; the 3D view is not tested",
)


def _complaint(message: ConsoleMessage) -> bool:
    """Return whether a message is the page's: the drivers of software rendering comment on their own speed."""
    return message.type in ("error", "warning") and "GPU stall" not in message.text


LIVE_MS = 60_000  # software rendering on a busy machine
SOFTWARE = ["--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]


def at_rest(page: Page) -> None:
    """Wait until the viewer has drawn all it was asked for, the camera at rest, and the browser shows that frame."""
    expect(page.locator("figure.live .stage canvas").first).to_have_attribute("aria-busy", "false", timeout=LIVE_MS)
    page.evaluate("() => new Promise((shown) => requestAnimationFrame(() => requestAnimationFrame(shown)))")


@contextmanager
def opened(
    path: Path,
    width: int = 1400,
    height: int = 900,
    webgl: bool = False,
    free_scripts: bool = False,
    touch: bool = False,
) -> Iterator[tuple[Page, list[str]]]:
    """Open a page from disk; yield it and the list of what went wrong: console errors, script errors, requests out.

    With `webgl` the browser draws in software; without it the page gets no 3D context at all. With `free_scripts` the
    page's own policy is set aside, so that a checker may run in it. With `touch` the pointer is a finger.
    """
    wrong: list[str] = []
    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=CHROMIUM,
            args=["--no-sandbox", "--disable-background-networking", *(SOFTWARE if webgl else ["--disable-gpu"])],
        )
        context = browser.new_context(
            viewport={"width": width, "height": height},
            offline=True,
            bypass_csp=free_scripts,
            has_touch=touch,
            is_mobile=touch,
        )
        page = context.new_page()
        if not webgl:
            page.add_init_script("HTMLCanvasElement.prototype.getContext = () => null")
        page.on("console", lambda message: wrong.append(message.text) if _complaint(message) else None)
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
