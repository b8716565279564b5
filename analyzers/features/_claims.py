"""Who gets a disputed face: recognisers are asked in order of their rank; a claimed face is gone for those after."""

import pkgutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib import import_module

import analyzers.features as folder
from analyzers.features._view import View
from analyzers.model.feature import Feature

Propose = Callable[[View], Iterator[Feature]]


@dataclass(frozen=True, slots=True)
class Recogniser:
    """One file of this folder: its name, when it is asked, and its function."""

    name: str
    rank: int
    propose: Propose


def recognisers() -> tuple[Recogniser, ...]:
    """Return every recogniser the folder holds, in the order in which they are asked."""
    found = []
    for each in pkgutil.iter_modules(folder.__path__):
        if each.name.startswith("_"):
            continue
        module = import_module(f"{folder.__name__}.{each.name}")
        found.append(Recogniser(each.name, module.RANK, module.propose))
    return tuple(sorted(found, key=lambda r: (r.rank, r.name)))


def settle(view: View) -> list[Feature]:
    """Return the features that keep at least one face; `view.free` is left with the unclaimed faces.

    A proposal that has lost faces to an earlier one is dropped whole: half a feature would carry wrong numbers.
    """
    kept: list[Feature] = []
    for recogniser in recognisers():
        for feature in recogniser.propose(view):
            faces = list(feature.faces)
            if faces and view.free[faces].all():
                view.free[faces] = False
                for face in faces:
                    view.claimed_by[face] = feature.kind
                kept.append(feature)
    return kept
