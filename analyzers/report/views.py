"""From where a part is shown: the standard views and the isometric one (ISO 5456-2 and -3)."""

from typing import Final

import numpy as np

from analyzers.model.arrays import Vec, unit, vec
from analyzers.model.drawing import View
from analyzers.model.report import Facts

VIEWS_UP_TO: Final = 3
"""Bodies of one file that get the three standard views besides the isometric one: twelve views at the most, so that
the page of an assembly of small bodies costs less than a third of their analysis."""


def _looking(name: str, out: Vec, right: Vec) -> View:
    towards, side = unit(np.array(out, dtype=float)), unit(np.array(right, dtype=float))
    return View(name, vec(side), vec(np.cross(towards, side)), vec(towards))


STANDARD_VIEWS: Final = (
    _looking("Front", (0, -1, 0), (1, 0, 0)),
    _looking("Top", (0, 0, 1), (1, 0, 0)),
    _looking("Right", (1, 0, 0), (0, 1, 0)),
)


def seen_along(direction: Vec) -> View:
    """Return the view from where a cutter comes, x or else the horizontal to the right."""
    across = np.cross((0.0, 0.0, 1.0), direction)
    return _looking("Setup", direction, vec(unit(across)) if np.linalg.norm(across) > _UPRIGHT else (1.0, 0.0, 0.0))


_UPRIGHT: Final = 1e-3
"""Sine of an angle from upright below which there is no horizontal direction to speak of."""
_CORNERS: Final = tuple(_looking("Isometric", (x, y, z), (-y, x, 0)) for z in (1, -1) for y in (-1, 1) for x in (1, -1))


def best_corner(facts: Facts) -> View:
    """Return the isometric view that looks into most features; among equals the one from front, right and above."""
    directions = np.array([each.direction for each in facts.features], dtype=float).reshape(-1, 3)
    score = [float(np.clip(directions @ np.array(corner.out), 0, None).sum()) for corner in _CORNERS]
    # looking up at a part is unusual: it must show clearly more
    return max(zip(_CORNERS, score, strict=True), key=lambda pair: pair[1] * (1.0 if pair[0].out[2] > 0 else 0.8))[0]
