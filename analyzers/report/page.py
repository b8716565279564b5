"""What the page says, ready for the template: words, rows and pictures, no judgement of its own."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from markupsafe import Markup

from analyzers.model.arrays import Floats
from analyzers.model.finding import LEVELS, Level
from analyzers.model.report import Body, Report
from analyzers.model.source import Source
from analyzers.plan import drawn_in
from analyzers.report import german, quantity, tables, words
from analyzers.report.callouts import GUTTER, Marker, mark
from analyzers.report.charts import Chart, charts
from analyzers.report.health_view import HealthView, health_view
from analyzers.report.line_art import layers, line_art, order
from analyzers.report.palette import LOOKS, Look
from analyzers.report.pictures import Picture, corner_normals, draw
from analyzers.report.remarks import (
    FindingRow,
    Matter,
    UnmadeRow,
    bucket_reason,
    finding_places,
    finding_rows,
    matters,
    thin_places,
    unmade_rows,
)
from analyzers.report.sheet import SheetView, sheet
from analyzers.report.solid import solid_text
from analyzers.report.text import LONG, capital, clean, plural
from analyzers.report.views import best_corner, seen_along
from analyzers.settings import Settings
from analyzers.triage import Question, ask_about
from analyzers.units import duration_range_text, duration_text

_NO_NAME = re.compile(r"open cascade step translator|unnamed|untitled|no.?name|part ?\d*$", re.IGNORECASE)
"""Product names that translators write where there is none."""
SETUP_PX = (200, 150)
"""Size of a setup's picture."""
SIDES = 3
"""Directions that the first screen names."""
GRAIN = 4
"""Pixels across one cell of the tint below a line drawing: lines carry the detail, the tint only says which class."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture with its markers."""

    name: str
    picture: Picture
    markers: tuple[Marker, ...]
    alt: str
    alt_german: str
    lines: Markup  # drawn over the picture; empty = the picture has its own

    @property
    def width(self) -> int:
        """Width of the drawing area in pixels, with the margins that carry labels."""
        return self.picture.width + 2 * self.gutter

    @property
    def gutter(self) -> int:
        """Margin on each side."""
        return GUTTER if self.markers else 0


@dataclass(frozen=True, slots=True)
class Asked:
    """A question as the page shows it, and what it is about."""

    text: Markup
    about: Question


@dataclass(frozen=True, slots=True)
class BodyView:
    """One body as the template shows it."""

    body: Body
    name: str
    process: str
    counts: str
    summary: Markup
    reason: FindingRow | None  # the finding that the summary is made of
    directions: Markup
    unmade: tuple[UnmadeRow, ...]
    bucket_word: str
    bucket_means: str
    minutes: str
    likely: str
    matters: tuple[Matter, ...]
    findings: tuple[FindingRow, ...]
    by_level: tuple[tuple[Level, str, int], ...]
    main: Figure
    views: tuple[SheetView, ...]
    legend: tuple[tuple[str, Look, int], ...]
    holes: tuple[tables.FeatureRow, ...]
    hole_heads: tuple[str, ...]
    recesses: tuple[tables.FeatureRow, ...]
    rounds: tuple[tables.FeatureRow, ...]
    others: tuple[tables.FeatureRow, ...]
    missing: tuple[Markup, ...]
    setup_pictures: tuple[Markup, ...]  # one for each setup, as data addresses
    charts: tuple[Chart, ...]
    questions: tuple[Asked, ...]
    health: tuple[str, ...]
    solid: Markup | None  # what the viewer needs; None = the page has no viewer


def body_view(body: Body, source: Source, with_viewer: bool = False, settings: Settings | None = None) -> BodyView:
    """Return everything that the page says about one body; `settings` are those it was judged by."""
    findings = tuple(finding_rows(body))
    numbers: dict[str, tuple[int, ...]] = {}
    for row in findings:
        for feature in row.features:
            numbers[feature] = (*numbers.get(feature, ()), row.number)
    facts, triage, part = body.facts, body.triage, body.facts.part
    places = [*finding_places(body, findings), *thin_places(body, findings)]
    normals = corner_normals(part)
    main, lines = _main(body, normals)
    markers = tuple(mark(main, places))
    holes = tables.hole_chart(body, numbers, drawn_in(facts, source.length_unit))
    recesses = tables.recesses(body, numbers)
    alt, alt_german = _alts(body, main.view.name)
    minutes = triage.machining_minutes
    counts = {level: sum(each.level == level for each in body.findings) for level in LEVELS}
    return BodyView(
        body=body,
        name=clean(part.name) or body.id,
        process=words.PROCESS[facts.made_by.process],
        counts=tables.feature_counts(body),
        summary=_summary(body),
        reason=bucket_reason(body, findings),
        directions=_directions(body),
        bucket_word=words.BUCKET[triage.bucket],
        bucket_means=words.BUCKET_MEANS[triage.bucket],
        minutes=duration_range_text(minutes.low, minutes.high),
        likely=duration_text(minutes.likely),
        matters=tuple(matters(body, findings)),
        unmade=tuple(unmade_rows(body)),
        findings=findings,
        by_level=tuple((level, plural(count, level), count) for level, count in counts.items() if count),
        main=Figure(main.view.name, main, markers, alt, alt_german, lines),
        views=tuple(sheet(body, holes, main)),
        legend=tuple(_legend(body)),
        holes=tuple(holes),
        hole_heads=tuple(tables.hole_heads(facts)),
        recesses=tuple(recesses),
        setup_pictures=tuple(_setup_pictures(body, normals)),
        charts=tuple(charts(body, holes, recesses, settings.shop.cutters if settings else ())),
        questions=tuple(_questions(body, source, settings)),
        rounds=tuple(tables.rounds(body, numbers)),
        others=tuple(tables.others(body, numbers)),
        missing=tuple(_missing(body)),
        health=tuple(_health(body)),
        solid=_solid(body, main, markers, findings) if with_viewer else None,
    )


def _summary(body: Body) -> Markup:
    """Return the reason for the bucket, without the bucket's name where it begins with it: that stands beside."""
    said = clean(body.triage.summary, LONG)
    return german.sentence(capital(said.removeprefix(words.BUCKET[body.triage.bucket] + ": ")))


def _directions(body: Body) -> Markup:
    """Return from where the cutter comes, the first few sides."""
    sides = list(dict.fromkeys(words.side(each.direction) for each in body.plan.setups))
    more = len(sides) - SIDES
    rest = Markup(" ") + german.sentence(f"and {more} more") if more > 0 else Markup()
    return german.listed(sides[:SIDES]) + rest


def _questions(body: Body, source: Source, settings: Settings | None) -> Iterable[Asked]:
    """Return the questions; in both languages and units and with their places where they can be asked anew."""
    if settings is None:
        in_inches = drawn_in(body.facts, source.length_unit) == "inch"
        shown = quantity.symbols if in_inches else quantity.sentence
        return [Asked(shown(clean(each, LONG)), Question("")) for each in body.questions]

    def asked(language: str) -> Iterable[tuple[Markup, Question]]:
        in_mm = ask_about(body.facts, body.plan, body.findings, source, settings, language, "mm")
        in_inches = ask_about(body.facts, body.plan, body.findings, source, settings, language, "inch")
        for mm, inch in zip(in_mm, in_inches, strict=True):
            yield quantity.both(clean(mm.text, LONG), clean(inch.text, LONG)), mm

    pairs = zip(asked("en"), asked("de"), strict=True)
    return [Asked(german.two(english, other), about) for (english, about), (other, _) in pairs]


def _solid(body: Body, main: Picture, markers: Iterable[Marker], findings: Iterable[FindingRow]) -> Markup:
    about = [
        {
            "number": row.number,
            "word": row.level_word,
            "anchor": row.anchor,
            "faces": row.faces,
            "features": row.features,
        }
        for row in findings
    ]
    return Markup(solid_text(body, main.view.out, markers, about))  # noqa: S704  # escaped for a script element


def _main(body: Body, normals: Floats) -> tuple[Picture, Markup]:
    """Return the isometric picture: a coarse tint with a line drawing over it, or without one a fine tint with ink."""
    isometric, _ = order(body.drawings)
    if isometric is None:
        return draw(body.facts, best_corner(body.facts), normals=normals), Markup()
    picture = draw(body.facts, isometric.view, grain=GRAIN, ink=False, normals=normals)
    art = line_art(isometric, picture.width, picture.height, body.facts.part.mesh.point_mm, with_hidden=False)
    return picture, layers(art)


def _setup_pictures(body: Body, normals: Floats) -> Iterable[Markup]:
    """Yield what the spindle sees in each setup; faces of features that are cut there have their class's colour."""
    faces = {each.id: each.faces for each in body.facts.features}
    for setup in body.plan.setups:
        cut = {face for feature in setup.features for face in faces.get(feature, ())}
        face_class = tuple(each if face in cut else "outer" for face, each in enumerate(body.facts.face_class))
        facts = replace(body.facts, face_class=face_class)
        yield draw(facts, seen_along(setup.direction), *SETUP_PX, normals=normals).data_uri()


def _alts(body: Body, view: str) -> tuple[str, str]:
    """Return what to say of the picture where it cannot be seen, in English and in German."""
    name, counts = clean(body.facts.part.name) or body.id, tables.feature_counts(body)
    size = " × ".join(quantity.mm_number(each) for each in body.facts.part.size_mm)
    known = (german.in_german(view) or view, german.in_german(counts) or counts)
    return f"{name}, {view}: {size} mm, {counts}.", f"{name}, {known[0]}: {size} mm, {known[1]}."


def _legend(body: Body) -> Iterable[tuple[str, Look, int]]:
    for face_class, look in LOOKS.items():
        count = body.facts.face_class.count(face_class)
        if count:
            yield face_class, look, count


def _missing(body: Body) -> Iterable[Markup]:
    """Yield a sentence for each place where a patterned or mirrored copy was expected and is not there."""
    for pattern in body.facts.patterns:
        for place, gap in pattern.places():
            where = quantity.place(place)
            members = ", ".join(pattern.features[:6])
            told = Markup(".") if gap is None else german.sentence(f": expected {gap.expected}, found {gap.found}.")
            lead = german.sentence(f"The {pattern.kind} pattern of {members} has no member at x, y, z =")
            yield lead + Markup(" ") + where + told


def _health(body: Body) -> Iterable[str]:
    part = body.facts.part
    yield "The solid is closed." if part.closed else "The shell has open edges: the model is not watertight."
    yield "The kernel finds its geometry valid." if part.valid else "The kernel finds faults in its geometry."
    free = body.facts.face_class.count("freeform")
    yield f"{plural(part.n_faces, 'face')}, {plural(part.n_edges, 'edge')}, {free or 'none'} of the faces free-form."


@dataclass(frozen=True, slots=True)
class PageView:
    """The whole page as the template shows it."""

    report: Report
    title: str
    file_name: str
    bodies: tuple[BodyView, ...]
    problems: tuple[tuple[str, str], ...]  # body or "file", sentence; without what the diagnosis says already
    health: HealthView
    questions: int
    minutes: str  # of all copies of all bodies
    inch: bool  # all bodies were drawn in inches: the page opens in them
    source: tuple[tuple[str, str], ...]


def page_view(report: Report, with_viewer: bool = False, settings: Settings | None = None) -> PageView:
    """Return everything that the page says about a file."""
    source = report.source
    file_name = clean(source.file_name)
    return PageView(
        report=report,
        title=_title(source) or file_name,
        file_name=file_name,
        bodies=tuple(body_view(each, source, with_viewer, settings) for each in report.bodies),
        problems=tuple(
            (each.body or "file", clean(each.message, LONG))
            for each in report.problems
            if not (report.bodies and each.message in {defect.message for defect in report.health.defects})
        ),
        health=health_view(report.health),
        questions=sum(len(each.questions) for each in report.bodies),
        minutes=_minutes_in_all(report.bodies),
        inch=bool(report.bodies) and all(drawn_in(each.facts, source.length_unit) == "inch" for each in report.bodies),
        source=tuple(_source_rows(report)),
    )


def _title(source: Source) -> str:
    """Return the product's name; empty where it only names the program that wrote the file."""
    name = clean(source.product_name or "")
    return "" if _NO_NAME.match(name) else name


def _minutes_in_all(bodies: Iterable[Body]) -> str:
    """Return the machining time of every copy of every body, without setting up."""
    each = [(body.facts.part.count, body.triage.machining_minutes) for body in bodies]
    return duration_range_text(sum(n * time.low for n, time in each), sum(n * time.high for n, time in each))


def _source_rows(report: Report) -> Iterable[tuple[str, str]]:
    source, settings = report.source, report.settings
    rows = {
        "File": source.file_name,
        "Product name": source.product_name,
        "Written by": source.originating_system,
        "Written on": source.time_stamp,
        "STEP schema": source.step_schema,
        "Unit in the file": source.length_unit,
        "Size": f"{source.size_bytes:,} bytes".replace(",", "\u202f"),
        "SHA-256": source.sha256,
        "Shop": settings.shop,
        "Policy": settings.policy,
        "Material": settings.material,
        "Quantity": str(settings.quantity),
        "Settings digest": settings.digest,
        "Analysis took": f"{report.timings_s['total']:.2f} s" if "total" in report.timings_s else None,
    }
    for label, value in rows.items():
        yield label, "not given in the file" if value is None else clean(value, 100)
