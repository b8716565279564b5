"""How each class of face is told apart: a word, a colour and a hatching, so that colour is never alone.

The hues keep apart for the common kinds of colour blindness (after Okabe and Ito, "Color universal design", 2008),
lightened so that dark lines and shading stay readable on them.
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from analyzers.model.arrays import Bools, Ints
from analyzers.model.feature import FaceClass

Hatch = Literal["none", "rising", "falling", "level", "upright", "cross", "grid", "dots"]


@dataclass(frozen=True, slots=True)
class Look:
    """The word, colour (red, green, blue in 0..255) and hatching of one class of face."""

    word: str
    colour: tuple[int, int, int]
    hatch: Hatch

    @property
    def hex(self) -> str:
        """The colour as "#rrggbb"."""
        return "#{:02x}{:02x}{:02x}".format(*self.colour)


LOOKS: Final[dict[FaceClass, Look]] = {
    "hole": Look("hole", (92, 158, 214), "rising"),
    "pocket": Look("pocket", (236, 170, 72), "falling"),
    "slot": Look("slot", (240, 222, 90), "level"),
    "step": Look("step", (94, 186, 150), "upright"),
    "boss": Look("boss", (212, 148, 188), "dots"),
    "groove": Look("groove", (222, 124, 76), "cross"),
    "fillet": Look("fillet (inside round)", (150, 214, 232), "none"),
    "edge_round": Look("edge round (outside)", (196, 214, 160), "none"),
    "chamfer": Look("chamfer", (198, 172, 140), "grid"),
    "outer": Look("outer face", (206, 211, 217), "none"),
    "freeform": Look("free-form face", (170, 160, 220), "dots"),
}

PERIOD: Final = 14
"""Distance of the hatching lines, in pixels of the picture."""
_THICK: Final = 2


def hatched(hatch: Hatch, x: Ints, y: Ints) -> Bools:
    """Return where the hatching's lines run, for pixels at columns x and rows y."""
    match hatch:
        case "rising":
            return (x + y) % PERIOD < _THICK
        case "falling":
            return (x - y) % PERIOD < _THICK
        case "level":
            return (y + 0 * x) % PERIOD < _THICK
        case "upright":
            return (x + 0 * y) % PERIOD < _THICK
        case "cross":
            return hatched("rising", x, y) | hatched("falling", x, y)
        case "grid":
            return hatched("level", x, y) | hatched("upright", x, y)
        case "dots":
            across = x + (y // PERIOD % 2) * (PERIOD // 2)
            return (y % PERIOD <= _THICK) & (across % PERIOD <= _THICK)
        case "none":
            return np.zeros(np.broadcast(x, y).shape, dtype=bool)
