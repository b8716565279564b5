"""The page in German: what is translated, what stays, and that a reader sees one language at a time."""

import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

from analyzers.pipeline import analyse_file
from analyzers.report import words
from analyzers.report.as_html import to_html
from analyzers.report.cautions import CAUTIONS
from analyzers.report.german import in_german, sentence, word
from analyzers.report.palette import LOOKS
from analyzers.settings import load_settings
from tests.report._chromium import needs_chromium, opened

PARTS = Path(__file__).parents[2] / "fixtures" / "parts"
CATALOGUE = tomllib.loads((files("analyzers.report") / "german.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    ("english", "german"),
    [
        pytest.param("Findings", "Befunde", id="word"),
        pytest.param("1 hole", "1 Bohrung", id="one"),
        pytest.param("12 holes, 2 pockets, 1 boss", "12 Bohrungen, 2 Taschen, 1 Zapfen", id="counted"),
        pytest.param("4 setups", "4 Aufspannungen", id="place"),
        pytest.param("4 setups; 9 cutters.", "4 Aufspannungen; 9 Werkzeuge.", id="list"),
        pytest.param("About 17 min of machine time a part", "Etwa 17 min Maschinenzeit je Teil", id="capital"),
        pytest.param("top (+Z): 2 holes, outer faces", "oben (+Z): 2 Bohrungen, Außenflächen", id="side"),
        pytest.param("side (-X): 1 far end", "seitlich (-X): 1 Gegenende", id="far-end"),
        pytest.param(
            "Hole ⌀6 ↧4 stays unmade: its flat bottom 4 mm down: no flat end mill up to ⌀6 reaches; "
            "a drill point would do.",
            "Bohrung ⌀6 ↧4 ist nicht zu fertigen: der Grund in 4 mm Tiefe (flach): kein Fräser dafür (flach) bis ⌀6 "
            "reicht; eine Bohrspitze würde genügen.",
            id="reason-with-a-semicolon",
        ),
        pytest.param("Say nothing of {the} kind; 4 setups", None, id="a-part-unknown"),
        pytest.param("", None, id="empty"),
    ],
)
def test_texts(english: str, german: str | None) -> None:
    """Words, counted nouns, sentences with places and lists of them."""
    assert in_german(english) == german


def test_every_fixed_word_has_german() -> None:
    """Buckets, levels, kinds of feature and of face, processes, bottoms, walls and every caution."""
    fixed = [
        *words.BUCKET.values(), *words.BUCKET_MEANS.values(), *words.LEVEL.values(), *words.KIND.values(),
        *words.PROCESS.values(), *words.BOTTOM.values(), *words.WALL.values(), *CAUTIONS,
        *(look.word for look in LOOKS.values()),
    ]  # fmt: skip
    assert [each for each in fixed if in_german(each) is None] == []


def test_places_of_a_sentence_are_those_of_its_german() -> None:
    """Each translation uses exactly the places that the English has."""
    for english, german in CATALOGUE["sentences"].items():
        count = next(n for n in range(20) if f"{{{n}}}" not in english)
        assert {n for n in range(20) if f"{{{n}}}" in german} <= set(range(count)), english
        assert german.format(*"abcdefghij"[:count])


def test_names_from_outside_stay_text() -> None:
    """A place that carries markup is escaped in both languages."""
    assert "<script>" not in sentence("<script>alert(1)</script> in all its corners: one end mill does them all.")
    assert "<b>" not in word("<b>")


def test_what_has_no_german_is_shown_once() -> None:
    """An unknown sentence has no language of its own: it is there whichever is chosen."""
    assert 'class="en"' not in sentence("This sentence is not in the catalogue.")


@needs_chromium
def test_reader_sees_one_language_at_a_time(tmp_path: Path) -> None:
    """English first; after the switch headings, findings and questions are German and no English twin is left."""
    settings = load_settings(None, None, None, 1)
    file = tmp_path / "report.html"
    file.write_text(to_html(analyse_file(PARTS / "press_bed.step", settings).drawn(), settings), encoding="utf-8")
    with opened(file) as (page, wrong):
        english = page.inner_text("main")
        assert "Questions to the customer" in english
        assert "Fragen" not in english
        page.click("label[for=lang-de]")
        german = page.inner_text("main")
        for said in ("Fragen an den Kunden", "Das Modell zeigt keine Gewinde", "Worauf es ankommt", "Bohrungstabelle"):
            assert said in german
        for said in ("Questions to the customer", "The model shows no threads", "What matters most", "Hole chart"):
            assert said not in german
        assert wrong == []
