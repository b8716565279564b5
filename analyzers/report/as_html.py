"""The report as one HTML file: opens from disk, needs no network, and runs nothing that it does not carry itself.

Everything from outside passes through Jinja's autoescape; a content security policy (W3C CSP Level 3) allows only the
style sheet and the script whose hashes it names, and pictures that are part of the file.
"""

import base64
import hashlib
import sys
import zlib
from contextlib import suppress
from functools import cache, lru_cache
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path

from jinja2 import Environment, FileSystemBytecodeCache, PackageLoader, StrictUndefined
from jinja2.bccache import Bucket
from markupsafe import Markup, escape

from analyzers.model.report import Body, Report
from analyzers.report import german, quantity, words
from analyzers.report.cautions import CAUTIONS
from analyzers.report.line_art import layers
from analyzers.report.page import BodyView, page_view
from analyzers.report.palette import Hatch
from analyzers.report.solid import viewer_code
from analyzers.report.text import LONG, capital, clean, plural, visible
from analyzers.settings import Settings
from analyzers.units import duration_text

_MOST_IDS = 12
_THIN_SHOWN = 6


def to_html(report: Report, settings: Settings | None = None) -> str:
    """Return the whole page as text; pictures are drawn from the parts' meshes, and turn where WebGL is to be had.

    `settings` are those it was judged by: charts hold the part against the shop's cutters, and questions are asked in
    both languages; without them the charts show the part alone and the questions are English.
    """
    style, script = asset("style.css"), asset("names.js") + asset("script.js")
    viewer = viewer_code() if report.bodies else None
    template = environment().get_template("page.html.j2")
    return template.render(
        page=page_view(report, viewer is not None, settings),
        cautions=CAUTIONS,
        style=Markup(style),  # noqa: S704  # our own file
        script=Markup(script),  # noqa: S704  # our own file
        viewer=_packed(viewer) if viewer else None,
        policy=policy((style,), (script, viewer) if viewer else (script,)),
    )


def make_ready() -> None:
    """Compile all templates and patterns ahead, for those who print many pages."""
    german.make_ready()
    for name in environment().list_templates(extensions=["j2"]):
        environment().get_template(name)


def policy(styles: tuple[str, ...], scripts: tuple[str, ...], images: str = "data:") -> str:
    """Return the content security policy: nothing but this code, and `images`; by default those in the file."""
    rules = [f"default-src 'none'; img-src {images}; base-uri 'none'; form-action 'none'"]
    for kind, codes in (("style-src", styles), ("script-src", scripts)):
        if codes:  # what is not named is not allowed
            rules.append(" ".join((kind, *(f"'sha256-{_sha256(code)}'" for code in codes))))
    return "; ".join(rules)


@cache
def _packed(code: str) -> Markup:
    """Return code as base64 of zlib data; the page's script unpacks it, and the policy knows it by its hash."""
    return Markup("{}").format(base64.b64encode(zlib.compress(code.encode(), 6)).decode("ascii"))


@lru_cache(maxsize=8)  # the viewer's is the half of a small page's policy
def _sha256(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode("ascii")


@cache
def asset(name: str) -> str:
    """Return a style sheet or script of ours."""
    return (files("analyzers.report") / "templates" / name).read_text(encoding="utf-8")


class _Compiled(FileSystemBytecodeCache):
    """Compiled templates beside their sources, where Python keeps its modules' and on the same terms.

    A process that prints one page spends 0.1 s on compiling, a third of a small part's analysis. Kept is what this
    Jinja made with this file's settings; where nothing can be written, each process compiles.
    """

    def __init__(self) -> None:
        made_by = f"jinja-{version('jinja2')}-{zlib.crc32(Path(__file__).read_bytes()):08x}"
        super().__init__(str(Path(__file__).with_name("templates") / "__pycache__"), f"%s.{made_by}")

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep a compiled template, if that can be."""
        if sys.dont_write_bytecode:
            return
        with suppress(OSError):
            Path(self.directory).mkdir(exist_ok=True)
            super().dump_bytecode(bucket)


@cache
def environment() -> Environment:
    """Return the templates with what they call; everything from outside is escaped."""
    environment = Environment(
        loader=PackageLoader("analyzers.report"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_visible,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,  # a process does not look at each page whether its templates have changed
        bytecode_cache=_Compiled(),
    )
    environment.filters["side"] = words.side
    environment.globals.update(
        THIN_SHOWN=_THIN_SHOWN,
        box=quantity.box,
        capital=capital,
        clean=clean,
        hatch=_hatch,
        layers=layers,
        ids=_ids,
        place=quantity.place,
        rough=quantity.rough,
        length=quantity.length,
        plural=plural,
        sections=_sections,
        counted=german.count,
        in_german=german.in_german,
        t=german.word,
        named=german.named,
        spoken=german.spoken,
        sentence=_sentence,
        time=duration_text,
        wall=words.WALL,
    )
    return environment


def _visible(value: object) -> object:
    """Return plain text without invisible characters: the last gate, for whatever was not cleaned before."""
    return visible(value) if type(value) is str else value


def _sentence(text: str) -> Markup:
    return german.sentence(clean(text, LONG))


def _ids(features: tuple[str, ...]) -> Markup:
    """Return the first ids and how many more there are."""
    more = len(features) - _MOST_IDS
    rest = Markup(" ") + german.word(f"and {more} more") if more > 0 else Markup()
    return escape(", ".join(features[:_MOST_IDS])) + rest


def _sections(view: BodyView) -> list[tuple[str, str, int]]:
    """Return anchor, name and number of entries of each section of a body."""
    body: Body = view.body
    return [
        ("unmade", "Not makeable", len(body.plan.unmade)),
        ("findings", "Findings", len(body.findings)),
        ("questions", "Questions", len(body.questions)),
        ("holes", "Holes", sum(row.quantity for row in view.holes)),
        ("recesses", "Pockets", sum(row.quantity for row in view.recesses)),
        ("rounds", "Radii", sum(row.quantity for row in view.rounds)),
        ("thin", "Thin places", len(body.facts.walls)),
        ("setups", "Setups", len(body.plan.setups)),
    ]


_STROKES: dict[Hatch, str] = {
    "none": "",
    "rising": "M-2 10 10-2M2 18 20 0M12 20 28 4",
    "falling": "M-2 4 14 20M4-2 26 20M16-2 30 12",
    "level": "M0 4H26M0 12H26",
    "upright": "M6 0V16M14 0V16M22 0V16",
    "cross": "M-2 10 10-2M2 18 20 0M12 20 28 4M-2 4 14 20M4-2 26 20M16-2 30 12",
    "grid": "M0 4H26M0 12H26M6 0V16M14 0V16M22 0V16",
    "dots": "M4 4h2M12 4h2M20 4h2M8 11h2M16 11h2",
}


def _hatch(hatch: Hatch) -> Markup:
    """Return the hatching of a legend's swatch, 26 x 16 pixels."""
    path = _STROKES[hatch]
    return Markup('<path d="{}" fill="none" stroke="#1b222c" stroke-opacity=".55"/>').format(path) if path else Markup()
