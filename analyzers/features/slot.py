"""Slots: two walls facing one another along a straight or round path (ISO 14649-10 and ISO 10303-224 `slot`)."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from analyzers.model.feature import FaceClass, Feature, mm_text

Ends = Literal["open", "round", "flat"]


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

    def callout(self) -> str:
        """Return for example "6 × 40 ↧8"."""
        return f"{mm_text(self.width_mm)} × {mm_text(self.length_mm)} ↧{mm_text(self.depth_mm)}"
