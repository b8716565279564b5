"""What can be said about one STEP file: recognise, measure, plan, judge. Prints nothing and keeps no global state."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from analyzers.model.report import Report
    from analyzers.settings import Settings


def analyse(path: Path, settings: "Settings", on_stage: Callable[[str], None] | None = None) -> "Report":
    """Return the whole answer about one STEP file; see analyzers.pipeline.analyse.

    The geometry kernel is loaded at the first call, so that importing this package stays quick.
    """
    from analyzers import pipeline

    return pipeline.analyse(path, settings, on_stage)
