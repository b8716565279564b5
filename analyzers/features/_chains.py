"""Blend faces of one radius in a row: with their corner patches one chain, one feature."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from analyzers.features._view import View
from analyzers.model.arrays import Vec, vec
from analyzers.model.facegraph import groups, members
from analyzers.model.part import Surface
from analyzers.tolerance import SAME_PLACE_MM


@dataclass(frozen=True, slots=True)
class Chain:
    """One chain. `direction`: the way from which most of it is reached; `position_mm`: the middle of its first face."""

    faces: tuple[int, ...]
    radius_mm: float | None  # the smallest where it varies
    variable: bool
    direction: Vec
    position_mm: Vec


def blend_chains(view: View, concave: bool) -> Iterator[Chain]:
    """Yield the chains of free hollow (or bulging) blends, in order of their lowest face."""
    part, blends = view.part, view.blends
    wanted = blends.is_blend & view.free & (blends.concave == concave)
    radius = blends.radius_mm
    left, right = part.edge_faces.T
    run = view.smooth & (left >= 0) & (right >= 0)
    run[run] = wanted[left[run]] & wanted[right[run]]
    known = np.isfinite(radius)
    with np.errstate(invalid="ignore"):
        alike = np.abs(radius[left] - radius[right]) <= SAME_PLACE_MM
    run &= alike | ~known[left] | ~known[right]
    label = groups(part.n_faces, part.edge_faces[run])
    for faces in members(label, np.flatnonzero(wanted).tolist()):
        yield _chain(view, faces)


def _chain(view: View, faces: tuple[int, ...]) -> Chain:
    part, rows = view.part, list(faces)
    radius = view.blends.radius_mm[rows]
    known = radius[np.isfinite(radius)]
    bends = part.face_min_radius_mm[rows]
    free = bends[np.isfinite(bends)]
    smallest = float(known.min()) if len(known) else float(free.min()) if len(free) else None
    cones = bool((part.face_surface[rows] == Surface.CONE).any())
    variable = cones or not len(known) or bool(np.ptp(known) > SAME_PLACE_MM)
    direction = view.easiest_way(faces)
    return Chain(faces, smallest, variable, vec(direction), vec(part.face_centroid_mm[rows[0]]))
