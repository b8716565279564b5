"""The colours of one picture as a table of at most 256: pixels are numbers, and the file needs no colour reduction."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from analyzers.model.arrays import Floats, Ints
from analyzers.model.feature import FaceClass
from analyzers.report.palette import LOOKS

Pixels = NDArray[np.uint8]

BRIGHT: Final = (0.2, 1.08)
"""Darkest and brightest that a face is shown, 1 = its class's colour."""
FULL: Final = 0.9
FAINT: Final = 0.28
"""How dark lines are: outlines and edges, tangent edges."""
CLEAR, INK_BESIDE, FAINT_BESIDE, INK_ON = range(4)
"""Numbers of the colours that belong to no class; ink on the part lies on its colours, beside it on a clear ground."""
_FIRST: Final = 4
_INK: Final = (28, 34, 44)
_INK_BRIGHT: Final = 0.15
"""How bright ink is against the colour of a class, about."""
_MOST: Final = 256
_STEPS: Final = 64
"""Steps of brightness at most: finer ones are not seen."""


@dataclass(frozen=True, slots=True)
class Shades:
    """The classes of a part's faces, in the order of `LOOKS`, each in so many steps of brightness."""

    classes: tuple[FaceClass, ...]
    steps: int

    @classmethod
    def of(cls, face_classes: Iterable[FaceClass]) -> "Shades":
        """Return the shades of a part with faces of these classes."""
        found = set(face_classes)
        classes = tuple(each for each in LOOKS if each in found)
        return cls(classes, min(_STEPS, (_MOST - _FIRST) // max(len(classes), 1)))

    def number(self, face_class: Ints, bright: Floats) -> Pixels:
        """Return (N,) the number of each colour: class as its place in `classes`, and brightness."""
        low, high = BRIGHT
        step = np.round((np.clip(bright, low, high) - low) * ((self.steps - 1) / (high - low)))
        numbers: Pixels = (_FIRST + face_class * self.steps + step).astype(np.uint8)
        return numbers

    def with_faint_line(self, number: Pixels) -> Pixels:
        """Return (N,) colours of classes with a faint line over them."""
        low, high = BRIGHT
        face_class, step = np.divmod(number.astype(np.int64) - _FIRST, self.steps)
        bright = low + step * ((high - low) / (self.steps - 1))
        return self.number(face_class, bright + FAINT * (_INK_BRIGHT - bright))

    def table(self) -> Pixels:
        """Return (N, 4) red, green, blue, opacity of each number."""
        colour = np.array([LOOKS[each].colour for each in self.classes], dtype=float).reshape(-1, 1, 3)
        lit = np.minimum(colour * np.linspace(*BRIGHT, self.steps)[:, None], 255.0).reshape(-1, 3)
        others = [(0, 0, 0, 0), (*_INK, 255 * FULL), (*_INK, 255 * FAINT), (*_INK, 255)]
        rows: Pixels = np.concatenate([others, np.column_stack([lit, np.full(len(lit), 255.0)])]).astype(np.uint8)
        return rows
