"""The page's second language: each text is written in English and in German, and the style sheet shows one.

As with units, the reader switches without a script. Numbers, callouts and names stay as they are, and so does the
decimal point, as on the controls of machines. A sentence for which there is no German is shown in English in both.
"""

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import Final

from markupsafe import Markup, escape

from analyzers.report import quantity
from analyzers.report.text import plural

_SLOT = re.compile(r"\\\{(\d+)\\\}")
_COUNTED = re.compile(r"(no|\d+) ([a-z -]+)")
_SIDE = re.compile(r"(top|bottom|side|slanted) \((.+?)\): (.+)")
_SIDES: Final = {"top": "oben", "bottom": "unten", "side": "seitlich", "slanted": "schräg"}
_PLURALS: Final = {"bosses": "boss"}


@dataclass(frozen=True, slots=True)
class _German:
    words: dict[str, str]
    nouns: dict[str, tuple[str, str]]
    exact: dict[str, str]
    patterns: dict[str, tuple[tuple[re.Pattern[str], str], ...]]  # by the first word; "" = begins with a place


@cache
def _german() -> _German:
    found = tomllib.loads((files("analyzers.report") / "german.toml").read_text(encoding="utf-8"))
    exact: dict[str, str] = {}
    patterns: dict[str, list[tuple[re.Pattern[str], str]]] = {}
    for english, german in found["sentences"].items():
        if "{" not in english:
            exact[english] = german
            continue
        places = _SLOT.sub(lambda match: f"(?P<p{match[1]}>[^;]+?)", re.escape(english))
        first = english.split()[0]
        patterns.setdefault("" if "{" in first else first, []).append((re.compile(places), german))
    nouns = {english: (one, many) for english, (one, many) in found["nouns"].items()}
    return _German(found["words"], nouns, exact, {first: tuple(each) for first, each in patterns.items()})


def in_german(text: str) -> str | None:
    """Return a text in German; None where there is none.

    A list of parts with semicolons is German where all its parts are.

    Examples
    --------
    >>> in_german("3 setups; about 17 minutes of machine time a part.")
    '3 Aufspannungen; etwa 17 Minuten Maschinenzeit je Teil.'
    """
    known = _german()
    found = known.words.get(text) or known.exact.get(text) or _by_pattern(text) or _counted(text) or _side(text)
    if found is not None:
        return found
    if "; " in text:
        return _joined(text.removesuffix("."), "; ", "." if text.endswith(".") else "")
    if text[:1].isupper():  # a part of a list that came to stand at the beginning
        lower = in_german(text[:1].lower() + text[1:]) if not text[1:2].isupper() else None
        return lower[:1].upper() + lower[1:] if lower else None
    return in_german(text.removesuffix(".")) if text.endswith(".") else None


def _by_pattern(text: str) -> str | None:
    patterns = _german().patterns
    first = text.split(maxsplit=1)[0] if text.strip() else ""
    for pattern, german in (*patterns.get(first, ()), *patterns.get("", ())):
        if match := pattern.fullmatch(text):
            places = match.groupdict()
            return german.format(*(_placed(places[f"p{i}"]) for i in range(len(places))))
    return None


def _placed(text: str) -> str:
    """Return what stands in a place: as it is, a feature's word at its beginning in German."""
    word, space, rest = text.partition(" ")
    known = _german().words.get(word.lower())
    return f"{known}{space}{rest}" if known and rest and not rest[0].isalpha() else _german().words.get(text, text)


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
    return nouns.get(english) or nouns.get(_PLURALS.get(english, english.removesuffix("s")))


def _side(text: str) -> str | None:
    """Return for example "top (+Z): 4 holes, outer faces" in German."""
    match = _SIDE.fullmatch(text)
    if not match:
        return None
    parts = ["Außenflächen" if each == "outer faces" else _counted(each) for each in match[3].split(", ")]
    known = [each for each in parts if each is not None]
    return f"{_SIDES[match[1]]} ({match[2]}): {', '.join(known)}" if len(known) == len(parts) else None


def _joined(text: str, sign: str, end: str) -> str | None:
    parts = [in_german(each) for each in text.split(sign)]
    known = [each for each in parts if each is not None]
    return sign.join(known) + end if len(known) == len(parts) else None


def two(english: Markup, german: Markup) -> Markup:
    """Return HTML that shows one language or the other."""
    return _EN + english + _DE + german + _END


_EN, _DE = Markup('<span class="en" lang="en">'), Markup('</span><span class="de" lang="de">')
_END = Markup("</span>")


@cache
def word(text: str) -> Markup:
    """Return a word or heading of the page in both languages."""
    german = in_german(text)
    return escape(text) if german is None else two(escape(text), escape(german))


def count(number: int, noun: str, many: str | None = None) -> Markup:
    """Return for example "3 notes" in both languages."""
    return word(plural(number, noun, many))


@lru_cache(maxsize=quantity.REPEATED, typed=True)  # typed: see `quantity.sentence`
def sentence(text: str) -> Markup:
    """Return a sentence in both languages, every length in it in both units."""
    german = in_german(text)
    plain = quantity.sentence(text)
    return plain if german is None else two(plain, quantity.sentence(german))


def listed(texts: Iterable[str]) -> Markup:
    """Return words in a row with commas, each in both languages."""
    return Markup(", ").join(word(each) for each in texts)
