"""The part's own main directions: what a machinist would lay parallel to the vise and the table."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from analyzers.model.arrays import Bools, Floats, Vec, cross_product, triangle_normals, unit, vec
from analyzers.model.part import Part, Surface
from analyzers.tolerance import PARALLEL_COS, SAME_ANGLE_DEG, SAME_PLACE_MM, SQUARE_SIN

AXES: Final = np.eye(3)
NAMES: Final = ("X", "Y", "Z")
MOST_TRIED: Final = 12
"""Heaviest directions that are tried as the first of the three."""


def parallel(first: Floats, second: Floats) -> Bools:
    """Return where unit vectors run the same or the opposite way; broadcasts over leading axes."""
    result: Bools = np.abs(np.sum(first * second, axis=-1)) >= PARALLEL_COS
    return result


def same_way(first: Floats, second: Floats, within_deg: float = SAME_ANGLE_DEG) -> Bools:
    """Return where unit vectors run the same way; broadcasts over leading axes."""
    result: Bools = np.sum(first * second, axis=-1) >= np.cos(np.radians(within_deg))
    return result


def across(first: Floats, second: Floats) -> Bools:
    """Return where unit vectors stand at a right angle; broadcasts over leading axes."""
    result: Bools = np.abs(np.sum(first * second, axis=-1)) <= SQUARE_SIN
    return result


def distinct(directions: Floats, within_deg: float = SAME_ANGLE_DEG) -> Floats:
    """Return (N, 3) unit vectors with repeats dropped, the first of each kept, in their order."""
    kept: list[Floats] = []
    for direction in directions:
        if not any(bool(same_way(direction, other, within_deg)) for other in kept):
            kept.append(direction)
    return np.array(kept).reshape(-1, 3)


@dataclass(frozen=True, slots=True)
class Frame:
    """Three right-angled directions of a part and its box along them."""

    axes: Floats  # (3, 3) one unit direction per row, right-handed
    low_mm: Floats  # (3,) lowest place along each axis, counted from the model's origin
    high_mm: Floats  # (3,)

    @property
    def size_mm(self) -> Floats:
        """(3,) length of the box along each axis."""
        size: Floats = self.high_mm - self.low_mm
        return size

    @property
    def six(self) -> Floats:
        """(6, 3) both ways along each axis: +1st, -1st, +2nd, ..."""
        return np.stack([self.axes, -self.axes], axis=1).reshape(6, 3)

    @property
    def diagonals(self) -> Floats:
        """(20, 3) the directions half way between two or three of the six, those between two first."""
        signs = np.array([(i, j, k) for i in (1, 0, -1) for j in (1, 0, -1) for k in (1, 0, -1)], dtype=float)
        count = np.abs(signs).sum(axis=1)
        chosen = np.concatenate([signs[count == 2.0], signs[count == 3.0]])
        return unit(chosen @ self.axes)

    def on_box(self, part: Part) -> Bools:
        """Return (F,) True for flat faces that lie on the box: what a blank squared to size already has."""
        flat = part.face_surface == Surface.PLANE
        on = np.zeros(part.n_faces, dtype=bool)
        for axis, low, high in zip(self.axes, self.low_mm, self.high_mm, strict=True):
            place = part.face_point_mm @ axis
            with np.errstate(invalid="ignore"):
                on |= flat & same_way(part.face_normal, axis) & (np.abs(place - high) <= SAME_PLACE_MM)
                on |= flat & same_way(part.face_normal, -axis) & (np.abs(place - low) <= SAME_PLACE_MM)
        return on

    def extent_mm(self, direction: Floats) -> float:
        """Return the box's extent along a direction (exact along the three axes, an upper bound elsewhere)."""
        return float(np.abs(self.axes @ direction) @ self.size_mm)


def frame_of(part: Part, axis: Vec | None = None) -> Frame:
    """Return the part's main directions: the three square ones along which most of its area faces.

    Planes count with their normals, cylinders and cones with their axes, each by its area; a part of free surfaces
    alone takes the principal axes of its skin. Axes that follow the model's own come in the order X, Y, Z.

    Parameters
    ----------
    part : the solid
    axis : a direction that must be the first, such as the turning axis

    Examples
    --------
    The frame of an askew block follows the block, so `size_mm` are the block's own lengths, not those of its box.
    """
    directions, weights = _weighted_directions(part)
    if axis is not None:
        axes, _ = _triple(np.array(axis, dtype=float), directions, weights)
    elif len(directions):
        tried = [_triple(first, directions, weights) for first in _heaviest(directions, weights)]
        axes = max(tried, key=lambda triple: triple[1])[0]
    else:
        axes = _principal_axes(part)
    axes = _in_model_order(axes)
    if bool((axes == AXES).all()):  # the model's own box is exact on curved faces too, the mesh only on flat ones
        return Frame(axes=axes, low_mm=part.box_mm[0], high_mm=part.box_mm[1])
    along = part.mesh.point_mm @ axes.T
    return Frame(axes=axes, low_mm=along.min(axis=0), high_mm=along.max(axis=0))


def _weighted_directions(part: Part) -> tuple[Floats, Floats]:
    """Return (N, 3) directions that the part's faces point out, and (N,) their areas."""
    shown = np.isin(part.face_surface, [Surface.PLANE, Surface.CYLINDER, Surface.CONE])
    shown &= np.isfinite(part.face_axis).all(axis=1)
    return part.face_axis[shown], part.face_area_mm2[shown]


def _heaviest(directions: Floats, weights: Floats) -> list[Floats]:
    """Return the directions whose parallels weigh most together, the heaviest first; equals in the order of faces."""
    found: list[tuple[float, Floats]] = []
    seen = np.zeros(len(directions), dtype=bool)
    for row in np.argsort(-weights, kind="stable"):
        if not seen[row]:
            alike = parallel(directions, directions[row])
            seen |= alike
            found.append((round(float(weights[alike].sum()), 6), directions[row]))
    ranked = sorted(found, key=lambda each: -each[0])
    return [direction for _, direction in ranked[:MOST_TRIED]]


def _triple(first: Floats, directions: Floats, weights: Floats) -> tuple[Floats, float]:
    """Return three square directions that start with the given one, and how much they weigh together."""
    square = across(directions, first)
    seconds = _heaviest(directions[square], weights[square])
    second = unit(seconds[0] - (seconds[0] @ first) * first) if seconds else _any_square(first)
    axes = np.stack([first, second, cross_product(first, second)])
    along = np.stack([parallel(directions, each) for each in axes]).any(axis=0)
    return axes, round(float(weights[along].sum()), 6)


def _any_square(first: Floats) -> Floats:
    """Return a direction at a right angle to the first: the model axis least along it, squared up."""
    other = AXES[int(np.argmin(np.abs(first)))]
    return unit(other - (other @ first) * first)


def _principal_axes(part: Part) -> Floats:
    """Return (3, 3) principal axes of the skin, each triangle by its area; the model's own where none has an area."""
    corner = part.mesh.point_mm[part.mesh.triangle]  # (T, 3, 3)
    middle = corner.mean(axis=1)
    area = np.linalg.norm(triangle_normals(corner), axis=1)
    if not area.any():
        return AXES.copy()
    offset = middle - np.average(middle, axis=0, weights=area)
    _, vectors = np.linalg.eigh((offset * area[:, None]).T @ offset)
    first, second = vectors[:, 2], vectors[:, 1]
    return np.stack([first, second, cross_product(first, second)])


def _in_model_order(axes: Floats) -> Floats:
    """Return the axes in the order X, Y, Z and pointing along them where they follow the model's axes."""
    if not parallel(axes[:, None, :], AXES[None, :, :]).any(axis=1).all():
        return axes
    return AXES.copy()


def direction_name(direction: Vec) -> str:
    """Return a direction as a shop would write it: "+Z", or its three components.

    >>> direction_name((0.0, 0.0, -1.0)), direction_name((0.0, 0.6, 0.8))
    ('-Z', '(0, 0.6, 0.8)')
    """
    row = np.array(direction)
    for name, model_axis in zip(NAMES, AXES, strict=True):
        if bool(parallel(row, model_axis)):
            return f"{'+' if row @ model_axis > 0 else '-'}{name}"
    return "(" + ", ".join(f"{value + 0.0:.3g}" for value in vec(np.round(row, 4))) + ")"
