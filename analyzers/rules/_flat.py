"""The two opposite sides of a flat body: how much of its surface they are, and how far apart."""

from dataclasses import dataclass

import numpy as np

from analyzers.model.arrays import Floats
from analyzers.model.part import Part, Surface
from analyzers.tolerance import PARALLEL_COS


@dataclass(frozen=True, slots=True)
class MainSides:
    """The pair of plane sides with the largest area, facing away from one another."""

    normal: Floats  # (3,) unit
    area_mm2: float  # of both together
    apart_mm: float  # extent of the whole body along the normal


def main_sides(part: Part) -> MainSides | None:
    """Return the largest pair of opposite plane sides; None where no planes face away from one another.

    Coplanar and stepped faces of one direction count together.
    """
    planes = np.flatnonzero(part.face_surface == Surface.PLANE)
    if not len(planes) or not len(part.vertex_mm):
        return None
    normal, area = part.face_normal[planes], part.face_area_mm2[planes]
    along = normal @ normal.T  # (P, P)
    same, against = along > PARALLEL_COS, along < -PARALLEL_COS
    pair = np.where(against.any(axis=1), (same | against) @ area, 0.0)
    best = int(np.argmax(pair))
    if pair[best] <= 0.0:
        return None
    return MainSides(normal[best], float(pair[best]), float(np.ptp(part.vertex_mm @ normal[best])))
