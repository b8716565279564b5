"""Outer rounds of turned bodies: cylinders and tapers about the turning axis (ISO 14649-12 `outer_round`)."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from analyzers.features._threads import ScrewThread, find_threads, threaded
from analyzers.features._turning import turning_axis
from analyzers.features._view import View
from analyzers.model.arrays import vec
from analyzers.model.facegraph import members
from analyzers.model.feature import FaceClass, Feature, Thread, mm_text
from analyzers.model.part import Surface

RANK = 42

_HALF_TURN_DEG = 180.0


@dataclass(frozen=True, slots=True, kw_only=True)
class OuterRound(Feature):
    """One diameter of the turned outline. `taper_deg`: half angle of a cone, 0 = cylinder."""

    kind: ClassVar[str] = "outer_round"
    face_class: ClassVar[FaceClass] = "outer"

    diameter_mm: float  # a taper: at its wide end
    length_mm: float
    taper_deg: float = 0.0
    modelled_thread: Thread | None = None  # where one is modelled: its major diameter is that of the round

    def callout(self) -> str:
        """Return for example "⌀25 × 40", or "M8×1.25 ↧12" where a thread is modelled."""
        if self.modelled_thread is not None:
            return self.modelled_thread.callout()
        return f"⌀{mm_text(self.diameter_mm)} × {mm_text(self.length_mm)}"


def propose(view: View) -> Iterator[OuterRound]:
    """Yield the bulging cylinders and cones about the turning axis, faces of one surface together."""
    part = view.part
    axis = turning_axis(view)
    if axis is None:
        return
    for thread in find_threads(view):
        if thread.external and axis.is_line(thread.point_mm, thread.axis) and view.free[list(thread.faces)].all():
            yield _threaded(view, thread)
    kind = np.isin(part.face_surface, (Surface.CYLINDER, Surface.CONE))
    round_ = kind & ~part.face_concave & view.free & ~view.blends.is_blend
    round_ &= ~threaded(view)
    for faces in members(view.surface, np.flatnonzero(round_).tolist()):
        if not axis.carries(part, faces[0]) or part.face_span_deg[list(faces)].sum() <= _HALF_TURN_DEG:
            continue
        offset = view.points_of(faces) - axis.point_mm
        along = offset @ axis.direction
        across = np.linalg.norm(offset - along[:, None] * axis.direction, axis=1)
        cone = part.face_surface[faces[0]] == Surface.CONE
        yield OuterRound(
            faces=faces,
            direction=vec(part.face_normal[faces[0]]),
            position_mm=vec(axis.point_mm + 0.5 * (along.min() + along.max()) * axis.direction),
            diameter_mm=2 * float(across.max() if cone else part.face_radius_mm[faces[0]]),
            length_mm=float(np.ptp(along)),
            taper_deg=float(part.face_half_angle_deg[faces[0]]) if cone else 0.0,
            why="bulging, about the turning axis",
        )


def _threaded(view: View, thread: ScrewThread) -> OuterRound:
    first = min(thread.faces)
    return OuterRound(
        faces=thread.faces,
        direction=vec(view.part.face_normal[first]),
        position_mm=vec(thread.point_mm + 0.5 * (thread.low_mm + thread.high_mm) * thread.axis),
        diameter_mm=thread.form.major_mm,
        length_mm=thread.form.length_mm,
        modelled_thread=thread.form,
        why="helical flanks about the turning axis, with a thread's proportions",
    )
