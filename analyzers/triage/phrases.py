"""The sentences of the questions to the customer; one file for each language, found by folder."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final

FOLDER: Final = files("analyzers.triage") / "languages"


@dataclass(frozen=True, slots=True)
class Change:
    """How one kind of change is asked for: the question, and each place in its list."""

    ask: str
    item: str


@dataclass(frozen=True, slots=True)
class Phrases:
    """One language: sentences with places for values, nouns for one and for several, mistakes in units, sizes."""

    decimal: str
    questions: dict[str, str]
    changes: dict[str, Change]
    nouns: dict[str, tuple[str, str]]
    scales: dict[str, str]
    sizes: dict[str, str]
    absent: dict[str, str]


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
    return Phrases(
        decimal=found["decimal"],
        questions=found["questions"],
        changes={name: Change(**each) for name, each in found["changes"].items()},
        nouns={kind: (one, many) for kind, (one, many) in found["nouns"].items()},
        scales=found["scales"],
        sizes=found["sizes"],
        absent=found["absent"],
    )
