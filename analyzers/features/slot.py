"""Slots: two walls facing one another along a straight or round path (ISO 14649-10 and ISO 10303-224 `slot`)."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar, Literal

from analyzers.features._hollow_shape import Shaped, shaped_hollows
from analyzers.features._view import View
from analyzers.model.feature import FaceClass, Feature, mm_text
from analyzers.model.part import Surface

Ends = Literal["open", "round", "flat"]

RANK = 51


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot(Feature):
    """`through`: it runs out of the part at both ends. `ends`: the form of a closed end; open where it has none."""

    kind: ClassVar[str] = "slot"
    face_class: ClassVar[FaceClass] = "slot"

    width_mm: float | None
    depth_mm: float | None
    length_mm: float | None
    through: bool
    ends: Ends
    corner_radius_mm: float | None = None  # smallest vertical inside corner; 0 = sharp; None = no inside corner
    floor_radius_mm: float | None = None  # 0 = sharp; None = no floor
    floor_thickness_mm: float | None = None
    undercut_width_mm: float | None = None  # wider below than at the mouth, as in T and dovetail slots

    def callout(self) -> str:
        """Return for example "6 × 40 ↧8"."""
        return f"{mm_text(self.width_mm)} × {mm_text(self.length_mm)} ↧{mm_text(self.depth_mm)}"


def propose(view: View) -> Iterator[Slot]:
    """Yield hollows between facing walls that are open at the top and at one or both ends; and long closed obrounds."""
    for shape in shaped_hollows(view):
        if shape.form == "slot" or shape.obround:
            yield Slot(
                faces=shape.hollow.faces,
                direction=shape.direction,
                position_mm=shape.position_mm,
                width_mm=shape.width_mm,
                depth_mm=shape.depth_mm,
                length_mm=shape.length_mm,
                through=shape.through,
                ends="open" if shape.through and not shape.obround else _end(view, shape),
                corner_radius_mm=shape.corner_radius_mm,
                floor_radius_mm=shape.floor_radius_mm,
                undercut_width_mm=shape.undercut_width_mm,
                why=_why(shape),
            )


def _why(shape: Shaped) -> str:
    if shape.obround:
        return "two straight walls joined by two half rounds, long or through"
    return "facing walls, open at the top and " + ("both ends" if shape.through else "one end")


def _end(view: View, shape: Shaped) -> Ends:
    """Return the form of the closed end: round where a hollow cylinder about the cutter's axis closes it."""
    part = view.part
    for face in shape.hollow.faces:
        if part.face_surface[face] == Surface.CYLINDER and part.face_concave[face]:
            return "round"
    return "flat"
