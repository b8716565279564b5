"""Bosses: material that stands up from a floor or an outer face (ISO 10303-224 `boss`)."""

from dataclasses import dataclass
from typing import ClassVar

from analyzers.model.feature import FaceClass, Feature, mm_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Boss(Feature):
    """`direction` points from its foot to its top."""

    kind: ClassVar[str] = "boss"
    face_class: ClassVar[FaceClass] = "boss"

    height_mm: float
    length_mm: float  # longer side of the smallest plan box; a round one: its diameter
    width_mm: float
    diameter_mm: float | None = None  # None = not round

    def callout(self) -> str:
        """Return for example "BOSS ⌀20 ↥6" or "BOSS 20 × 10 ↥6"."""
        plan = (
            f"⌀{mm_text(self.diameter_mm)}"
            if self.diameter_mm
            else f"{mm_text(self.length_mm)} × {mm_text(self.width_mm)}"
        )
        return f"BOSS {plan} ↥{mm_text(self.height_mm)}"
