"""Blend faces of one radius in a row: with their corner patches one chain, one feature."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from analyzers.features._threads import threaded
from analyzers.features._view import View
from analyzers.model.arrays import Bools, Vec, vec
from analyzers.model.facegraph import groups, members
from analyzers.model.part import Surface
from analyzers.tolerance import SAME_PLACE_MM

_ALONG = 0.98  # cosine up to which an edge leans from the axis of a blend it runs along


@dataclass(frozen=True, slots=True)
class Chain:
    """One chain. `direction`: the way from which most of it is reached; `position_mm`: the middle of its first face."""

    faces: tuple[int, ...]
    radius_mm: float | None  # the smallest where it varies
    largest_radius_mm: float | None  # None where it does not vary
    variable: bool
    direction: Vec
    position_mm: Vec


def blend_chains(view: View, concave: bool) -> Iterator[Chain]:
    """Yield the chains of free hollow (or bulging) blends, in order of their lowest face."""
    part, blends = view.part, view.blends
    wanted = blends.is_blend & view.free & (blends.concave == concave) & ~threaded(view)
    radius = blends.radius_mm
    left, right = part.edge_faces.T
    run = (view.smooth | _mitred(view)) & (left >= 0) & (right >= 0)
    run[run] = wanted[left[run]] & wanted[right[run]]
    known = np.isfinite(radius)
    with np.errstate(invalid="ignore"):
        alike = np.abs(radius[left] - radius[right]) <= SAME_PLACE_MM
    run &= alike | ~known[left] | ~known[right]
    label = groups(part.n_faces, part.edge_faces[run])
    for faces in members(label, np.flatnonzero(wanted).tolist()):
        yield _chain(view, faces)


def _mitred(view: View) -> Bools:
    """Return (E,) edges that run across the blends on both sides: two rolls of the ball that meet in a corner.

    An edge along a blend is the crest between two blends that run side by side, so no mitre.
    """
    part = view.part
    left, right = part.edge_faces.T
    across: Bools = (view.convex | view.concave) & view.blends.is_blend[left] & view.blends.is_blend[right]
    for side in (left, right):
        straight = np.isin(part.face_surface[side], (Surface.CYLINDER, Surface.CONE))
        lean = np.abs(np.einsum("ij,ij->i", part.edge_tangent, np.nan_to_num(part.face_axis[side])))
        across &= ~(straight & (lean > _ALONG))
    return across


def _chain(view: View, faces: tuple[int, ...]) -> Chain:
    part, rows = view.part, list(faces)
    radius = view.blends.radius_mm[rows]
    known = radius[np.isfinite(radius)]
    free = np.abs(part.face_ball_radius_mm[rows])
    cones = part.face_surface[rows] == Surface.CONE
    wide = np.where(cones, view.blends.wide_radius_mm[rows], radius)
    bends = np.concatenate([known, wide[np.isfinite(wide)]]) if len(known) else free[np.isfinite(free)]
    smallest, largest = (float(bends.min()), float(bends.max())) if len(bends) else (None, None)
    variable = smallest is None or largest is None or largest - smallest > SAME_PLACE_MM
    direction = view.easiest_way(faces)
    return Chain(
        faces, smallest, largest if variable else None, variable, vec(direction), vec(part.face_centroid_mm[rows[0]])
    )
