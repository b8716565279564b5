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


def hatched(hatch: Hatch, x: Ints, y: Ints) -> Bools:
    """Return where the hatching's lines run, for pixels at columns x and rows y."""
    thick = 2
    rising, falling = (x + y) % PERIOD < thick, (x - y) % PERIOD < thick
    level, upright = y % PERIOD < thick, x % PERIOD < thick
    lines: dict[Hatch, Bools] = {
        "none": np.zeros(np.broadcast(x, y).shape, dtype=bool),
        "rising": rising,
        "falling": falling,
        "level": level | np.zeros_like(upright),
        "upright": upright | np.zeros_like(level),
        "cross": rising | falling,
        "grid": level | upright,
        "dots": (y % PERIOD < thick + 1) & ((x + (y // PERIOD % 2) * (PERIOD // 2)) % PERIOD < thick + 1),
    }
    return lines[hatch]
