"""Fillets: rounded inside corners, where the cutter's own radius stays (ISO 10303-224 `fillet`)."""

from dataclasses import dataclass
from typing import ClassVar

from analyzers.model.feature import FaceClass, Feature, mm_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Fillet(Feature):
    """One chain of connected concave blend faces of one radius."""

    kind: ClassVar[str] = "fillet"
    face_class: ClassVar[FaceClass] = "fillet"

    radius_mm: float | None  # the smallest where `variable`
    variable: bool = False

    def callout(self) -> str:
        """Return for example "R3"."""
        return f"R{mm_text(self.radius_mm)}"
