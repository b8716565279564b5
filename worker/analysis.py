"""What runs in the child: open one model, analyse it, write its report."""

import importlib
import logging
import os
import pkgutil
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path, PurePosixPath
from typing import Any, Final

from PIL import Image

from analyzers import features, measures, rules
from analyzers.errors import UnreadableFile
from analyzers.model.report import Report, Status
from analyzers.model.source import Problem
from analyzers.model.stored import StoredDamaged, restore, stored
from analyzers.pipeline import Analysis, Measured, analyse_file, judge_again
from analyzers.report.as_html import make_ready, to_html
from analyzers.report.as_json import to_json
from analyzers.report.line_art import report_thumbnail
from analyzers.settings import Settings, load_settings
from worker.archive import safe_name, unpack
from worker.child import Tell
from worker.export_kinds import STAGE as EXPORT_STAGE
from worker.exports import write_exports
from worker.failure import unreadable
from worker.job import Job
from worker.parcel import Parcel
from worker.store import THUMBNAIL, rewrite_document, write_bytes, write_document, write_page, write_whole

log = logging.getLogger(__name__)

SAMPLE: Final = Path(__file__).with_name("sample.step")
"""A small plate with pocket, holes and threads (`fixtures/make/parts/lid_plate.py`)."""

PAGE_STAGE: Final = "page"
"""The stage that begins when report.json is written and only the page is left to do."""


def run(values: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Analyse the job's model and write report.json and report.html into its folder.

    Parameters
    ----------
    values : a `Job` as JSON
    tell : gets {"stage": name} as each stage begins

    Returns
    -------
    {"status": complete | partial | unreadable}
    """
    job = Job.from_json(values)
    settings = job.settings()

    def begin(stage: str) -> None:
        tell({"stage": stage})

    analysis = answer(job, settings, begin)
    report, folder = analysis.report, Path(job.out)
    write_document(folder, to_json(report))
    if job.html:
        begin(PAGE_STAGE)
        report = _with_page(analysis, job, settings)
    if job.exports:
        begin(EXPORT_STAGE)
        report = _with_problems(report, write_exports(analysis, folder, job.exports), folder)
    return {"status": report.status}


def answer(job: Job, settings: Settings, begin: Callable[[str], None] = lambda _: None) -> Analysis:
    """Return what is found: from kept facts where there are any, so that other settings cost no new measuring."""
    if job.facts is not None and not job.exports and (kept := _kept(Path(job.facts), job)) is not None:
        return judge_again(kept, settings, begin)
    try:
        path = model_file(job)
    except UnreadableFile as error:
        return Analysis(unreadable(job, settings, str(error)))
    return analyse_file(path, settings, begin)


def _kept(path: Path, job: Job) -> Measured | None:
    """Return what was measured before; None where that is nothing, or damaged. Its seconds are not spent again."""
    if not path.exists():
        return None
    try:
        measured = restore(Measured, path)
    except StoredDamaged as error:
        log.warning("measured anew: %s", error)
        path.unlink(missing_ok=True)
        return None
    name = safe_name(Path(job.member or job.file_name or job.path).name)
    return replace(measured, source=replace(measured.source, file_name=name), timings_s={})


def _keep(analysis: Analysis, drawn: Report, path: Path) -> None:
    """Keep what was measured for other settings; where that fails, it costs them time and nothing else."""
    if analysis.measured is None or path.exists():
        return
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_bytes(path, stored(analysis.measured.drawn_as(drawn)))
    except (OSError, TypeError) as error:
        log.warning("the facts are not kept: %s: %s", type(error).__name__, error)


def pack(values: dict[str, Any], parcel: Parcel) -> dict[str, Any]:
    """Return a job with the paths that hold for the child, its files being put into the child's folder."""
    job = Job.from_json(values)
    packed = replace(
        job,
        path=parcel.give(job.path),
        shop=job.shop and parcel.give(job.shop),
        policy=job.policy and parcel.give(job.policy),
        facts=job.facts and parcel.keep(job.facts),
        out=parcel.collect(job.out),
    )
    return packed.to_json()


def sound(result: dict[str, Any]) -> bool:
    """Return whether nothing was odd about a model, so that its child may take another."""
    return bool(result["status"] == "complete")


def warm_up() -> None:
    """Do ahead, in the process that forks the children, what each of them would otherwise do anew.

    Settings, limits, tables, texts, templates, picture formats: what a sample needs of them is filled in by judging the
    sample and printing its page here. Without this a small part takes a third more processor time. The sample is
    measured in a child: no geometry in this process.
    """
    for package in (features, measures, rules):
        for module in pkgutil.iter_modules(package.__path__, f"{package.__name__}."):
            importlib.import_module(module.name)
    settings = load_settings(known_limits=rules.known_limits())
    Image.init()
    make_ready()
    with tempfile.TemporaryDirectory() as folder:
        facts = Path(folder) / "facts"
        job = Job(name=SAMPLE.name, path=str(SAMPLE), out=folder, facts=str(facts), digest=settings.digest)
        job.settings()
        _in_a_child(lambda: run(job.to_json(), lambda _: None), Path(folder))
        measured = _kept(facts, job)
        if measured is None:
            log.warning("%s could not be measured: every model will take longer", SAMPLE)
            return
        with _on_one_core():
            drawn = judge_again(measured, settings).drawn()
        to_json(drawn)
        to_html(drawn, settings)
        report_thumbnail(drawn)


@contextmanager
def _on_one_core() -> Iterator[None]:
    """Keep the ray caster from starting threads, here and in the children: one for each further core.

    A fork copies no threads, and each worker is meant to use one core.
    """
    cores = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(cores)})
    try:
        yield
    finally:
        os.sched_setaffinity(0, cores)


def _in_a_child(work: Callable[[], object], folder: Path) -> None:
    """Do something in a child of this process, in a folder, and wait for its end."""
    child = os.fork()
    if child == 0:
        try:
            os.chdir(folder)
            work()
        finally:
            os._exit(0)
    os.waitpid(child, 0)


def model_file(job: Job) -> Path:
    """Return the model as a file under the name that the report shall give, in this child's own folder.

    What was there under that name, another revision, goes: a child may make no folders.

    Raises
    ------
    UnreadableFile : the archive's member cannot be unpacked
    """
    if job.member is not None:
        _free(PurePosixPath(job.member).name)
        return unpack(Path(job.path), job.member, Path.cwd())
    if job.file_name is None:
        return Path(job.path)
    link = _free(job.file_name)
    link.symlink_to(job.path)
    return link


def _free(name: str) -> Path:
    """Return the place in this child's own folder for a file of that name, with nothing there."""
    place = Path.cwd() / safe_name(name)
    place.unlink(missing_ok=True)
    return place


def _with_page(analysis: Analysis, job: Job, settings: Settings) -> Report:
    """Write the page beside the document; where that fails, the document says so."""
    report, folder = analysis.report, Path(job.out)
    try:
        drawn = analysis.drawn()
        page = to_html(drawn, settings)
    except Exception as error:  # a page that fails costs itself, not the analysis
        log.exception("%s: no page", report.source.file_name)
        problem = Problem(PAGE_STAGE, f"report.html could not be made: {type(error).__name__}: {error}")
        report = _with_problems(report, [problem], folder)
    else:
        write_page(folder, page)
        if picture := report_thumbnail(drawn):
            write_whole(folder / THUMBNAIL, picture)
        if job.facts is not None:
            _keep(analysis, drawn, Path(job.facts))
    return report


def _with_problems(report: Report, problems: Sequence[Problem], folder: Path) -> Report:
    """Return the report with further problems, and write it anew where there are any."""
    if not problems:
        return report
    status: Status = "unreadable" if report.status == "unreadable" else "partial"
    report = replace(report, status=status, problems=(*report.problems, *problems))
    rewrite_document(folder, to_json(report))
    return report
