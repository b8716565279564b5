"""The order of the stages: path → StepFile → Part → features → measures → plan → findings → triage → Report."""

import logging
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from analyzers.errors import AnalysisError, KernelFailure, UnreadableFile
from analyzers.features import recognise
from analyzers.kernel.arrays import read_part
from analyzers.kernel.drawing import draw_lines
from analyzers.kernel.exact import ExactGeometry
from analyzers.kernel.header import read_header
from analyzers.kernel.step_file import LoadedFile, LoadedSolid, load
from analyzers.kernel.twins import same_solid
from analyzers.kernel.write_step import write_marked
from analyzers.measures import take_all
from analyzers.model.drawing import LineDrawing
from analyzers.model.face_mark import FaceMark
from analyzers.model.health import Contents, Defect, Repair
from analyzers.model.part import Part
from analyzers.model.report import Body, Facts, Report, SettingsUsed
from analyzers.model.source import Problem, Source
from analyzers.model.tolerance_note import ToleranceNote
from analyzers.plan import layout_for, make_plan
from analyzers.report.face_marks import face_marks
from analyzers.report.health import diagnose, unusable
from analyzers.report.views import STANDARD_VIEWS, VIEWS_UP_TO, best_corner
from analyzers.rules import Case, judge
from analyzers.settings import Settings
from analyzers.tolerance import MASS_ERROR
from analyzers.triage import sort_out
from analyzers.what_if import try_changes

log = logging.getLogger(__name__)

OnStage = Callable[[str], None]


@dataclass(slots=True)
class _Run:
    """What one analysis gathers on its way: seconds per stage and what could not be done."""

    on_stage: OnStage
    timings_s: dict[str, float] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    defects: list[Defect] = field(default_factory=list)

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        """Time a stage and announce it; times of several bodies add up."""
        self.on_stage(name)
        start = time.perf_counter()
        try:
            yield
        finally:
            self.timings_s[name] = self.timings_s.get(name, 0.0) + time.perf_counter() - start


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredBody:
    """Facts about the `number`-th distinct solid of a file, from 1, and its line drawings, where they were made."""

    number: int
    facts: Facts
    drawings: tuple[LineDrawing, ...] = ()

    @property
    def id(self) -> str:
        """The body's id in the report."""
        return f"B{self.number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """All that is so about one file, whatever the shop. Kept, it can be judged again without its geometry."""

    source: Source
    total: int  # distinct solids in the file, also those that could not be measured
    bodies: tuple[MeasuredBody, ...]
    contents: Contents
    defects: tuple[Defect, ...]
    repairs: tuple[Repair, ...]
    problems: tuple[Problem, ...]
    timings_s: dict[str, float]

    def drawn_as(self, report: Report) -> "Measured":
        """Return the same with the line drawings that a report about it has."""
        drawings = {body.id: body.drawings for body in report.bodies}
        return replace(self, bodies=tuple(replace(each, drawings=drawings.get(each.id, ())) for each in self.bodies))


@dataclass(frozen=True, slots=True)
class Analysis:
    """The report about one file, with the geometry still at hand for what is made only when asked for."""

    report: Report
    measured: Measured | None = None  # None = the file could not be read
    _loaded: LoadedFile | None = None  # None = judged from what was measured before
    _distinct: "Sequence[_Distinct]" = ()  # number i of it is body B(i+1)

    def drawn(self) -> Report:
        """Return the report with line drawings of its bodies; a view that fails is left out and named in the log."""
        if self._loaded is None:
            kept = {each.id: each.drawings for each in self.measured.bodies} if self.measured else {}
            return replace(
                self.report, bodies=tuple(replace(each, drawings=kept[each.id]) for each in self.report.bodies)
            )
        few = len(self.report.bodies) <= VIEWS_UP_TO
        geometry = {f"B{number}": each.geometry for number, each in enumerate(self._distinct, start=1)}
        bodies = tuple(
            replace(each, drawings=_drawings(each.facts, geometry[each.id], few)) for each in self.report.bodies
        )
        return replace(self.report, bodies=bodies)

    def write_step(self, path: Path) -> None:
        """Write the model as AP242 with its faces named and coloured by feature and finding.

        Raises
        ------
        KernelFailure : the file was not read, or OpenCascade could not write it
        """
        if self._loaded is None:
            raise KernelFailure(f"{path.name}: there is no model to write")
        marks: list[tuple[FaceMark, ...]] = [()] * len(self._loaded.solids)
        for body in self.report.bodies:
            for solid in self._distinct[int(body.id.removeprefix("B")) - 1].solids:
                marks[solid] = tuple(face_marks(body))
        write_marked(self._loaded, marks, path)


def _drawings(facts: Facts, geometry: ExactGeometry, all_views: bool) -> tuple[LineDrawing, ...]:
    """Return the drawings of a body, the isometric one first; none, and a line in the log, where it fails."""
    views = (best_corner(facts), *(STANDARD_VIEWS if all_views else ()))
    try:
        return tuple(draw_lines(geometry, views))
    except Exception:
        log.exception("no line drawings")
        return ()


def analyse(path: Path, settings: Settings, on_stage: OnStage | None = None) -> Report:
    """Return the whole answer about one STEP file; see `analyse_file`."""
    return analyse_file(path, settings, on_stage).report


def analyse_file(path: Path, settings: Settings, on_stage: OnStage | None = None) -> Analysis:
    """Return the whole answer about one STEP file, and what is needed to draw it.

    Parameters
    ----------
    path : the file, plain STEP text
    settings : shop, policy, material, quantity
    on_stage : called with each stage's name as it begins

    A file that cannot be read gives a report of status "unreadable"; a stage that fails costs itself and is named in
    `problems`. Nothing that is wrong with the file raises.
    """
    run = _Run(on_stage or (lambda _: None))
    start = time.perf_counter()
    try:
        with run.stage("load"):
            loaded = load(path, repair=settings.repair)
    except AnalysisError as error:
        run.timings_s["total"] = time.perf_counter() - start
        code = getattr(error, "code", "unparsable")
        return Analysis(unreadable(path, settings, str(error), run.timings_s, code))
    run.problems.extend(loaded.problems)
    run.defects.extend(loaded.defects)
    parts = _parts(loaded, run)
    repairs = [*loaded.repairs]
    for number, each in enumerate(parts, start=1):
        run.defects.extend(replace(defect, body=f"B{number}") for defect in each.defects)
        repairs.extend(replace(repair, body=f"B{number}") for repair in each.repairs)
    bodies = tuple(
        MeasuredBody(number=number, facts=facts)
        for number, each in enumerate(parts, start=1)
        if (facts := _facts(f"B{number}", each, run)) is not None
    )
    run.timings_s["total"] = time.perf_counter() - start
    measured = Measured(
        source=loaded.source,
        total=len(parts),
        bodies=bodies,
        contents=loaded.contents,
        defects=tuple(run.defects),
        repairs=tuple(repairs),
        problems=tuple(run.problems),
        timings_s=run.timings_s,
    )
    return Analysis(_judge_all(measured, settings, run.on_stage), measured, loaded, parts)


def judge_again(measured: Measured, settings: Settings, on_stage: OnStage | None = None) -> Analysis:
    """Return the answer about a file that was measured before, by these settings; its geometry is not needed."""
    return Analysis(_judge_all(measured, settings, on_stage or (lambda _: None)), measured)


def _judge_all(measured: Measured, settings: Settings, on_stage: OnStage) -> Report:
    run = _Run(on_stage, dict(measured.timings_s), list(measured.problems), list(measured.defects))
    start = time.perf_counter()
    bodies = tuple(body for each in measured.bodies if (body := _judged(each, measured, settings, run)) is not None)
    run.timings_s["total"] = measured.timings_s.get("total", 0.0) + time.perf_counter() - start
    return Report(
        status="complete" if bodies and not run.problems else "partial",
        source=measured.source,
        settings=_used(settings),
        health=diagnose(measured.contents, run.defects, measured.repairs, bodies),
        problems=tuple(run.problems),
        timings_s=run.timings_s,
        bodies=bodies,
    )


def unreadable(path: Path, settings: Settings, message: str, timings_s: dict[str, float], code: str) -> Report:
    """Return the report about a file that could not be analysed at all, with the reason."""
    try:
        header = read_header(path)
        source = Source(path.name, header.sha256, header.size_bytes, header.step_schema, product_name=header.name)
    except UnreadableFile:
        size = path.stat().st_size if path.is_file() else 0
        source = Source(path.name, "", size)
    return Report(
        status="unreadable",
        source=source,
        settings=_used(settings),
        health=unusable(code, message),
        problems=(Problem("load", message),),
        timings_s=timings_s,
    )


def _used(settings: Settings) -> SettingsUsed:
    return SettingsUsed(
        shop=settings.shop.name,
        policy=settings.policy.name,
        material=settings.material.name,
        quantity=settings.quantity,
        digest=settings.digest,
        repair=settings.repair,
    )


Notes = tuple[ToleranceNote, ...]


@dataclass(frozen=True, slots=True)
class _Distinct:
    """A solid unlike all others of the file; `solids`: places in the file of those with its faces in its order.

    `defects`, `repairs`: of any of its equals.
    """

    part: Part
    geometry: ExactGeometry
    notes: Notes
    solids: tuple[int, ...]
    defects: tuple[Defect, ...]
    repairs: tuple[Repair, ...]

    def repeated(self, part: Part, solid: int, loaded: LoadedSolid) -> "_Distinct":
        """Return the same, having met an equal solid once more."""
        mine = self.part
        alike = bool((mine.face_surface == part.face_surface).all()) and np.allclose(
            mine.face_area_mm2, part.face_area_mm2, rtol=MASS_ERROR
        )
        solids = (*self.solids, solid) if alike else self.solids
        return replace(
            self,
            part=replace(mine, count=mine.count + part.count),
            solids=solids,
            defects=tuple(dict.fromkeys((*self.defects, *loaded.defects))),
            repairs=tuple(dict.fromkeys((*self.repairs, *loaded.repairs))),
        )


def _parts(loaded: LoadedFile, run: _Run) -> list[_Distinct]:
    """Return each distinct solid as arrays with its geometry and what the file says about it.

    Equal solids of equal tolerances are counted, not repeated.
    """
    found: list[_Distinct] = []
    for number, solid in enumerate(loaded.solids):
        part = _read(solid, number + 1, run)
        if part is None:
            continue
        said = sorted(note.callout() for note in solid.tolerances)
        twin = next(
            (
                i
                for i, other in enumerate(found)
                if said == sorted(note.callout() for note in other.notes) and same_solid(other.part, part)
            ),
            None,
        )
        if twin is None:
            geometry = ExactGeometry(solid.shape, part)
            found.append(_Distinct(part, geometry, solid.tolerances, (number,), solid.defects, solid.repairs))
        else:
            found[twin] = found[twin].repeated(part, number, solid)
    return found


def _read(solid: LoadedSolid, number: int, run: _Run) -> Part | None:
    try:
        with run.stage("arrays"):
            return read_part(solid.shape, solid.name or f"solid {number}", solid.count)
    except KernelFailure as error:
        name = solid.name or f"solid {number}"
        run.problems.append(Problem("arrays", str(error), body=name))
        run.defects.append(Defect(code="unreadable_body", message=str(error), body=name))
        return None


@contextmanager
def _contained(body_id: str, run: _Run) -> Iterator[None]:
    """Let a bug in one stage cost this body, never the batch; the traceback is in the log."""
    try:
        yield
    except Exception as error:  # see above
        log.exception("body %s could not be analysed", body_id)
        message = f"the analysis of this body stopped: {type(error).__name__}: {error}"
        run.problems.append(Problem("analyse", message, body=body_id))
        run.defects.append(Defect(code="not_analysed", message=message, body=body_id))


def _facts(body_id: str, solid: _Distinct, run: _Run) -> Facts | None:
    """Return what is so about one solid; None where recognition itself failed."""
    with _contained(body_id, run):
        run.problems.extend(_doubts(body_id, solid.part))
        with run.stage("recognise"):
            facts = replace(recognise(solid.part, solid.geometry), tolerances=solid.notes)
        with run.stage("measure"):
            facts, problems = take_all(facts, solid.geometry)
        run.problems.extend(replace(each, body=body_id) for each in problems)
        return facts
    return None


def _doubts(body_id: str, part: Part) -> Iterator[Problem]:
    """Yield what makes the numbers about a body less than certain."""
    bare = part.n_faces - len(np.unique(part.mesh.triangle_face))
    if bare:
        text = f"{bare} of {part.n_faces} faces could not be triangulated: walls and sight lines there are not measured"
        yield Problem("arrays", text, body=body_id)
    if not part.closed:
        yield Problem("arrays", "the body is not closed: its volume is not known", body=body_id)
    elif part.volume_mm3 < 0:
        yield Problem("arrays", "the solid is inside out: its faces look into the material", body=body_id)


def _judged(body: MeasuredBody, measured: Measured, settings: Settings, run: _Run) -> Body | None:
    """Return facts and judgement about one solid; None where the judgement itself failed."""
    facts = body.facts
    with _contained(body.id, run):
        with run.stage("plan"):
            layout = layout_for(facts, settings)
            plan = make_plan(facts, settings, layout)
        with run.stage("judge"):
            case = Case(
                facts=facts,
                plan=plan,
                settings=settings,
                source=measured.source,
                n_bodies=measured.total,
                number=body.number,
            )
            findings, problems = judge(case)
        with run.stage("what_if"):
            findings, failed = try_changes(case, layout, findings)
        run.problems.extend(replace(each, body=body.id) for each in (*problems, *failed))
        with run.stage("triage"):
            triage, questions = sort_out(facts, plan, findings, measured.source, settings)
        return Body(id=body.id, facts=facts, plan=plan, findings=findings, questions=questions, triage=triage)
    return None
