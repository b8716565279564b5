"""Pictures of a part from its mesh alone: shaded, edges drawn, faces tinted and hatched by class, places marked.

Parallel projection (ISO 5456-2 and -3): an isometric view and the standard views. Nothing is random and nothing is
looked up, so the same part gives the same picture.
"""

import base64
import io
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
from markupsafe import Markup
from PIL import Image

from analyzers.model.arrays import Bools, Floats, Ints, Vec, among, mean_normals, unit, vec
from analyzers.model.drawing import View
from analyzers.model.facegraph import smooth_pairs
from analyzers.model.part import Part
from analyzers.model.report import Facts
from analyzers.report.palette import LOOKS, hatched
from analyzers.report.raster import Raster, rasterise, slopes, turns
from analyzers.report.shades import CLEAR, FAINT, FAINT_BESIDE, FULL, INK_BESIDE, INK_ON, Pixels, Shades

MARGIN: Final = 0.06
"""Empty border of a picture, as a share of its shorter side."""
_LIGHTS: Final = ((-0.45, 0.7, 0.6, 0.36), (0.85, 0.1, 0.45, 0.08))
"""Lights as (right, up, towards the eye, strength); ambient light makes up the rest."""
_JUMP: Final = 0.02
"""A step in depth of this share of the part's diagonal within one face is drawn as an outline."""
_EFFORT: Final = 3
"""Of compression: more takes longer and makes these pictures no smaller by a tenth."""
_HIDDEN_RATIO: Final = 0.004
"""A point this share of the part's diagonal behind what the pixel shows is hidden."""


@dataclass(frozen=True, slots=True)
class Picture:
    """One drawn view, and what is needed to mark places in it."""

    view: View
    width: int
    height: int
    png: bytes
    grain: int  # pixels across one cell of `face` and `near`
    face: Ints  # (rows, columns) face shown by each cell, -1 = background
    near: Floats  # (rows, columns) depth towards the eye, mm
    scale: float  # pixels per mm
    shift: tuple[float, float]  # pixels
    blur_mm: float  # a point this far behind the surface is hidden

    def data_uri(self) -> Markup:
        """Return the picture as a data address for an HTML file that needs no other file."""
        return Markup("data:image/png;base64,%s") % base64.b64encode(self.png).decode("ascii")


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in a picture, in pixels; hidden = something lies in front of it."""

    x: float
    y: float
    hidden: bool
    point_mm: Vec


def draw(
    facts: Facts,
    view: View,
    width: int = 920,
    height: int = 690,
    grain: int = 1,
    ink: bool = True,
    normals: Floats | None = None,
) -> Picture:
    """Return the picture of a part as seen in `view`.

    Parameters
    ----------
    width, height : of the place it will take; both are multiples of `grain`
    grain : pixels of that place across one cell of the picture
    ink : draw outlines and edges; without it the picture is the ground for a line drawing
    normals : `corner_normals` of the part, for whoever draws it more than once
    """
    part, mesh = facts.part, facts.part.mesh
    axes = np.array([view.right, view.up, view.out])
    seen = mesh.point_mm @ axes.T  # (P, 3) mm: right, up, towards the eye
    scale, shift = fit(seen[:, :2], width, height)
    flat = np.column_stack([seen[:, 0] * scale + shift[0], shift[1] - seen[:, 1] * scale, seen[:, 2] * grain]) / grain
    corner = flat[mesh.triangle]
    normals = corner_normals(part) if normals is None else normals
    faces = mesh.triangle_face
    if part.sound:
        front = turns(corner) < 0  # y points down
        corner, normals, faces = corner[front], normals[front], faces[front]
    raster = rasterise(corner, width // grain, height // grain)
    face = np.where(raster.triangle >= 0, faces[raster.triangle], -1)
    shades = Shades.of(facts.face_class)
    pixels = _shade(facts, shades, raster, corner, face, _light(normals, axes))
    if ink:
        _ink(pixels, shades, _lines(part, raster, face), face)
    return Picture(
        view=view,
        width=width,
        height=height,
        png=_png(pixels, shades),
        grain=grain,
        face=face,
        near=raster.near,
        scale=scale,
        shift=shift,
        blur_mm=max(_HIDDEN_RATIO * part.diagonal_mm, 2 * mesh.chord_mm),
    )


def fit(flat: Floats, width: int, height: int) -> tuple[float, tuple[float, float]]:
    """Return the scale and shift that put points (P, 2; y up) into the middle of the picture."""
    if not len(flat):
        return 1.0, (width / 2, height / 2)
    low, high = np.array([(axis.min(), axis.max()) for axis in flat.T]).T  # ten times as fast as along the long axis
    room = np.array([width, height]) - 2 * MARGIN * min(width, height)
    extent = np.where(high > low, high - low, 1e-9)
    scale = float(np.min(room / extent))
    middle = (low + high) / 2 * scale
    return scale, (width / 2 - float(middle[0]), height / 2 + float(middle[1]))


def corner_normals(part: Part) -> Floats:
    """Return (T, 3, 3) the outward unit normal at each triangle's corners, smooth within a face."""
    mesh = part.mesh
    corner = mesh.point_mm[mesh.triangle]
    place = mesh.triangle_face[:, None] * len(mesh.point_mm) + mesh.triangle
    _, place = np.unique(place, return_inverse=True)
    place = place.reshape(mesh.triangle.shape)
    smooth: Floats = mean_normals(corner, place)[place]
    return smooth


def _light(normal: Floats, axes: Floats) -> Floats:
    """Return (T, 3) brightness 0..1 at each triangle's corners."""
    bright = np.full(normal.shape[:2], 1.0 - sum(strength for *_, strength in _LIGHTS) + 0.12)
    for *towards, strength in _LIGHTS:
        bright += strength * np.clip(normal @ (unit(np.array(towards)) @ axes), 0.0, None)
    lit: Floats = np.clip(bright, 0.0, 1.05)
    return lit


def _shade(facts: Facts, shades: Shades, raster: Raster, corner: Floats, face: Ints, light: Floats) -> Pixels:
    """Return (height, width) the number of each pixel's colour, without lines."""
    hit = np.flatnonzero(face >= 0)
    height, width = face.shape
    row, column = np.repeat(np.arange(height), width)[hit], np.tile(np.arange(width), height)[hit]
    triangle = raster.triangle.ravel()[hit]
    g, h, k = slopes(corner, light)
    bright = g[triangle] * (column + 0.5) + h[triangle] * (row + 0.5) + k[triangle]
    class_of_face = np.array([shades.classes.index(each) for each in facts.face_class], dtype=np.int64)
    shown = class_of_face[face.ravel()[hit]]
    for number, each in enumerate(shades.classes):
        if (hatch := LOOKS[each].hatch) != "none":
            here = np.flatnonzero(shown == number)
            bright[here] -= 0.13 * hatched(hatch, column[here], row[here])
    pixels = np.full(face.size, CLEAR, dtype=np.uint8)
    pixels[hit] = shades.number(shown, bright)
    return pixels.reshape(face.shape)


def _ink(pixels: Pixels, shades: Shades, lines: Floats, face: Ints) -> None:
    """Draw lines into a picture: on the part over its colour, beside it on a clear ground."""
    row, column = np.nonzero(lines)
    full, beside = lines[row, column] == FULL, face[row, column] < 0
    faint = np.flatnonzero(~full & ~beside)
    number = np.where(beside, np.where(full, INK_BESIDE, FAINT_BESIDE), INK_ON)
    number[faint] = shades.with_faint_line(pixels[row[faint], column[faint]])
    pixels[row, column] = number


def _lines(part: Part, raster: Raster, face: Ints) -> Floats:
    """Return (height, width) how dark the lines are, 0..1: outlines and edges full, tangent edges faint."""
    height, width = face.shape
    lines, shown, near = np.zeros(face.size), face.ravel(), raster.near.ravel()
    smooth = smooth_pairs(part)
    jump = _JUMP * part.diagonal_mm
    for apart in (1, width):  # to the right, below
        first, second = shown[:-apart], shown[apart:]
        with np.errstate(invalid="ignore"):
            step = np.abs(near[:-apart] - near[apart:]) > jump
        at = np.flatnonzero((first != second) | (step & (first >= 0)))
        if apart == 1:
            at = at[at % width != width - 1]
        a, b = first[at], second[at]
        key = np.minimum(a, b) * part.n_faces + np.maximum(a, b)  # below zero beside the ground
        dark = np.where(among(key, smooth) & ~step[at], FAINT, FULL)
        np.maximum.at(lines, at, dark)
        np.maximum.at(lines, at + apart, dark)
    return lines.reshape(height, width)


def _png(pixels: Pixels, shades: Shades) -> bytes:
    image = Image.fromarray(pixels)
    image.putpalette(shades.table().tobytes(), "RGBA")
    stream = io.BytesIO()
    image.save(stream, "PNG", optimize=False, compress_level=_EFFORT)
    return stream.getvalue()


def spot(picture: Picture, faces: Iterable[int] = (), point_mm: Vec | None = None) -> Spot | None:
    """Return where a place is in the picture: at its point, else in the middle of what its faces show; None = nowhere.

    A point that is hidden itself is shown at a visible part of its faces, if there is one; one that could not be
    measured, on a damaged solid, is no place.
    """
    if point_mm is not None and not np.isfinite(point_mm).all():
        point_mm = None
    if point_mm is not None:
        found = _project(picture, point_mm)
        if not found.hidden:
            return found
    visible = _on_faces(picture, frozenset(faces))
    if visible is not None:
        return visible
    return None if point_mm is None else _project(picture, point_mm)


def _project(picture: Picture, point_mm: Vec) -> Spot:
    point = np.array(point_mm)
    x = float(point @ np.array(picture.view.right)) * picture.scale + picture.shift[0]
    y = picture.shift[1] - float(point @ np.array(picture.view.up)) * picture.scale
    depth = float(point @ np.array(picture.view.out))
    rows, columns = picture.face.shape
    column, row = (int(np.clip(at / picture.grain, 0, size - 1)) for at, size in ((x, columns), (y, rows)))
    return Spot(x, y, bool(picture.near[row, column] > depth + picture.blur_mm), point_mm)


def _on_faces(picture: Picture, faces: frozenset[int]) -> Spot | None:
    """Return the pixel of these faces that lies nearest to the middle of all their pixels."""
    if not faces:
        return None
    shown: Bools = np.isin(picture.face[::_STRIDE, ::_STRIDE], list(faces))
    row, column = np.nonzero(shown)
    if len(row) < _FEW_PIXELS:
        return None
    away = (row - row.mean()) ** 2 + (column - column.mean()) ** 2
    nearest = int(np.argmin(away))
    across, down = int(column[nearest]) * _STRIDE, int(row[nearest]) * _STRIDE
    x, y = ((at + 0.5) * picture.grain for at in (across, down))
    return Spot(x, y, False, _unproject(picture, x, y, float(picture.near[down, across])))


def _unproject(picture: Picture, x: float, y: float, depth: float) -> Vec:
    """Return the point of the part that a place in the picture shows, its depth towards the eye being known."""
    view = picture.view
    right, up = (x - picture.shift[0]) / picture.scale, (picture.shift[1] - y) / picture.scale
    return vec(right * np.array(view.right) + up * np.array(view.up) + depth * np.array(view.out))


_STRIDE: Final = 2
"""Every other cell of each row is looked at."""
_FEW_PIXELS: Final = 4
"""Faces that show less than this are as good as hidden."""
