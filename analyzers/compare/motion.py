"""The rigid motion that lays one revision of a body onto the other, found from the faces that did not change."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from analyzers.model.alike import alike_faces
from analyzers.model.arrays import Bools, Floats, Ints, unit
from analyzers.model.part import Part, Surface
from analyzers.tolerance import PARALLEL_COS, SAME_PLACE_MM

_LANDMARKS: Final = 8  # faces tried as first landmark, and partners tried for each of them
_ASIDE: Final = 0.05  # a second landmark lies off the first one's axis by this share of what any does
_TRIALS: Final = 400  # motions scored at most
_ENOUGH: Final = 0.999  # share of the faces' area that agrees, from which no better motion is looked for
_BETTER: Final = 1e-6  # a later motion must agree on more by this share: of equals the first stays


@dataclass(frozen=True, slots=True)
class Motion:
    """Turn a point of the old body by `turn` and shift it, and it lies on the new body.

    Attributes
    ----------
    turn : (3, 3) rotation; of determinant -1 where the new body is the mirror image of the old
    shift_mm : (3,)
    agreed : share of both bodies' area, 0..1, whose faces lie on one another
    partner : (F,) for each face of the old body the equal face of the new one; -1 = changed or gone
    """

    turn: Floats
    shift_mm: Floats
    agreed: float
    partner: Ints = field(repr=False)

    @property
    def mirrored(self) -> bool:
        """Whether a mirror is part of it."""
        return bool(np.linalg.det(self.turn) < 0.0)

    @property
    def angle_deg(self) -> float:
        """How far it turns; of a mirror image, the turn that comes with mirroring through the origin."""
        proper = -self.turn if self.mirrored else self.turn
        return float(np.degrees(np.arccos(np.clip(0.5 * (np.trace(proper) - 1.0), -1.0, 1.0))))

    def at(self, points: Floats) -> Floats:
        """Return (..., 3) points of the old body where they lie on the new one."""
        moved: Floats = points @ self.turn.T + self.shift_mm
        return moved


def find_motion(old: Part, new: Part) -> Motion:
    """Return the motion on which the most area of both bodies agrees; of equals, none before a turn before a mirror.

    Two faces of rare size and form, far apart, fix a motion; each motion is judged by the area and by the number of all
    faces that it lays onto their equals, and the best is fitted to all of those (Kabsch 1976). By their number as well:
    where one hole of a plate moved, its two sides have their old areas and other middles, and much of the area.
    """
    here, there = alike_faces(old, new)
    best = _scored(old, new, (here, there), np.eye(3), np.zeros(3))
    for mirrored in (False, True):
        for tried, (turn, shift) in enumerate(_motions(old, new, here, there, mirrored)):
            if best.agreed >= _ENOUGH or tried >= _TRIALS:
                break
            found = _scored(old, new, (here, there), turn, shift)
            if _worth(found) > _worth(best) + _BETTER:
                best = _fitted(old, new, (here, there), found)
        if best.agreed >= _ENOUGH:
            break
    return best


def _worth(motion: Motion) -> float:
    """Return 0..1 how much agrees: the mean of the shares of the area and of the faces."""
    return 0.5 * (motion.agreed + float((motion.partner >= 0).mean()))


def only_trimmed(part: Part, other: Part, faces: Ints, turn: Floats, shift: Floats) -> Bools:
    """Return (N,) True for flat faces that lie in a plane of the other body and differ in their outline alone.

    `turn` and `shift` lay `part` onto `other`.
    """
    flat = np.flatnonzero(other.face_surface == Surface.PLANE)
    normal = _axes(part)[faces] @ turn.T
    place = np.nan_to_num(part.face_origin_mm[faces]) @ turn.T + shift
    looks = normal @ other.face_axis[flat].T >= PARALLEL_COS
    level = np.einsum("ni,mi->nm", place, other.face_axis[flat])
    own = np.einsum("mi,mi->m", other.face_origin_mm[flat], other.face_axis[flat])
    found = (looks & (np.abs(level - own) <= 4 * SAME_PLACE_MM)).any(axis=1)
    trimmed: Bools = found & (part.face_surface[faces] == Surface.PLANE)
    return trimmed


def _motions(old: Part, new: Part, here: Ints, there: Ints, mirrored: bool) -> Iterator[tuple[Floats, Floats]]:
    """Yield turns and shifts that lay two faces of the old body onto two of the new, rarest faces first."""
    sense = -1.0 if mirrored else 1.0
    many = max(int(here.max(initial=0)), int(there.max(initial=0))) + 1
    often = np.minimum(np.bincount(here, minlength=many), np.bincount(there, minlength=many))
    known = np.flatnonzero(often[here] > 0)
    ranked = known[np.lexsort((-old.face_area_mm2[known], often[here[known]]))]
    with_axis = ranked[np.linalg.norm(_axes(old)[ranked], axis=1) > 0.5]
    for one in with_axis[:_LANDMARKS].tolist():
        for two in _partners_for(old, ranked, one):
            frame = _frame(old, one, two, 1.0, 1.0)
            for a in np.flatnonzero(there == here[one]).tolist():
                for b in _like(there, None if two is None else int(here[two]), a):
                    if two is not None and b is not None and not _as_far(old, (one, two), new, (a, b)):
                        continue
                    for end in (1.0,) if old.face_surface[one] == Surface.PLANE else (1.0, -1.0):
                        turn = _frame(new, a, b, sense, end).T @ frame
                        yield turn, new.face_centroid_mm[a] - turn @ old.face_centroid_mm[one]


def _like(label: Ints, wanted: int | None, but: int) -> list[int | None]:
    """Return the faces of a label, but one; [None] where no second face is wanted."""
    if wanted is None:
        return [None]
    return [int(each) for each in np.flatnonzero(label == wanted) if each != but]


def _partners_for(part: Part, ranked: Ints, one: int) -> list[int | None]:
    """Return the second landmarks for a face, off its axis; [None] where all lie on it, as on a turned part."""
    away = part.face_centroid_mm[ranked] - part.face_centroid_mm[one]
    aside = np.linalg.norm(np.cross(away, part.face_axis[one]), axis=1)
    usable = ranked[aside > max(_ASIDE * float(aside.max(initial=0.0)), 2 * SAME_PLACE_MM)]
    return [int(each) for each in usable[:_LANDMARKS]] or [None]


def _as_far(old: Part, ours: tuple[int, int], new: Part, theirs: tuple[int, int]) -> bool:
    """Return whether two faces stand to one another as two others do: distance, and its part along the first axis."""
    here = old.face_centroid_mm[ours[1]] - old.face_centroid_mm[ours[0]]
    there = new.face_centroid_mm[theirs[1]] - new.face_centroid_mm[theirs[0]]
    along, other = float(here @ old.face_axis[ours[0]]), float(there @ new.face_axis[theirs[0]])
    if old.face_surface[ours[0]] != Surface.PLANE:
        along, other = abs(along), abs(other)
    apart = abs(float(np.linalg.norm(here) - np.linalg.norm(there)))
    return max(apart, abs(along - other)) <= 4 * SAME_PLACE_MM


def _frame(part: Part, one: int, two: int | None, sense: float, end: float) -> Floats:
    """Return (3, 3) rows of a frame: along the first face's axis, the second face in its upper half plane."""
    z = end * part.face_axis[one]
    away = np.eye(3)[np.argmin(np.abs(z))] if two is None else part.face_centroid_mm[two] - part.face_centroid_mm[one]
    x = unit(away - (away @ z) * z)
    return np.stack([x, sense * np.cross(z, x), z])


def _scored(old: Part, new: Part, labels: tuple[Ints, Ints], turn: Floats, shift: Floats) -> Motion:
    partner = _agreeing(old, new, labels, turn, shift)
    kept = partner >= 0
    both = float(old.face_area_mm2[kept].sum() + new.face_area_mm2[partner[kept]].sum())
    return Motion(turn, shift, both / float(old.face_area_mm2.sum() + new.face_area_mm2.sum()), partner)


def _agreeing(old: Part, new: Part, labels: tuple[Ints, Ints], turn: Floats, shift: Floats) -> Ints:
    """Return (F,) for each old face the new one of its like at its moved place, facing the same way; -1 = none."""
    moved = old.face_centroid_mm @ turn.T + shift
    near = cKDTree(new.face_centroid_mm).query(moved, k=min(4, new.n_faces), distance_upper_bound=4 * SAME_PLACE_MM)[1]
    near = near.reshape(old.n_faces, -1)
    partner = np.full(old.n_faces, -1, dtype=np.int64)
    facing, outward = _axes(old) @ turn.T, _axes(new)
    flat = old.face_surface == Surface.PLANE
    for column in near.T[::-1]:
        found = column < new.n_faces
        other = np.where(found, column, 0)
        along = np.einsum("ij,ij->i", facing, outward[other])
        agrees = np.where(flat, along, np.abs(along)) >= PARALLEL_COS
        agrees |= np.linalg.norm(facing, axis=1) < 0.5
        fits: Bools = found & (labels[1][other] == labels[0]) & agrees
        partner[fits] = other[fits]
    return _each_once(partner)


def _axes(part: Part) -> Floats:
    """Return (F, 3) axes of the faces; zero for balls and free faces, which have none of their own."""
    has = (part.face_surface <= Surface.TORUS) & (part.face_surface != Surface.SPHERE)
    axes: Floats = np.where(has[:, None], np.nan_to_num(part.face_axis), 0.0)
    return axes


def _each_once(partner: Ints) -> Ints:
    """Return the partners with the second use of a face taken back."""
    _, first = np.unique(partner, return_index=True)
    once = np.full_like(partner, -1)
    once[first] = partner[first]
    return once


def _fitted(old: Part, new: Part, labels: tuple[Ints, Ints], rough: Motion) -> Motion:
    """Return the motion fitted to all faces that agree, if it keeps them; a mirror stays one."""
    kept = np.flatnonzero(rough.partner >= 0)
    if len(kept) < 3:
        return rough
    here, there = old.face_centroid_mm[kept], new.face_centroid_mm[rough.partner[kept]]
    middle, target = here.mean(axis=0), there.mean(axis=0)
    u, scale, vt = np.linalg.svd((here - middle).T @ (there - target))
    if scale[1] <= SAME_PLACE_MM:
        return rough  # all on one line: the turn about it is not fixed by their middles
    hand = np.sign(np.linalg.det(u @ vt)) * (-1.0 if rough.mirrored else 1.0)
    turn = (u @ np.diag([1.0, 1.0, hand]) @ vt).T
    fitted = _scored(old, new, labels, turn, target - turn @ middle)
    return fitted if fitted.agreed >= rough.agreed else rough
