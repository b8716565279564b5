"""Whole pages in German: of every text that a reader sees, there is a German one, or it is a name."""

import os
import re
from collections.abc import Collection, Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Final

import pytest

from analyzers.errors import UnreadableFile
from analyzers.pipeline import analyse_file
from analyzers.report.as_html import to_html
from analyzers.report.german import catalogue, spelt
from analyzers.rules import describe_rules
from analyzers.settings import load_settings
from worker.failure import unreadable
from worker.job import Job

ROOT = Path(__file__).parents[2]
PARTS = sorted((ROOT / "fixtures" / "parts").glob("*.step"))
BROKEN = sorted((ROOT / "fixtures" / "broken").glob("*.st*p"))
SHOPS = (None, *sorted((ROOT / "fixtures" / "shops").glob("*.toml")))
CORPUS = Path(os.environ.get("PARTSIEVE_CORPORA", ROOT.parent / "shared" / "corpora")) / "real"
LARGEST_BYTES = 1_500_000
REAL = [each for each in sorted(CORPUS.glob("*.st*p")) if each.stat().st_size <= LARGEST_BYTES][::3][:22]

UNITS: Final = frozenset({"mm", "in", "min", "deg", "socket"})
_VOID: Final = frozenset({"area", "br", "col", "hr", "img", "input", "link", "meta", "source", "wbr"})
_UNSEEN: Final = frozenset({"script", "style", "head", "title"})  # a title in a drawing is shown on pointing only


ENGLISH: Final = frozenset({"the", "is", "are", "of", "and", "with", "from", "than", "which", "each", "by", "has"})
"""Words that no German sentence has, and no name of a shop, machine, cutter or material of the shops below."""


class Texts(HTMLParser):
    """Gathers the texts that stand in no pair of languages and are no names, and those that stand for German."""

    def __init__(self) -> None:
        super().__init__()
        self.bare: list[str] = []
        self.german: list[str] = []
        self._open: list[tuple[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note what opens, and what the texts in it are."""
        if tag in _VOID:
            return
        values = dict(attrs)
        classes = set((values.get("class") or "").split())
        no_text = tag in _UNSEEN or values.get("translate") == "no" or "en" in classes
        self._open.append((tag, "none" if no_text else "german" if "de" in classes else ""))

    def handle_endtag(self, tag: str) -> None:
        """Forget what closes."""
        while self._open and self._open.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        """Keep a text with a word in it."""
        kinds = {kind for _, kind in self._open}
        if "none" not in kinds and set(re.findall(r"(?<![A-Za-z⟨])[A-Za-z]?[a-z]{2,}", data)) - UNITS:
            (self.german if "german" in kinds else self.bare).append(data.strip())


def english_left(html: str, names: Collection[str] = ()) -> list[str]:
    """Return the texts of a page that a reader who has chosen German would see in English, wholly or in part.

    `names` are the shop's own words, which stay as they are.
    """
    parser = Texts()
    parser.feed(html)
    for name in names:
        parser.german = [each.replace(name, "") for each in parser.german]
    mixed = [each for each in parser.german if ENGLISH & set(re.findall(r"\b[a-z]+\b", each))]
    return [each for each in parser.bare if each not in ("English", "Deutsch")] + mixed


def _cases() -> Iterator[object]:
    for number, path in enumerate([*PARTS, *REAL, *BROKEN]):
        yield pytest.param(path, SHOPS[number % len(SHOPS)], id=f"{path.parent.name}-{path.stem}")


@pytest.mark.skipif(len(REAL) < 20, reason="NO CORPUS: the pages of real parts are not read in German")
def test_the_corpus_is_there() -> None:
    """Some twenty real parts are among the pages below."""
    assert len(REAL) >= 20


@pytest.mark.parametrize(("path", "shop_file"), list(_cases()))
def test_every_text_has_german(path: Path, shop_file: Path | None) -> None:
    """Findings, suggestions, what-ifs, questions, reasons, assumptions, problems, headings, units: in pairs."""
    settings = load_settings(shop_file, None, None, 7)
    try:
        report = analyse_file(path, settings).report
    except UnreadableFile as error:
        job = Job(name=path.name, path=str(path), out="", digest=settings.digest)
        report = unreadable(job, settings, str(error))
    shop = settings.shop
    own = [*(each.name for each in shop.machines), *(each.why.rstrip(".") for each in shop.refuses)]
    assert english_left(to_html(report, settings), own) == []


def test_a_text_without_german_is_found() -> None:
    """The check sees a sentence without German, wherever it stands, and a half of one; not names, not pairs."""
    name = '<p translate="no">Three-axis mill</p>'
    pair = '<span class="en" lang="en">Hole</span><span class="de">Bohrung</span>'
    page = f'<main><p>New <b>words</b></p>{name}{pair}<span class="de">Bohrung is deep</span></main>'
    assert english_left(page) == ["New", "words", "Bohrung is deep"]


def test_every_rule_has_german() -> None:
    """Title, what and why of each rule."""
    german = catalogue()["rules"]
    assert {each.name for each in describe_rules()} == german.keys()
    assert all({"title", "what", "why"} == german[each].keys() and all(german[each].values()) for each in german)


def test_choices_go_together() -> None:
    """Each sentence has as many choices in German as in English, or none."""
    for english, german in catalogue()["sentences"].items():
        pairs = list(spelt(english, german))
        assert len({text for text, _ in pairs}) == len(pairs), english
