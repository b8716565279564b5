"""What every sample sees straight across the material, or straight across the air: the raw sight lines."""

from dataclasses import dataclass, fields, replace

import numpy as np

from analyzers.measures._sample import Samples
from analyzers.measures._surface import analytic, dot, feet, outward
from analyzers.model.arrays import Bools, Floats, Ints, cross_product
from analyzers.model.geometry import Geometry
from analyzers.model.part import Part
from analyzers.tolerance import (
    FREE_PAIRS_MOST,
    FREE_SIGHTS_PER_PAIR,
    RAY_START_MIN_MM,
    RAY_START_RATIO,
    WIDEST_SIGHT_DEG,
)


@dataclass(frozen=True, slots=True)
class Sights:
    """K sight lines; `first < second` or equal where a face sees itself. Ends lie on the exact analytic surfaces."""

    first: Ints  # (K,)
    second: Ints  # (K,)
    first_mm: Floats  # (K, 3)
    second_mm: Floats  # (K, 3)
    distance_mm: Floats  # (K,)
    tilt_deg: Floats  # (K,) angle by which the two faces miss being parallel there; nan = free face, not looked up
    sample: Ints  # (K,) the sample it was cast from

    def __len__(self) -> int:
        return len(self.first)

    def only(self, rows: Bools | Ints) -> "Sights":
        """Return the same with some rows."""
        return Sights(*(getattr(self, each.name)[rows] for each in fields(self)))


def joined_sights(first: Sights, second: Sights) -> Sights:
    """Return both."""
    return Sights(*(np.concatenate([getattr(first, each.name), getattr(second, each.name)]) for each in fields(first)))


def look_across(part: Part, geometry: Geometry, samples: Samples, through: float, free_tilts: bool = True) -> Sights:
    """Return what the samples see along their face's normal; `through` 1 = the material, -1 = the air.

    Sight lines to nothing and to a face more than WIDEST_SIGHT_DEG away from opposing are left out; with `free_tilts`
    also most of those between free faces, and the others have their tilt.
    """
    known = analytic(part, samples.face)
    start = np.where(known[:, None], feet(part, samples.face, samples.point_mm), samples.point_mm)
    normal = np.where(known[:, None], outward(part, samples.face, start), samples.normal)
    ahead = -through * normal
    off = start_off(part)
    distance, seen = geometry.first_hits(samples.point_mm + off * ahead, ahead)

    rows = np.flatnonzero(seen >= 0)
    seen = seen[rows]
    hit = samples.point_mm[rows] + (off + distance[rows])[:, None] * ahead[rows]
    end = feet(part, seen, hit)
    tilt = angle_deg(normal[rows], -outward(part, seen, end))
    here, turned = samples.face[rows], samples.face[rows] > seen
    sights = Sights(
        first=np.where(turned, seen, here),
        second=np.where(turned, here, seen),
        first_mm=np.where(turned[:, None], end, start[rows]),
        second_mm=np.where(turned[:, None], start[rows], end),
        distance_mm=np.linalg.norm(end - start[rows], axis=1),
        tilt_deg=tilt,
        sample=rows,
    ).only(~(tilt > WIDEST_SIGHT_DEG))
    return _with_free_tilts(part, geometry, sights) if free_tilts else sights


def start_off(part: Part) -> float:
    """Return how far off its face a ray starts, in mm."""
    return max(RAY_START_RATIO * part.diagonal_mm, RAY_START_MIN_MM)


def angle_deg(first: Floats, second: Floats) -> Floats:
    """Return (N,) angles between unit vectors; nan where one is nan."""
    with np.errstate(invalid="ignore"):
        angle: Floats = np.degrees(np.arctan2(np.linalg.norm(cross_product(first, second), axis=1), dot(first, second)))
    return angle


def exact_normals(part: Part, geometry: Geometry, face: Ints, point_mm: Floats) -> Floats:
    """Return (N, 3) outward normals: from the arrays where they know the surface, else from the kernel."""
    normal = outward(part, face, point_mm)
    free = np.flatnonzero(~analytic(part, face))
    if len(free):
        normal[free] = geometry.normals(face[free], point_mm[free])
    return normal


def _with_free_tilts(part: Part, geometry: Geometry, sights: Sights) -> Sights:
    """Return the sights with the tilts of free faces looked up, for the thinnest of the thinnest pairs only.

    One look-up costs about as much as a hundred rays; the other sights of free faces go.
    """
    free = np.flatnonzero(~(analytic(part, sights.first) & analytic(part, sights.second)))
    if not len(free):
        return sights
    pair = sights.first[free] * part.n_faces + sights.second[free]
    order = np.lexsort((sights.distance_mm[free], pair))
    rank = _rank_in_group(pair[order])
    thinnest = np.sort(sights.distance_mm[free][order][rank == 0])
    cut = thinnest[min(len(thinnest), FREE_PAIRS_MOST) - 1]
    size = np.bincount(np.cumsum(rank == 0) - 1)  # sights per pair
    best, size = np.repeat(sights.distance_mm[free][order][rank == 0], size), np.repeat(size, size)
    stride = np.maximum(size // FREE_SIGHTS_PER_PAIR, 1)
    keep = (best <= cut) & ((rank < FREE_SIGHTS_PER_PAIR // 2) | (rank % stride == 0))
    chosen = free[order[keep]]

    first = exact_normals(part, geometry, sights.first[chosen], sights.first_mm[chosen])
    second = exact_normals(part, geometry, sights.second[chosen], sights.second_mm[chosen])
    tilt = sights.tilt_deg.copy()
    tilt[chosen] = angle_deg(first, -second)
    gone = np.zeros(len(sights), dtype=bool)
    gone[free] = True
    gone[chosen] = ~(tilt[chosen] <= WIDEST_SIGHT_DEG)
    return replace(sights, tilt_deg=tilt).only(~gone)


def _rank_in_group(group: Ints) -> Ints:
    """Return (N,) the place of each row within its run of equal values: 0, 1, 2, ..."""
    start = np.flatnonzero(np.append(True, group[1:] != group[:-1]))
    rank: Ints = np.arange(len(group)) - np.repeat(start, np.diff(np.append(start, len(group))))
    return rank
