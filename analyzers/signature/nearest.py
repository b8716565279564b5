"""Which of many bodies are most like one."""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from analyzers.model.arrays import Floats
from analyzers.signature.numbers import Signature

SAME_SIZE: Final = 5e-5
"""Volume and area of two bodies that are one agree to this, as logarithms of a length: some times MASS_ERROR."""

SAME_SHAPE: Final = 0.02
"""And the rest to this: two meshes of one curved body differ by their chords, most where it is small."""

Relation = Literal["same", "mirrored", "alike"]
_ORDER: Final[dict[Relation, int]] = {"same": 0, "mirrored": 1, "alike": 2}


@dataclass(frozen=True, slots=True)
class Alike:
    """One stored body: its row, how far its numbers are off (0.01 = one per cent) and what it is to the other."""

    row: int
    distance: float
    relation: Relation


def nearest(wanted: Signature, numbers: Floats, hands: Floats, most: int = 5) -> tuple[Alike, ...]:
    """Return the nearest of N stored bodies, nearest first; of equals, those of the same hand first.

    Parameters
    ----------
    numbers, hands : (N, LENGTH) and (N, 2), the stored signatures
    """
    if not len(numbers):
        return ()
    apart = numbers - wanted.numbers
    distance = np.sqrt(np.einsum("ij,ij->i", apart, apart))
    first = np.argpartition(distance, min(4 * most, len(distance)) - 1)[: 4 * most]
    found = [
        Alike(int(row), float(distance[row]), _relation(apart[row], float(distance[row]), wanted.hand, hands[row]))
        for row in first
    ]
    return tuple(sorted(found, key=lambda each: (_ORDER[each.relation], each.distance, each.row))[:most])


def _relation(apart: Floats, distance: float, hand: Floats, other: Floats) -> Relation:
    if distance > SAME_SHAPE or np.abs(apart[:2]).max() > SAME_SIZE:
        return "alike"
    return "mirrored" if _mirrored(hand, other) else "same"


def _mirrored(hand: Floats, other: Floats) -> bool:
    """Return whether the clearest hand number that both have has opposite signs."""
    both = hand * other
    return bool(both[np.argmax(np.abs(both))] < 0.0)
