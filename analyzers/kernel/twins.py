"""Finds bodies that are the same solid written several times, moved but not mirrored."""

from collections.abc import Iterator

import numpy as np
from scipy.spatial import cKDTree

from analyzers.model.alike import alike_faces
from analyzers.model.arrays import Bools, Floats, Ints, cross_product, unit
from analyzers.model.part import Part, Surface
from analyzers.tolerance import MASS_ERROR, PARALLEL_COS, SAME_PLACE_MM

_TRIALS = 500  # pairs of landmarks tried; parts with more equal faces than that need no more than a few
_FAR = 0.2  # a landmark is this share of the largest distance from the middle, so that its direction is certain


def same_solid(first: Part, second: Part) -> bool:
    """Return whether one part is the other, moved and turned (never mirrored), its faces in any order.

    Two faces that lie off the middle, the rarest of their kind, fix a rigid motion; it must bring every face onto a
    face of its kind, side, area and radius within SAME_PLACE_MM, after a best fit over all of them (Kabsch 1976).
    """
    if first.n_faces != second.n_faces or not np.isclose(first.area_mm2, second.area_mm2, rtol=10 * MASS_ERROR):
        return False
    here, there = alike_faces(first, second)
    if not np.array_equal(np.sort(here), np.sort(there)):
        return False
    return any(_brings_together(first, second, here, there, turn) for turn in _turns(first, second, here, there))


def _turns(first: Part, second: Part, label: Ints, other: Ints) -> Iterator[Floats]:
    """Yield (3, 3) rotations, about the middle, that lay two landmarks of the first part onto faces of the second."""
    here, there = _places(first), _places(second)
    away = np.linalg.norm(here, axis=1)
    rare = np.bincount(label)[label]
    far = np.flatnonzero(away > _FAR * away.max())
    if away.max() <= SAME_PLACE_MM or not len(far):
        yield np.eye(3)  # every face lies about the middle: a ball, a block of one centre
        return
    one = int(far[np.argmin(rare[far])])
    off_line = np.linalg.norm(cross_product(here, here[one] / away[one]), axis=1)
    aside = np.flatnonzero(off_line > max(_FAR * off_line.max(), 2 * SAME_PLACE_MM))
    two = int(aside[np.argmin(rare[aside])]) if len(aside) else None
    pairs = _pairs(here, there, other == label[one], None if two is None else other == label[two], (one, two))
    for a, b in pairs[:_TRIALS].tolist():
        if two is None:
            yield _frame(there[a], None).T @ _frame(here[one], None)
        else:
            yield _frame(there[a], there[b]).T @ _frame(here[one], here[two])


def _pairs(here: Floats, there: Floats, like_one: Bools, like_two: Bools | None, marks: tuple[int, int | None]) -> Ints:
    """Return (N, 2) faces of the second part that may be the landmarks: as far from the middle and from one another."""
    one, two = marks
    away = np.linalg.norm(there, axis=1)
    firsts = np.flatnonzero(like_one & (np.abs(away - np.linalg.norm(here[one])) <= 2 * SAME_PLACE_MM))
    if two is None or like_two is None:
        return np.stack([firsts, firsts], axis=1)
    seconds = np.flatnonzero(like_two & (np.abs(away - np.linalg.norm(here[two])) <= 2 * SAME_PLACE_MM))
    gap = np.linalg.norm(there[firsts][:, None] - there[seconds][None], axis=2)
    rows, columns = np.nonzero(np.abs(gap - np.linalg.norm(here[one] - here[two])) <= 4 * SAME_PLACE_MM)
    return np.stack([firsts[rows], seconds[columns]], axis=1)


def _frame(along: Floats, aside: Floats | None) -> Floats:
    """Return (3, 3) rows of a right-handed frame: along the first vector, the second in its upper half plane."""
    x = unit(along)
    other = np.eye(3)[np.argmin(np.abs(x))] if aside is None else aside
    z = unit(cross_product(x, other))
    return np.stack([x, cross_product(z, x), z])


def _places(part: Part) -> Floats:
    """Return (F, 3) centroids of the faces from the solid's own."""
    places: Floats = part.face_centroid_mm - np.array(part.centroid_mm)
    return places


def _brings_together(first: Part, second: Part, label: Ints, other: Ints, turn: Floats) -> bool:
    """Return whether a rotation lays each face onto one of its like, and their axes and normals too."""
    here, there = _places(first), _places(second)
    partner = _partners(here @ turn.T, there, label, other)
    if partner is None:
        return False
    turn = _best_turn(here, there[partner])
    partner = _partners(here @ turn.T, there, label, other)
    if partner is None or np.linalg.norm(here @ turn.T - there[partner], axis=1).max() > SAME_PLACE_MM:
        return False
    along = np.einsum("ij,ij->i", first.face_axis @ turn.T, second.face_axis[partner])
    lean = np.where(first.face_surface == Surface.PLANE, along, np.abs(along))
    known = np.isfinite(lean) & (first.face_surface != Surface.SPHERE)  # a ball has no axis of its own
    return bool((lean[known] >= PARALLEL_COS).all())


def _partners(here: Floats, there: Floats, label: Ints, other: Ints) -> Ints | None:
    """Return (F,) for each face a different one of its like at its place; None where one has none."""
    taken = np.zeros(len(there), dtype=bool)
    partner = np.full(len(here), -1, dtype=np.int64)
    for face, near in enumerate(cKDTree(here).query_ball_tree(cKDTree(there), 4 * SAME_PLACE_MM)):
        free = [each for each in near if other[each] == label[face] and not taken[each]]
        if not free:
            return None
        best = min(free, key=lambda each: float(np.linalg.norm(there[each] - here[face])))
        partner[face], taken[best] = best, True
    return partner


def _best_turn(here: Floats, there: Floats) -> Floats:
    """Return the (3, 3) rotation that lays paired (N, 3) points best onto one another (Kabsch 1976)."""
    u, _, vt = np.linalg.svd(here.T @ there)
    proper = np.diag([1.0, 1.0, float(np.sign(np.linalg.det(u @ vt)))])
    turn: Floats = (u @ proper @ vt).T
    return turn
