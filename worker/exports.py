"""What the child writes beside the report when asked for: workbook, feature list, glTF, marked STEP."""

import logging
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import get_args

from analyzers.model.source import Problem
from analyzers.pipeline import Analysis
from analyzers.report.as_csv import features_csv
from analyzers.report.as_json import to_json
from worker.export_kinds import FILE_OF, STAGE, Export
from worker.store import write_whole

log = logging.getLogger(__name__)


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
