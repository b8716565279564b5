"""Bosses: material that stands up from a floor or an outer face (ISO 10303-224 `boss`)."""

from dataclasses import dataclass
from typing import ClassVar

from analyzers.model.feature import FaceClass, Feature


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
        plan = f"⌀{self.diameter_mm:g}" if self.diameter_mm else f"{round(self.length_mm, 3):g} × {round(self.width_mm, 3):g}"
        return f"BOSS {plan} ↥{round(self.height_mm, 3):g}"
