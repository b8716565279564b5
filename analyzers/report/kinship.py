"""Which reports of a batch are about one part, its mirror image, or nearly the same part."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from analyzers.report.rows import Document
from analyzers.signature import LENGTH, Signature, nearest

NEAR: Final = 0.05
"""Signatures this near are worth a word: one per cent of each size is 0.01 (judgement, 2026-11-25)."""
_LOOKED_AT: Final = 8

Kind = Literal["same_file", "same", "mirrored", "near"]


@dataclass(frozen=True, slots=True)
class Kin:
    """An earlier report of the list that this one is like; `apart` as the signatures measure it, 0.01 = 1 %."""

    of: int
    kind: Kind
    apart: float = 0.0


def kinship(documents: Sequence[Document]) -> list[Kin | None]:
    """Return for each report the nearest one before it in the list, if there is one worth a word.

    Files of one body are compared by the body's signature, others by their content only.
    """
    found: list[Kin | None] = []
    files: dict[str, int] = {}
    known: list[int] = []
    numbers, hands = np.zeros((len(documents), LENGTH)), np.zeros((len(documents), 2))
    for at, document in enumerate(documents):
        digest = document["source"]["sha256"]
        own = _signature(document)
        if digest and digest in files:
            found.append(Kin(files[digest], "same_file"))
            continue
        found.append(_nearest(own, numbers[: len(known)], hands[: len(known)], known) if own else None)
        if digest:
            files[digest] = at
        if own:
            numbers[len(known)], hands[len(known)] = own.numbers, own.hand
            known.append(at)
    return found


def _signature(document: Mapping[str, Any]) -> Signature | None:
    bodies = document["bodies"]
    return Signature.read(bodies[0]) if len(bodies) == 1 and bodies[0]["count"] == 1 else None


def _nearest(own: Signature, numbers: Any, hands: Any, known: Sequence[int]) -> Kin | None:
    for each in nearest(own, numbers, hands, _LOOKED_AT):
        if each.relation != "alike":
            return Kin(known[each.row], each.relation, each.distance)
        if each.distance <= NEAR:
            return Kin(known[each.row], "near", each.distance)
    return None
