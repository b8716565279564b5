"""The signature of a body: numbers that stay when it is moved, turned, written as splines or its faces re-ordered.

Sizes are logarithms, so that a difference of 0.01 in any of them is one per cent. What tells a body from its mirror
image is kept apart, because everything else is the same for both.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from analyzers.model.arrays import Floats, cross_product, frozen, triangle_normals
from analyzers.model.part import Part, Surface

_CORNER_SHARE: Final = 0.5
_MIDDLE_SHARE: Final = 1.0 / 6.0
_CORNER_WEIGHT: Final = 9.0 / 20.0
_MIDDLE_WEIGHT: Final = -4.0 / 5.0
"""Quadrature over a tetrahedron, exact to degree 3: one point in the middle and one near each corner, at half of that
corner and a sixth of each other one (Zienkiewicz & Taylor, The Finite Element Method, table of tetrahedra, order 3)."""

_FREE: Final = (Surface.REVOLUTION, Surface.EXTRUSION, Surface.BSPLINE, Surface.OTHER)
_KINDS: Final = ((Surface.PLANE,), (Surface.CYLINDER,), (Surface.CONE,), (Surface.SPHERE,), (Surface.TORUS,), _FREE)

_CERTAIN: Final = 10.0
"""What tells the hand must be this many times larger than the error of the mesh could make it."""

_LEAST_ERROR: Final = 1e-7
"""Share by which the volume of a mesh is off at least: of flat faces it is exact but for the file's own 1e-7."""

LENGTH: Final = 21
"""Numbers of a signature, without those of its hand."""


@dataclass(frozen=True, slots=True)
class Signature:
    """What a body is like.

    Attributes
    ----------
    numbers : (LENGTH,) the same for a body and its mirror image
    hand : (2,) change sign, and nothing else, for the mirror image; 0 = no difference, or none that is certain
    """

    numbers: Floats
    hand: Floats

    @classmethod
    def read(cls, body: Mapping[str, Any]) -> "Signature | None":
        """Return the signature that a report's document carries for a body; None where the document has none."""
        said = body.get("signature")
        return said and cls(np.array(said["numbers"], dtype=float), np.array(said["hand"], dtype=float))


def signature_of(part: Part) -> Signature:
    """Return the signature of a part.

    Volume and area are the exact ones; second and third moments are those of the mesh, about its centroid, as
    invariants of rotation (traces and contractions of the tensors, after Lo & Don 1989, "3-D moment forms").
    """
    point, weight = _inside(part)
    volume = max(float(weight.sum()), 1e-12)
    size = volume ** (1.0 / 3.0)
    place = (point - (weight @ point) / volume) / size
    share = weight / volume
    weighted = share[:, None] * place
    second = place.T @ weighted
    third = ((place[:, :, None] * place[:, None, :]).reshape(-1, 9).T @ weighted).reshape(3, 3, 3)
    numbers = np.concatenate(
        [
            np.log([max(part.volume_mm3, 1e-12) ** (1.0 / 3.0), max(part.area_mm2, 1e-12) ** 0.5]),
            _second_invariants(second),
            _third_invariants(second, third),
            _of_surface(part, size),
            _of_kinds(part),
        ]
    )
    error = max(_LEAST_ERROR, abs(volume / part.volume_mm3 - 1.0)) if part.volume_mm3 > 0.0 else 1.0
    return Signature(frozen(numbers), frozen(_hand(second, third, error)))


def _inside(part: Part) -> tuple[Floats, Floats]:
    """Return (5 T, 3) points and (5 T,) weights that integrate cubics over the solid, one tetrahedron a triangle."""
    corner = (part.mesh.point_mm - part.box_mm.mean(axis=0))[part.mesh.triangle]  # (T, 3, 3)
    first, second, third = corner[:, 0], corner[:, 1], corner[:, 2]
    volume = np.einsum("ij,ij->i", first, cross_product(second, third)) / 6.0
    total = first + second + third
    near = _MIDDLE_SHARE * total[:, None] + (_CORNER_SHARE - _MIDDLE_SHARE) * corner
    points = np.concatenate([near.reshape(-1, 3), _MIDDLE_SHARE * total, 0.25 * total])
    weights = np.concatenate([np.repeat(_CORNER_WEIGHT * volume, 3), _CORNER_WEIGHT * volume, _MIDDLE_WEIGHT * volume])
    return points, weights


def _second_invariants(second: Floats) -> Floats:
    """Return (3,) logarithms of the principal radii of the body, longest first."""
    spread = np.linalg.eigvalsh(np.nan_to_num(second, posinf=0.0, neginf=0.0))[::-1]  # nan: no usable geometry
    logs: Floats = 0.5 * np.log(np.maximum(spread, 1e-12))
    return logs


def _third_invariants(second: Floats, third: Floats) -> Floats:
    """Return (4,) sizes of the lopsidedness, of which 0.01 counts like one per cent of a size."""
    lean = np.einsum("ijj->i", third)
    values = [lean @ lean, np.sum(third * third), lean @ second @ lean, lean @ second @ second @ lean]
    roots: Floats = np.sqrt(np.maximum(values, 0.0))
    return roots


def _of_surface(part: Part, size: float) -> Floats:
    """Return (3,) logarithms of the principal radii of the skin, longest first."""
    corner = (part.mesh.point_mm - part.box_mm.mean(axis=0))[part.mesh.triangle] / size
    first, second, third = corner[:, 0], corner[:, 1], corner[:, 2]
    normal = triangle_normals(corner)
    area = 0.5 * np.sqrt(np.einsum("ij,ij->i", normal, normal))
    total = max(float(area.sum()), 1e-12)
    middle = (first + second + third) / 3.0
    place = np.concatenate([corner.reshape(-1, 3), middle]) - (area @ middle) / total
    weight = np.concatenate([np.repeat(area / 12.0, 3), area * 0.75]) / total  # exact to degree 2
    spread = np.linalg.eigvalsh(np.nan_to_num(place.T @ (weight[:, None] * place), posinf=0.0, neginf=0.0))[::-1]
    logs: Floats = 0.5 * np.log(np.maximum(spread, 1e-12))
    return logs


def _of_kinds(part: Part) -> Floats:
    """Return (9,) shares of the area that are plane, round, ...; sharp edge lengths; bending of the skin."""
    area = part.face_area_mm2 / max(part.area_mm2, 1e-12)
    shares = [float(area[np.isin(part.face_surface, kinds)].sum()) for kinds in _KINDS]
    size = max(part.area_mm2, 1e-12) ** 0.5
    convex, concave = part.edge_angle_deg < 170.0, part.edge_angle_deg > 190.0
    lengths = [float(part.edge_length_mm[sharp].sum()) / size for sharp in (convex, concave)]
    round_ = np.isin(part.face_surface, (Surface.CYLINDER, Surface.SPHERE)) & (part.face_radius_mm > 0.0)
    side = np.where(part.face_concave[round_], -1.0, 1.0)
    bending = float(np.sum(side * area[round_] * size / part.face_radius_mm[round_]))
    return np.array([*shares, *np.log1p(lengths), np.arcsinh(bending)])


def _hand(second: Floats, third: Floats, error: float) -> Floats:
    """Return (2,) numbers that change sign in a mirror; 0 where the mesh, off by `error` of its volume, cannot tell.

    In the frame of the principal axes each is odd in all three axes, times the frame's own handedness; so the free
    choice of the axes' senses cancels. The nearer two principal moments, the less certain the axes between them.
    """
    spread, axes = np.linalg.eigh(np.nan_to_num(second, posinf=0.0, neginf=0.0))
    gap = float(np.diff(spread).min())
    if gap <= 0.0:
        return np.zeros(2)
    turned = np.einsum("ijk,ia,jb,kc->abc", third, axes, axes, axes)
    lean = np.einsum("ijj->i", turned)
    hand = float(np.linalg.det(axes)) * np.array([turned[0, 1, 2], np.sign(np.prod(lean)) * np.abs(lean).min()])
    doubt = _CERTAIN * error * (float(spread.sum()) ** 1.5 + float(spread.sum()) / gap * float(np.linalg.norm(third)))
    told: Floats = np.where(np.abs(hand) > doubt, hand, 0.0)
    return told
