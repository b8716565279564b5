"""Line drawings as SVG: seen edges wide, tangent edges narrow, hidden edges narrow and dashed (ISO 128-2)."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from markupsafe import Markup

from analyzers.model.arrays import Floats, Ints, Vec, among
from analyzers.model.drawing import LineDrawing, View
from analyzers.model.report import Report
from analyzers.report.pictures import fit

TENTHS: Final = 10
"""Drawn to a tenth of a pixel, written without a decimal point."""
FINE_UP_TO: Final = 4000
COARSE: Final = 5
"""Beyond that many pieces ends lie on a grid of half pixels, a line's own width."""
_BITS: Final = 15
"""Enough for a place in a drawing: frames are at most 920 pixels wide."""


@dataclass(frozen=True, slots=True)
class LineArt:
    """A line drawing in pixels: path data in tenths of a pixel, and where points of the part are in it."""

    view: View
    width: int
    height: int
    visible: str
    smooth: str
    hidden: str
    scale: float  # pixels per mm
    shift: tuple[float, float]  # pixels

    def place(self, point_mm: Vec) -> tuple[float, float]:
        """Return where a point of the part is, in pixels from the upper left corner."""
        point = np.array(point_mm)
        right, up = float(point @ np.array(self.view.right)), float(point @ np.array(self.view.up))
        return right * self.scale + self.shift[0], self.shift[1] - up * self.scale


def line_art(
    drawing: LineDrawing, width: int, height: int, corners_mm: Floats | None = None, with_hidden: bool = True
) -> LineArt:
    """Return a drawing that fills a frame to its margin.

    Parameters
    ----------
    width, height : of the frame in pixels
    corners_mm : (N, 3) points of the part that decide the scale instead of the lines, so that it fits a picture
    """
    every = np.concatenate([drawing.visible_mm, drawing.smooth_mm, drawing.hidden_mm]).reshape(-1, 2)
    if corners_mm is not None:
        every = corners_mm @ np.array([drawing.view.right, drawing.view.up]).T
    scale, shift = fit(every, width, height)
    behind = drawing.hidden_mm if with_hidden else drawing.hidden_mm[:0]
    visible, smooth, hidden = (_ends(each, scale, shift) for each in (drawing.visible_mm, drawing.smooth_mm, behind))
    # what is seen goes before what is hidden (ISO 128-2)
    hidden = hidden[~among(_keys(hidden), np.sort(_keys(visible)))]
    return LineArt(
        view=drawing.view,
        width=width,
        height=height,
        visible=path_data(visible),
        smooth=path_data(smooth),
        hidden=path_data(hidden),
        scale=scale,
        shift=shift,
    )


def _ends(lines_mm: Floats, scale: float, shift: tuple[float, float]) -> Ints:
    """Return the ends of straight pieces (N, 2, 2) in tenths of a pixel, none twice, without those that are points."""
    flat = lines_mm * np.array([scale, -scale]) + np.array(shift)
    grid = 1 if len(lines_mm) <= FINE_UP_TO else COARSE
    ends: Ints = np.round(flat * (TENTHS / grid)).astype(np.int64) * grid
    ends = ends[(ends[:, 0] != ends[:, 1]).any(axis=1)]
    _, first = np.unique(_keys(ends), return_index=True)
    return ends[np.sort(first)]


def _keys(ends: Ints) -> Ints:
    """Return (N,) a number for each piece (N, 2, 2), the same whichever end comes first."""
    point = (ends[..., 0] << _BITS) + ends[..., 1]
    keys: Ints = (point.min(axis=1) << 2 * _BITS) + point.max(axis=1)
    return keys


def path_data(ends: Ints) -> str:
    """Return straight pieces (N, 2, 2) as SVG path data: one line as long as each begins where the one before it ends.

    Examples
    --------
    >>> path_data(np.array([[[50, 50], [60, 50]], [[60, 50], [60, 30]]]))
    'M50 50l10 0 0 -20'
    """
    steps = (ends[:, 1] - ends[:, 0]).tolist()
    words = [f"{across} {down}" for across, down in steps]
    begins = np.ones(len(ends), dtype=bool)
    begins[1:] = (ends[1:, 0] != ends[:-1, 1]).any(axis=1)
    for at, (x, y) in zip(np.flatnonzero(begins).tolist(), ends[begins, 0].tolist(), strict=True):
        words[at] = f"M{x} {y}l{words[at]}"
    return " ".join(words)


def thumbnail(drawing: LineDrawing, width: int = 240, height: int = 180) -> str:
    """Return a small SVG file of a view: seen lines only, dark on a light ground, for lists."""
    art = line_art(drawing, width, height, with_hidden=False)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="0 0 {width * TENTHS} {height * TENTHS}" fill="none" stroke="#1b222c" stroke-linejoin="round">'
        f'<rect width="100%" height="100%" fill="#fffefb" stroke="none"/>'
        f'<path stroke-width="6" stroke-opacity=".4" d="{art.smooth}"/>'
        f'<path stroke-width="12" d="{art.visible}"/></svg>\n'
    )


def report_thumbnail(report: Report) -> str | None:
    """Return the thumbnail of the hardest body; None where none was drawn."""
    bodies = [each for each in report.bodies if each.drawings]
    return thumbnail(max(bodies, key=lambda each: each.triage.difficulty).drawings[0]) if bodies else None


def layers(art: LineArt) -> Markup:
    """Return the drawing's lines as SVG elements in pixels; the style sheet gives widths and dashes by class."""
    kinds = (("hidden-line", art.hidden), ("smooth-line", art.smooth), ("seen-line", art.visible))
    paths = "".join(f'<path class="{name}" d="{data}"/>' for name, data in kinds if data)
    return Markup(f'<g class="lines" transform="scale({1 / TENTHS})">{paths}</g>')  # noqa: S704  # numbers and letters


def order(drawings: Sequence[LineDrawing]) -> tuple[LineDrawing | None, tuple[LineDrawing, ...]]:
    """Return the isometric view, and all views for a sheet: the standard ones first."""
    return (drawings[0], (*drawings[1:], drawings[0])) if drawings else (None, ())
