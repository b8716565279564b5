"""Free-form regions: connected faces that follow no plane, cylinder, cone, sphere or torus (ISO 14649-10 `region`)."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from analyzers.features._view import View
from analyzers.model.arrays import unit, vec
from analyzers.model.facegraph import groups, members
from analyzers.model.feature import FaceClass, Feature, mm_text
from analyzers.model.part import Surface

RANK = 80

_ANALYTIC = (Surface.PLANE, Surface.CYLINDER, Surface.CONE, Surface.SPHERE, Surface.TORUS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Region(Feature):
    """Finished with a ball-nose cutter whose radius stays below `min_concave_radius_mm`."""

    kind: ClassVar[str] = "region"
    face_class: ClassVar[FaceClass] = "freeform"

    area_mm2: float
    min_concave_radius_mm: float | None  # None = nowhere concave

    def callout(self) -> str:
        """Return for example "FREEFORM R2 MIN"."""
        radius = "" if self.min_concave_radius_mm is None else f" R{mm_text(self.min_concave_radius_mm)} MIN"
        return f"FREEFORM{radius}"


def propose(view: View) -> Iterator[Region]:
    """Yield the free faces of no analytic kind, connected ones together."""
    part = view.part
    loose = view.free & ~np.isin(part.face_surface, _ANALYTIC)
    left, right = part.edge_faces.T
    touch = (left >= 0) & (right >= 0)
    touch[touch] = loose[left[touch]] & loose[right[touch]]
    label = groups(part.n_faces, part.edge_faces[touch])
    for faces in members(label, np.flatnonzero(loose).tolist()):
        rows = list(faces)
        hollow = part.face_min_radius_mm[rows]
        hollow = hollow[np.isfinite(hollow)]
        outward = (part.face_normal[rows] * part.face_area_mm2[rows, None]).sum(axis=0)
        largest = rows[int(np.argmax(part.face_area_mm2[rows]))]
        yield Region(
            faces=faces,
            direction=vec(unit(outward)) if np.linalg.norm(outward) > 1e-9 else vec(part.face_normal[largest]),
            position_mm=vec(part.face_centroid_mm[largest]),
            area_mm2=float(part.face_area_mm2[rows].sum()),
            min_concave_radius_mm=float(hollow.min()) if len(hollow) else None,
            why="follows no plane, cylinder, cone, sphere or torus",
        )
