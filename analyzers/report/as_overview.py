"""The batch as one page: the hardest first, with pictures, filters, totals, equal and nearly equal parts together."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import quote

from markupsafe import Markup

from analyzers.model.triage import Bucket
from analyzers.report import german, quantity, words
from analyzers.report.as_html import asset, environment, policy
from analyzers.report.cautions import CAUTIONS
from analyzers.report.kinship import Kin, kinship
from analyzers.report.rows import Document
from analyzers.report.text import LONG, capital, clean
from analyzers.units import duration_text

_RANK: Final = {"not_as_modelled": 3, "demanding": 2, "involved": 1, "routine": 0}


@dataclass(frozen=True, slots=True)
class Entry:
    """One report of the batch: its document, and where page and picture lie beside the overview; None = not there."""

    document: Document
    page: str | None
    picture: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One file as the page shows it."""

    number: int
    name: str
    page: str | None
    picture: str | None
    bucket: Bucket | None
    bucket_word: str
    difficulty: float | None
    minutes: float
    setups: int | None
    levels: tuple[tuple[str, int], ...]
    questions: int
    pieces: int
    size: Markup
    why: Markup
    kin: Markup
    twin: bool  # the same part as one above

    @property
    def search(self) -> str:
        """What the search field looks in."""
        return self.name.lower()


def to_overview(entries: Sequence[Entry], title: str) -> str:
    """Return the page; reports that could not be made come first, then the hardest, twins below their first."""
    ranked = sorted(entries, key=_order)
    kin = kinship([each.document for each in ranked])
    names = [clean(each.document["source"]["file_name"]) for each in ranked]
    lines = [_line(at, each, names, kin[at]) for at, each in enumerate(ranked)]
    style, script = asset("style.css"), asset("names.js") + asset("batch.js")
    counts = {word: sum(line.bucket == key for line in lines) for key, word in words.BUCKET.items()}
    return environment().get_template("batch.html.j2").render(
        title=clean(title),
        inch={each["drawn_in"] for entry in ranked for each in entry.document["bodies"]} == {"inch"},
        lines=_grouped(lines, kin),
        counts=counts,
        unread=sum(line.bucket is None for line in lines),
        minutes=duration_text(sum(line.minutes for line in lines if line.bucket)),
        pieces=sum(line.pieces for line in lines),
        questions=sum(line.questions for line in lines),
        distinct=sum(not line.twin for line in lines),
        buckets=tuple(words.BUCKET.items()),
        cautions=CAUTIONS,
        style=Markup(style),  # noqa: S704  # our own file
        script=Markup(script),  # noqa: S704  # our own file
        policy=policy((style,), (script,), images="'self' file: data:"),
    )  # fmt: skip


def _order(entry: Entry) -> tuple[bool, float, float, str]:
    hardest = _hardest(entry.document)
    if hardest is None:
        return (False, 0.0, 0.0, entry.document["source"]["file_name"])
    triage = hardest["triage"]
    return (True, -_RANK[triage["bucket"]], -triage["difficulty"], entry.document["source"]["file_name"])


def _hardest(document: Document) -> Any:
    bodies = document["bodies"]
    return max(bodies, key=lambda body: (_RANK[body["triage"]["bucket"]], body["triage"]["difficulty"]), default=None)


def _line(number: int, entry: Entry, names: Sequence[str], kin: Kin | None) -> Line:
    document, hardest = entry.document, _hardest(entry.document)
    bodies = document["bodies"]
    levels = [finding["level"] for body in bodies for finding in body["findings"]]
    problem = next((each["message"] for each in document["problems"]), "no solid body in the file")
    problem = problem.removeprefix(f"{document['source']['file_name']}: ")  # the name stands beside it
    bucket: Bucket | None = hardest["triage"]["bucket"] if hardest else None
    word = words.BUCKET[bucket] if bucket else "Not read"
    said = hardest["triage"]["summary"].removeprefix(f"{word}: ") if hardest else problem
    return Line(
        number=number,
        name=names[number],
        page=quote(entry.page) if entry.page else None,
        picture=quote(entry.picture) if entry.picture else None,
        bucket=bucket,
        bucket_word=word,
        difficulty=hardest["triage"]["difficulty"] if hardest else None,
        minutes=sum(body["count"] * (body["triage"]["machining_minutes"]["likely"] or 0.0) for body in bodies),
        setups=max((len(body["setups"]) for body in bodies), default=None),
        levels=tuple((level, levels.count(level)) for level in ("error", "warning", "note") if level in levels),
        questions=sum(len(body["questions"]) for body in bodies),
        pieces=sum(body["count"] for body in bodies),
        size=quantity.box(tuple(hardest["size_mm"])) if hardest else Markup(),
        why=german.sentence(capital(clean(said, LONG))),
        kin=_said(kin, names),
        twin=kin is not None and kin.kind in ("same_file", "same"),
    )


def _said(kin: Kin | None, names: Sequence[str]) -> Markup:
    if kin is None:
        return Markup()
    words_of = {"same_file": "the same file as", "same": "the same part as", "mirrored": "the mirror image of"}
    said = words_of.get(kin.kind, f"nearly the same as ({100 * kin.apart:.1f} % off)")
    return Markup('{} <a href="#part-{}">{}</a>').format(german.word(said), kin.of, names[kin.of])


def _grouped(lines: Sequence[Line], kin: Sequence[Kin | None]) -> Iterable[Line]:
    """Return the lines in their order, each that is like an earlier one directly below the first of its family."""
    first = list(range(len(lines)))
    for at, each in enumerate(kin):
        if each is not None:
            first[at] = first[each.of]
    return [lines[at] for at in sorted(range(len(lines)), key=lambda at: (first[at], at))]
