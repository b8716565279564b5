"""What a measure may ask of the geometry beyond the arrays; the kernel answers, tests may answer from formulas."""

from dataclasses import dataclass
from typing import Protocol

from analyzers.model.arrays import Bools, Floats, Ints, Vec


@dataclass(frozen=True, slots=True)
class Closest:
    """The shortest way between two faces."""

    distance_mm: float
    first_mm: Vec  # the end on the first face
    second_mm: Vec  # the end on the second face


class Geometry(Protocol):
    """Questions to one solid. All arrays have one row per query; lengths are millimetres."""

    def first_hits(self, origin_mm: Floats, direction: Floats) -> tuple[Floats, Ints]:
        """Return (N,) distance to the first triangle along each ray and (N,) its face.

        Accuracy is the mesh's chord. No hit: inf and -1. A ray that starts on a face must be given a start
        that is off it: nothing is skipped here.
        """

    def normals(self, face: Ints, point_mm: Floats) -> Floats:
        """Return (N, 3) exact outward unit normals of the faces at the foot of each point."""

    def inside(self, point_mm: Floats) -> Bools:
        """Return (N,) True where the point lies in the material (by parity of mesh crossings)."""

    def closest(self, first_face: int, second_face: int) -> Closest | None:
        """Return the exact shortest distance between two faces of the B-rep; None where the kernel gave up."""
