"""Steps: a corner or a border of the part cut down to a lower level (ISO 14649-10 and ISO 10303-224 `step`)."""

from dataclasses import dataclass
from typing import ClassVar

from analyzers.model.feature import FaceClass, Feature, mm_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Step(Feature):
    """`through`: it runs between two opposite sides of the part; else it cuts a corner."""

    kind: ClassVar[str] = "step"
    face_class: ClassVar[FaceClass] = "step"

    depth_mm: float | None
    width_mm: float | None
    through: bool
    corner_radius_mm: float | None = None  # smallest vertical inside corner; 0 = sharp; None = no inside corner
    floor_radius_mm: float | None = None  # between wall and floor; 0 = sharp

    def callout(self) -> str:
        """Return for example "STEP 12 ↧5"."""
        return f"STEP {mm_text(self.width_mm)} ↧{mm_text(self.depth_mm)}"
