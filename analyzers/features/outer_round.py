"""Outer rounds of turned bodies: cylinders and tapers about the turning axis (ISO 14649-12 `outer_round`)."""

from dataclasses import dataclass
from typing import ClassVar

from analyzers.model.feature import FaceClass, Feature, mm_text


@dataclass(frozen=True, slots=True, kw_only=True)
class OuterRound(Feature):
    """One diameter of the turned outline. `taper_deg`: half angle of a cone, 0 = cylinder."""

    kind: ClassVar[str] = "outer_round"
    face_class: ClassVar[FaceClass] = "outer"

    diameter_mm: float  # a taper: at its wide end
    length_mm: float
    taper_deg: float = 0.0

    def callout(self) -> str:
        """Return for example "⌀25 × 40"."""
        return f"⌀{mm_text(self.diameter_mm)} × {mm_text(self.length_mm)}"
