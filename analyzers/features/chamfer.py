"""Chamfers: sharp edges broken by a small sloped face (ISO 10303-224 `chamfer`)."""

from dataclasses import dataclass
from typing import ClassVar

from analyzers.model.feature import FaceClass, Feature, mm_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Chamfer(Feature):
    """`width_mm` is the leg: measured along the larger face it breaks; `angle_deg` is counted from that face."""

    kind: ClassVar[str] = "chamfer"
    face_class: ClassVar[FaceClass] = "chamfer"

    width_mm: float
    angle_deg: float

    def callout(self) -> str:
        """Return for example "1 × 45°"."""
        return f"{mm_text(self.width_mm)} × {self.angle_deg:.4g}°"
