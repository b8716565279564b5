"""The report as PDF, printed by the machine's Chromium: outside the child, whose memory limit is too small."""

import logging
import os
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Final

from analyzers.model.source import Problem
from worker.export_kinds import FILE_OF, STAGE
from worker.store import PAGE

log = logging.getLogger(__name__)

_PDF_SECONDS: Final = 120
_BROWSERS: Final = ("chromium", "chromium-browser", "google-chrome", "chrome")


def print_pdf(folder: Path) -> Problem | None:
    """Print the folder's report.html to PDF with the machine's Chromium; return a problem where that failed.

    The browser reads that one file and nothing else: the page forbids itself all addresses.
    """
    target = folder / FILE_OF["pdf"]
    target.unlink(missing_ok=True)
    named = os.environ.get("PARTSIEVE_CHROMIUM")
    browser = named or next((path for name in _BROWSERS if (path := shutil.which(name))), None)
    if browser is None:
        expected = f"expected one of {', '.join(_BROWSERS)} on the PATH, or its path in PARTSIEVE_CHROMIUM"
        return Problem(STAGE, f"{target.name} could not be made: found no browser to print with; {expected}")
    with tempfile.TemporaryDirectory() as profile:
        command = [
            browser, "--headless", "--disable-gpu", "--no-pdf-header-footer", "--virtual-time-budget=5000",
            f"--user-data-dir={profile}", f"--print-to-pdf={target}", (folder / PAGE).absolute().as_uri(),
        ]  # fmt: skip
        if os.geteuid() == 0:
            command.insert(1, "--no-sandbox")  # Chromium refuses to start as root with it
        try:
            done = subprocess.run(command, capture_output=True, text=True, timeout=_PDF_SECONDS, check=False)
        except (OSError, subprocess.TimeoutExpired) as error:
            return Problem(STAGE, f"{target.name} could not be made: {error}")
    if done.returncode or not target.is_file():
        log.warning("%s: %s", target, done.stderr)
        last = (done.stderr.strip().splitlines() or ["it left no word why"])[-1]
        return Problem(STAGE, f"{target.name} could not be made: {Path(browser).name}: {last}")
    return None
