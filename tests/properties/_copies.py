"""Copies of a solid that must be recognised alike, and what is compared between them."""

import os
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from OCP.TopoDS import TopoDS_Shape

from analyzers.features import recognise
from analyzers.kernel.step_file import load
from analyzers.model.feature import Feature
from analyzers.model.report import Facts
from tests.kernel._solids import loaded

ROOT = Path(__file__).parents[2]
PARTS = ROOT / "fixtures" / "parts"
STEMS = sorted(path.stem for path in PARTS.glob("*.step"))
CORPORA = Path(os.environ.get("PARTSIEVE_CORPORA", ROOT.parent / "shared" / "corpora"))
FULL = os.environ.get("PARTSIEVE_ALL_POSES") == "1"
"""100 poses of every example part; else four, 120 in all, which keeps the folder within two minutes of one core."""

PER_CORPUS = 30


@cache
def solids(path: Path) -> tuple[TopoDS_Shape, ...]:
    """Return the distinct solids of a file."""
    return tuple(each.shape for each in load(path).solids)


@cache
def corpus_files() -> tuple[Path, ...]:
    """Return 60 generated parts of the corpora, evenly taken from both sets; empty where there are none."""
    found: list[Path] = []
    for name in ("mfcad", "mfinst"):
        files = sorted((CORPORA / name).glob("*.step"))
        found += files[:: max(1, len(files) // PER_CORPUS)][:PER_CORPUS]
    return tuple(found)


def recognised(shape: TopoDS_Shape) -> Facts:
    """Return what is recognised on a solid."""
    part, geometry = loaded(shape)
    return recognise(part, geometry)


@cache
def originals(path: Path) -> tuple[Facts, ...]:
    """Return what is recognised on the solids of a file as they are, once."""
    return tuple(recognised(shape) for shape in solids(path))


def measures(feature: Feature, scale: float = 1.0) -> dict[str, Any]:
    """Return the numbers of a feature in one unit: lengths and areas of a scaled copy are taken back."""
    return {key: _plain(key, value, scale) for key, value in feature.dimensions().items()}


def _plain(key: str, value: Any, scale: float) -> Any:
    if isinstance(value, tuple):
        return tuple(
            tuple(_plain(name, getattr(each, name), scale) for name in each.__slots__)
            if hasattr(each, "__slots__")
            else each
            for each in value
        )
    if isinstance(value, float):
        power = 2 if key.endswith("_mm2") else 1 if key.endswith("_mm") else 0
        return value / scale**power
    return value


def same(first: Any, second: Any, within: float) -> bool:
    """Return whether two values are one, numbers within a tolerance (of a thousandth, or of their size where free)."""
    if isinstance(first, float) and isinstance(second, float):
        return bool(abs(first - second) <= within * max(1.0, abs(first)))
    if isinstance(first, tuple) and isinstance(second, tuple) and len(first) == len(second):
        return all(same(a, b, within) for a, b in zip(first, second, strict=True))
    return bool(first == second)


def apart(here: Facts, there: Facts, scale: float = 1.0) -> list[str]:
    """Return in words which features of one have no equal in the other; each takes one partner of its kind.

    Numbers agree within a thousandth.
    """
    left = list(there.features)
    texts = []
    for feature in here.features:
        said = measures(feature)
        for other in left:
            if other.kind != feature.kind:
                continue
            if _alike(said, measures(other, scale), 1e-3):
                left.remove(other)
                break
        else:
            texts.append(f"lost: {feature.kind} {feature.callout()} faces {feature.faces}")
    return texts + [f"new: {each.kind} {each.callout()} faces {each.faces}" for each in left]


def _alike(here: dict[str, Any], there: dict[str, Any], within: float) -> bool:
    return here.keys() == there.keys() and all(same(value, there[key], within) for key, value in here.items())


def classes(facts: Facts) -> Counter[str]:
    """Return how many faces have each class."""
    return Counter(facts.face_class)


def prints(facts: Facts) -> Counter[str]:
    """Return the fingerprints, counted."""
    return Counter(each.fingerprint for each in facts.features)


def bad_ownership(facts: Facts) -> Iterator[str]:
    """Yield what is wrong with who owns which face: shared, out of range, or of another class than its owner."""
    owner: dict[int, Feature] = {}
    for feature in facts.features:
        if len(set(feature.faces)) != len(feature.faces) or not feature.faces:
            yield f"{feature.id} lists no face, or one twice"
        for face in feature.faces:
            if face in owner:
                yield f"face {face} belongs to {owner[face].id} and {feature.id}"
            if not 0 <= face < facts.part.n_faces:
                yield f"{feature.id} names face {face} of {facts.part.n_faces}"
            owner[face] = feature
    if len(facts.face_class) != facts.part.n_faces:
        yield f"{len(facts.face_class)} classes for {facts.part.n_faces} faces"
    for face, word in enumerate(facts.face_class):
        expected = owner[face].face_class if face in owner else "outer"
        if word != expected:
            yield f"face {face} is {word}, its owner says {expected}"
    unit = [abs(float(np.linalg.norm(each.direction)) - 1.0) for each in facts.features]
    if max(unit, default=0.0) > 1e-6:
        yield "a direction is not of length one"
