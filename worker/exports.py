"""What is written beside the report when asked for: workbook, feature list, glTF, marked STEP, PDF."""

import logging
import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final, get_args

from analyzers.model.source import Problem
from analyzers.pipeline import Analysis
from analyzers.report.as_csv import features_csv
from analyzers.report.as_json import to_json
from worker.export_kinds import FILE_OF, Export
from worker.store import PAGE, write_whole

log = logging.getLogger(__name__)

STAGE: Final = "export"
_PDF_SECONDS: Final = 120
_BROWSERS: Final = ("chromium", "chromium-browser", "google-chrome", "chrome")


def write_exports(analysis: Analysis, folder: Path, kinds: Sequence[str]) -> list[Problem]:
    """Write each kind into the folder, PDF apart; return a problem for each that could not be written."""
    writers: dict[str, Callable[[Analysis, Path], None]] = {
        "xlsx": _xlsx,
        "csv": lambda each, path: write_whole(path, features_csv([to_json(each.report)])),
        "glb": _glb,
        "step": Analysis.write_step,
    }
    problems = []
    for kind in (each for each in get_args(Export) if each in kinds and each in writers):
        path = folder / FILE_OF[kind]
        path.unlink(missing_ok=True)
        try:
            writers[kind](analysis, path)
        except Exception as error:  # an export that fails costs itself, not the analysis
            log.exception("%s: no %s", analysis.report.source.file_name, path.name)
            problems.append(Problem(STAGE, f"{path.name} could not be made: {error}"))
    return problems


def _xlsx(analysis: Analysis, path: Path) -> None:
    from analyzers.report.as_xlsx import to_xlsx

    path.write_bytes(to_xlsx([to_json(analysis.report)]))


def _glb(analysis: Analysis, path: Path) -> None:
    from analyzers.report.as_glb import to_glb

    path.write_bytes(to_glb(analysis.report))


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
