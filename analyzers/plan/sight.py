"""Which places of a part a cutter coming straight along a direction can touch without cutting through the part."""

from typing import Final

import numpy as np
from embreex.mesh_construction import TriangleMesh
from embreex.rtcore_scene import EmbreeScene

from analyzers.model.arrays import Bools, Floats
from analyzers.model.part import Part, Surface
from analyzers.plan.samples import Samples

LIFT_RATIO: Final = 2e-5
"""Rays start this share of the diagonal above the skin: above what single-precision rays confuse (about 1e-7)."""

CURVED_LIFT_CHORDS: Final = 1.5
"""On curved faces they start above what the triangulation may be off: a wall's facets do not hide one another."""


class Sight:
    """Answers for one part which sample points see out along a direction."""

    def __init__(self, part: Part, samples: Samples) -> None:
        self._samples = samples
        self._middle = part.box_mm.mean(axis=0)
        curved = part.face_surface[samples.face] != Surface.PLANE
        lift = LIFT_RATIO * part.diagonal_mm + np.where(curved, CURVED_LIFT_CHORDS * part.mesh.chord_mm, 0.0)
        self._start = samples.point_mm - self._middle + samples.normal * lift[:, None]
        self._scene = EmbreeScene()
        point = (part.mesh.point_mm - self._middle).astype(np.float32)  # with indices: a third less time than corners
        self._mesh = TriangleMesh(self._scene, point, part.mesh.triangle.astype(np.int32))

    def facing(self, direction: Floats) -> Floats:
        """Return (N,) cosine between each sample's normal and the direction."""
        cosine: Floats = self._samples.normal @ direction
        return cosine

    def clear(self, direction: Floats) -> Bools:
        """Return (N,) True where the surface does not turn away and nothing of the part stands above it."""
        return self._clear(self.facing(direction), np.broadcast_to(direction, self._start.shape))

    def clear_each(self, direction: Floats) -> Bools:
        """Return (N,) the same for (N, 3) a direction of its own for each sample; a zero direction sees nothing."""
        return self._clear(np.sum(self._samples.normal * direction, axis=1), direction)

    def _clear(self, cosine: Floats, direction: Floats) -> Bools:
        clear: Bools = (cosine >= -self._samples.slack_sin) & direction.any(axis=1)
        rows = np.flatnonzero(clear)
        if len(rows):
            start = np.ascontiguousarray(self._start[rows], dtype=np.float32)
            along = np.ascontiguousarray(direction[rows], dtype=np.float32)
            clear[rows] = np.asarray(self._scene.run(start, along, query="OCCLUDED")) < 0
        return clear
