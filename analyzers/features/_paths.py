"""Slots along a bent or round path: walls that keep one distance from one another all the way."""

from collections import Counter

import numpy as np

from analyzers.features._hollows import Hollow, enclosure
from analyzers.features._reach import reach
from analyzers.features._view import View
from analyzers.model.arrays import Floats, cross_product, unit
from analyzers.model.part import Surface
from analyzers.tolerance import PARALLEL_COS, SAME_PLACE_MM, SQUARE_SIN

_ACROSS = 0.1  # part of a wall's normal along the cutter: upright walls, draft left out
_KEPT_SHARE = 0.6  # of a bent slot's wall keeps its width; the rest lies at bends and ends
_UNEVEN_SHARE = 0.25  # of a slot's walls at most stand nearer than its width; beyond it is a pocket that narrows
_STRAIGHT = 0.98  # cosine between walls up to which they bend


def bent_path(view: View, hollow: Hollow, floors: tuple[int, ...], direction: Floats) -> tuple[float, float] | None:
    """Return length and width of a slot along a path that is not straight; None where the hollow is none.

    The length is that of the middle line, by the floor's area: a strip of one width has that length times the width,
    however it is bent (Pappus).
    """
    width = _kept_width(view, hollow, direction) if floors else None
    if width is None:
        return None
    return float(view.part.face_area_mm2[list(floors)].sum()) / width, width


def round_ended(view: View, walls: list[int], direction: Floats) -> tuple[float, float] | None:
    """Return length over all, along the middle line, and width of walls that make an obround, straight or bent.

    Two walls, flat and parallel or round about one axis, joined by two half cylinders; None for all others.
    """
    part = view.part
    if not np.isin(part.face_surface[walls], (Surface.PLANE, Surface.CYLINDER)).all():
        return None
    pieces: dict[int, list[int]] = {}
    for face in walls:
        pieces.setdefault(int(view.surface[face]), []).append(face)
    if len(pieces) != 4:
        return None
    ends = sorted(pieces.values(), key=lambda each: (_radius(view, each[0]), each))[:2]
    sides = [each for each in pieces.values() if each not in ends]
    radius = [_radius(view, each[0]) for each in ends]
    width = _between(view, sides[0][0], sides[1][0], 0.0)
    if not np.isfinite(radius).all() or max(abs(2.0 * each - width) for each in radius) > SAME_PLACE_MM:
        return None
    upright = part.face_axis[[face for each in (*ends, *sides) for face in each]] @ direction
    flat = part.face_surface[[face for each in (*ends, *sides) for face in each]] == Surface.PLANE
    if (np.abs(upright[~flat]) < PARALLEL_COS).any() or (np.abs(upright[flat]) > SQUARE_SIN).any():
        return None
    if part.face_surface[sides[0][0]] == Surface.PLANE:
        low, high = reach(view, walls, unit(cross_product(direction, part.face_axis[sides[0][0]])))
        return high - low, width
    turn = max(float(part.face_span_deg[each].sum()) for each in sides)
    middle_mm = 0.5 * sum(_radius(view, each[0]) for each in sides)
    return float(np.radians(turn)) * middle_mm + width, width


def _radius(view: View, face: int) -> float:
    """Return the radius of a hollow round wall as it is, of a bulging one too; inf for a flat one."""
    radius = float(view.part.face_radius_mm[face])
    return radius if np.isfinite(radius) else np.inf


def uneven(view: View, hollow: Hollow, direction: Floats, width_mm: float) -> bool:
    """Return whether many places of its upright flat walls face another wall nearer than the whole width."""
    flat = tuple(face for face in hollow.faces if view.part.face_surface[face] == Surface.PLANE)
    gaps = [gap for _, gap in _gaps(view, hollow, flat, direction)]
    return bool(gaps) and sum(gap < width_mm - view.lookouts.lift_mm for gap in gaps) > _UNEVEN_SHARE * len(gaps)


def _gaps(view: View, hollow: Hollow, faces: tuple[int, ...], direction: Floats) -> list[tuple[int, float]]:
    """Return for each place of some upright walls that looks straight at another wall its face and how far that is."""
    rows = view.lookouts.of(faces)
    rows = rows[np.abs(view.lookouts.normal[rows] @ direction) < _ACROSS]
    if not len(rows):
        return []
    ahead, hit = view.geometry.first_hits(view.lookouts.point_mm[rows], view.lookouts.normal[rows])
    own = np.isin(hit, enclosure(view, hollow.faces))
    face, gap = view.lookouts.face[rows], ahead + view.lookouts.lift_mm
    triples = zip(face[own].tolist(), hit[own].tolist(), gap[own].tolist(), strict=True)
    return [(first, _between(view, first, second, measured)) for first, second, measured in triples]


def _kept_width(view: View, hollow: Hollow, direction: Floats) -> float | None:
    """Return the width that upright walls which bend keep between them; None where they keep none or are straight."""
    gaps = _gaps(view, hollow, hollow.faces, direction)
    if not gaps:
        return None
    upright = np.abs(view.lookouts.normal[view.lookouts.of(hollow.faces)] @ direction) < _ACROSS
    width = np.array([gap for _, gap in gaps])
    usual, _ = max(Counter(width.tolist()).items(), key=lambda each: (each[1], -each[0]))
    kept = np.abs(width - usual) <= view.lookouts.lift_mm
    walls = sorted({face for (face, _), one in zip(gaps, kept.tolist(), strict=True) if one})
    return float(usual) if kept.sum() >= _KEPT_SHARE * upright.sum() and _bends(view, walls) else None


def _bends(view: View, walls: list[int]) -> bool:
    """Return whether walls run more ways than one: flat ones that are not parallel, or two round ones."""
    part = view.part
    flat = [face for face in walls if part.face_surface[face] == Surface.PLANE]
    round_ = [face for face in walls if part.face_surface[face] == Surface.CYLINDER]
    turned = len(flat) > 1 and float(np.abs(part.face_axis[flat] @ part.face_axis[flat[0]]).min()) < _STRAIGHT
    return turned or bool(part.face_concave[round_].any() and not part.face_concave[round_].all())


def _between(view: View, first: int, second: int, measured_mm: float) -> float:
    """Return the exact distance of parallel planes or coaxial cylinders, else the one measured on the triangulation."""
    part = view.part
    kinds = {int(part.face_surface[first]), int(part.face_surface[second])}
    if abs(float(part.face_axis[first] @ part.face_axis[second])) > PARALLEL_COS:
        offset = part.face_origin_mm[second] - part.face_origin_mm[first]
        along = float(offset @ part.face_axis[first])
        if kinds == {Surface.PLANE}:
            return round(abs(along), 6)
        aside = float(np.linalg.norm(offset - along * part.face_axis[first]))
        if kinds == {Surface.CYLINDER} and aside <= SAME_PLACE_MM:
            return round(abs(float(part.face_radius_mm[first] - part.face_radius_mm[second])), 6)
    return round(measured_mm, 6)
