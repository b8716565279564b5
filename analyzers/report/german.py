"""The page's second language: each text is written in English and in German, and the style sheet shows one.

As with units, the reader switches without a script. Numbers, callouts and names stay as they are, and so does the
decimal point, as on the controls of machines. A sentence for which there is no German is shown in English in both.
"""

import re
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any, Final

from markupsafe import Markup, escape

from analyzers.report import quantity
from analyzers.report.text import capital, plural

_SLOT = re.compile(r"\\\{(\d+)([;!]?)\\\}")
_PLACE: Final = {"": "(?:[^;]|;(?! ))+?", ";": ".+?", "!": "(?:[^;(]|;(?! ))+?"}
_CHOICE = re.compile(r"\[([^\[\]|]*(?:\|[^\[\]|]*)+)\]")
_COUNTED = re.compile(r"(no|\d+) ([a-z -]+)")
_SIDE = re.compile(r"(top|bottom|side|at an angle|first chucking|second chucking) \((.+?)\): (.+)")
_SUBJECT = re.compile(
    r"(?:(?P<count>\d+) )?(?P<noun>[A-Za-z][a-z-]*(?: [a-z(][a-z-]*\)?)*)(?P<rest>(?: [^a-z](?:(?![a-z]{2}).)*)?)"
)
_CUTTER = re.compile(r"(?P<size>⌀[\d.]+) (?P<noun>[a-z -]+)(?P<name>(?: \(.+\))?)")
_WORDY = re.compile("[a-z]{2}")
_SENTENCE = re.compile(r"\b(?:the|is|are|of|and|with|from|than|which|no|stays?|has|have)\b")
_NOTED = re.compile(r"(?P<what>[^()]+) \((?P<note>[^()]+)\)")
_PARTS = re.compile(r"(, | and the | and | or | for | to | of )")
_SIDES: Final = {
    "top": "oben",
    "bottom": "unten",
    "side": "seitlich",
    "at an angle": "schräg",
    "first chucking": "erste Einspannung",
    "second chucking": "zweite Einspannung",
}
_BETWEEN: Final = {
    ", ": ", ",
    " and the ": " und ",
    " and ": " und ",
    " or ": " oder ",
    " for ": " für ",
    " to ": " bis ",
    " of ": " von ",
}
_PLURALS: Final = {"bosses": "boss", "bodies": "body", "copies": "copy"}
_REMEMBERED: Final = 4096
"""Texts of which the German is kept: a page says many things more than once, and so does the next."""


@dataclass(frozen=True, slots=True)
class _Sentence:
    """One way to say something: a pattern with places, and a piece of it that every such text holds."""

    pattern: str
    piece: str
    german: str
    names: frozenset[int]  # places that hold a shop's own words


@dataclass(frozen=True, slots=True)
class _German:
    words: dict[str, str]
    nouns: dict[str, tuple[str, str]]
    exact: dict[str, str]
    patterns: dict[str, tuple[_Sentence, ...]]  # by the first word; "" = begins with a place


@cache
def _german() -> _German:
    found = catalogue()
    exact: dict[str, str] = {}
    patterns: dict[str, list[_Sentence]] = {}
    for english, german in (pair for each in found["sentences"].items() for pair in spelt(*each)):
        english, german = english.removesuffix("."), german.removesuffix(".")
        if "{" not in english:
            exact[english] = german
            continue
        spots = re.escape(english).replace(r"!\}", "!\\}")
        places = _SLOT.sub(lambda match: f"(?P<p{match[1]}>{_PLACE[match[2]]})", spots)
        names = frozenset(int(each) for each in re.findall(r"\{(\d+)!\}", english))
        piece = max(re.split(r"\{\d+[;!]?\}", english), key=len)
        first = english.split()[0]
        sentence = _Sentence(places, piece, german, names)
        patterns.setdefault("" if "{" in first else first, []).append(sentence)
    nouns = {english: (one, many) for english, (one, many) in found["nouns"].items()}
    return _German(found["words"], nouns, exact, {first: tuple(each) for first, each in patterns.items()})


@cache
def _compiled(pattern: str) -> re.Pattern[str]:
    """Return a pattern ready for use: all 530 of them take 0.13 s, and a page needs a few dozen."""
    return re.compile(pattern)


def make_ready() -> None:
    """Compile all patterns ahead, for those who print many pages."""
    for sentences in _german().patterns.values():
        for each in sentences:
            _compiled(each.pattern)


@cache
def catalogue() -> dict[str, dict[str, Any]]:
    """Return what the German files hold, put together: words, nouns, sentences, rules."""
    together: dict[str, dict[str, Any]] = {}
    folder = files("analyzers.report")
    for name in sorted(each.name for each in folder.iterdir() if re.fullmatch(r"german\w*\.toml", each.name)):
        for table, entries in tomllib.loads((folder / name).read_text(encoding="utf-8")).items():
            together.setdefault(table, {}).update(entries)
    return together


def spelt(english: str, german: str) -> Iterator[tuple[str, str]]:
    """Yield a sentence for each of its choices: the n-th of all English ones with the n-th of all German ones.

    Examples
    --------
    >>> list(spelt("{0} [is|are] deep", "{0} [ist|sind] tief"))
    [('{0} is deep', '{0} ist tief'), ('{0} are deep', '{0} sind tief')]
    """
    choices = _CHOICE.search(english)
    for number in range(choices[1].count("|") + 1 if choices else 1):
        yield _chosen(english, number), _chosen(german, number)


def _chosen(text: str, number: int) -> str:
    return _CHOICE.sub(lambda match: match[1].split("|")[number], text)


@lru_cache(_REMEMBERED)
def in_german(text: str) -> str | None:
    """Return a text in German; None where there is none.

    A list of parts with semicolons is German where all its parts are.

    Examples
    --------
    >>> in_german("3 setups; about 17 min of machine time a part.")
    '3 Aufspannungen; etwa 17 min Maschinenzeit je Teil.'
    """
    found = _alone(text)
    if found is not None or "; " not in text:
        return found
    end = "." if text.endswith(".") else ""
    parts = _parts(tuple(text.removesuffix(".").split("; ")))
    return None if parts is None else "; ".join(parts) + end


def _parts(texts: tuple[str, ...]) -> list[str] | None:
    """Return the parts of a list in German, each as long as it is known: a sentence may have a semicolon itself."""
    if not texts:
        return []
    for many in range(len(texts), 0, -1):
        first = _alone("; ".join(texts[:many]))
        rest = _parts(texts[many:]) if first is not None else None
        if first is not None and rest is not None:
            return [first, *rest]
    return None


@lru_cache(_REMEMBERED)
def _alone(text: str) -> str | None:
    """Return a text in German that is one part of a list, or none; with its full stop, if it has one."""
    known = _german()
    bare = text.removesuffix(".")
    found = known.words.get(text)
    if found is not None:
        return found
    found = known.words.get(bare) or known.exact.get(bare) or _by_pattern(bare) or _counted(bare) or _side(bare)
    found = found or _subject(bare)
    if found is None and text[:1].isupper() and not text[1:2].isupper():  # part of a list, now at its beginning
        lower = _alone(bare[:1].lower() + bare[1:])
        found = capital(lower) if lower else None
    return found + text[len(bare) :] if found else None


def _by_pattern(text: str) -> str | None:
    patterns = _german().patterns
    first = text.split(maxsplit=1)[0] if text.strip() else ""
    for each in (*patterns.get(first, ()), *patterns.get("", ())):
        if each.piece in text and (match := _compiled(each.pattern).fullmatch(text)):
            places = [match[f"p{number}"] for number in range(len(match.groups()))]
            placed = [place if number in each.names else _placed(place) for number, place in enumerate(places)]
            said_anew = zip(places, placed, strict=True)
            unknown = [old == new and number not in each.names for number, (old, new) in enumerate(said_anew)]
            if any(same and _SENTENCE.search(place) for same, place in zip(unknown, places, strict=True)):
                continue  # another sentence, that only ends or begins like this one
            said = each.german.format(*placed)
            return capital(said) if text[0].isupper() else said
    return None


def _placed(text: str) -> str:
    """Return what stands in a place: words, features and sentences in German, all else as it is."""
    if not _WORDY.search(text):
        return text
    found = _german().words.get(text) or _cutter(text) or _subject(text) or in_german(text)
    if found is not None:
        return found
    parts = _PARTS.split(text)
    if len(parts) == 1:
        noted = _NOTED.fullmatch(text)
        return f"{_placed(noted['what'])} ({_placed(noted['note'])})" if noted else text
    said = [_placed(each) for each in parts[::2]]
    if any(old == new and _WORDY.search(old) for old, new in zip(parts[::2], said, strict=True)):
        return text  # a name, as it seems
    return "".join(each + _BETWEEN.get(sign, "") for each, sign in zip(said, [*parts[1::2], ""], strict=True))


def _cutter(text: str) -> str | None:
    """Return "⌀6 end mill", or that with a name in brackets, in German."""
    match = _CUTTER.fullmatch(text)
    noun = match and _german().words.get(match["noun"])
    return f"{noun} {match['size']}{match['name']}" if match and noun else None


def _subject(text: str) -> str | None:
    """Return features with their callout in German: "Hole ⌀5 ↧30", "8 holes ⌀5 ↧30"."""
    match = _SUBJECT.fullmatch(text)
    noun = match and _noun(match["noun"].lower())
    if not match or noun is None:
        return None
    one = match["count"] == "1" or (match["count"] is None and match["noun"].lower() in _german().nouns)
    said = f"{match['count']} {noun[not one]}" if match["count"] else noun[not one]
    return f"{capital(said) if text[0].isupper() else said}{match['rest']}"


def _counted(text: str) -> str | None:
    """Return "12 holes, 2 pockets" in German."""
    parts = []
    for each in text.split(", "):
        match = _COUNTED.fullmatch(each)
        noun = match and _noun(match[2])
        if not match or noun is None:
            return None
        parts.append(f"{'keine' if match[1] == 'no' else match[1]} {noun[0 if match[1] == '1' else 1]}")
    return ", ".join(parts)


def _noun(english: str) -> tuple[str, str] | None:
    nouns = _german().nouns
    return nouns.get(english) or nouns.get(_singular(english))


def _singular(english: str) -> str:
    head, _, last = english.rpartition(" ")
    return f"{head} {_PLURALS.get(last, last.removesuffix('s'))}".strip()


def _side(text: str) -> str | None:
    """Return for example "top (+Z): 4 holes, outer faces" in German."""
    match = _SIDE.fullmatch(text)
    if not match:
        return None
    parts = [_german().words.get(each) or _counted(each) for each in match[3].split(", ")]
    known = [each for each in parts if each is not None]
    return f"{_SIDES[match[1]]} ({match[2]}): {', '.join(known)}" if len(known) == len(parts) else None


def two(english: Markup, german: Markup) -> Markup:
    """Return HTML that shows one language or the other."""
    return quantity.together(_EN, english, _DE, german, _END)


_EN, _DE = Markup('<span class="en" lang="en">'), Markup('</span><span class="de" lang="de">')
_END = Markup("</span>")


@cache
def word(text: str) -> Markup:
    """Return a word or heading of the page in both languages."""
    german = in_german(text)
    return escape(text) if german is None else two(escape(text), escape(german))


def tspan(text: str) -> Markup:
    """Return a word of a drawing in both languages."""
    return Markup('<tspan class="en">%s</tspan><tspan class="de">%s</tspan>') % (text, in_german(text) or text)


def count(number: int, noun: str, many: str | None = None) -> Markup:
    """Return for example "3 notes" in both languages."""
    return word(plural(number, noun, many))


@lru_cache(maxsize=quantity.REPEATED, typed=True)  # typed: see `quantity.sentence`
def sentence(text: str) -> Markup:
    """Return a sentence in both languages, every length in it in both units."""
    german = in_german(text)
    plain = quantity.sentence(text)
    return plain if german is None else two(plain, quantity.sentence(german))


def rule_text(rule: str, field: str, english: str) -> Markup:
    """Return what a rule's description says, in both languages; `field` is title, what or why."""
    german = catalogue()["rules"].get(rule, {}).get(field)
    return escape(english) if german is None else two(escape(english), escape(german))


def variants(english: str, german: str | None = None) -> dict[str, str]:
    """Return a text for where no HTML can stand (tooltip, accessible name) in each language and unit.

    The keys are those of the data attributes from which the page's script takes what the reader has chosen; one that
    would say the same as the next plainer one is left out.
    """
    mm, inch = quantity.plain(english)
    mm_german, inch_german = quantity.plain(german or in_german(english) or english)
    found = {"data-en": mm, "data-in": inch, "data-de": mm_german, "data-de-in": inch_german}
    plainer = {"data-in": mm, "data-de": mm, "data-de-in": mm_german}
    return {name: text for name, text in found.items() if text != plainer.get(name)}


def spoken(english: str, german: str | None = None) -> Markup:
    """Return `variants` as attributes."""
    said = variants(english, german).items()
    return Markup(" ".join(f'{name}="{escape(text)}"' for name, text in said))  # noqa: S704  # escaped


def named(english: str, about: str = "") -> Markup:
    """Return an accessible name in both languages; `about` = what it is the name of, for example a body's id."""
    end = f", {about}" if about else ""
    german = f"{in_german(english) or english}{end}"
    return Markup('aria-label="%s" %s') % (english + end, spoken(english + end, german))


def listed(texts: Iterable[str]) -> Markup:
    """Return words in a row with commas, each in both languages."""
    return Markup(", ").join(word(each) for each in texts)
