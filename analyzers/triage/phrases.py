"""The sentences of the questions to the customer; one file for each language, found by folder."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final

FOLDER: Final = files("analyzers.triage") / "languages"


@dataclass(frozen=True, slots=True)
class Phrases:
    """One language: sentences with places for values, nouns for one and for several, mistakes in units."""

    questions: dict[str, str]
    nouns: dict[str, tuple[str, str]]
    scales: dict[str, str]


@cache
def languages() -> tuple[str, ...]:
    """Return the languages that questions can be asked in, for example ("de", "en")."""
    names = [each.name for each in FOLDER.iterdir() if each.name.endswith(".toml")]
    return tuple(sorted(name.removesuffix(".toml") for name in names))


@cache
def phrases(language: str) -> Phrases:
    """Return the sentences of one language.

    Raises
    ------
    ValueError : there is none of that name
    """
    if language not in languages():
        raise ValueError(f"language is {language!r}, expected one of {', '.join(languages())}")
    found: dict[str, Any] = tomllib.loads((FOLDER / f"{language}.toml").read_text(encoding="utf-8"))
    nouns = {kind: (one, many) for kind, (one, many) in found["nouns"].items()}
    return Phrases(questions=found["questions"], nouns=nouns, scales=found["scales"])
