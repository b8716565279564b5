"""Edge rounds: rounded outside edges, made by a form cutter or in many passes (ISO 10303-224 `edge_round`)."""

from dataclasses import dataclass
from typing import ClassVar

from analyzers.model.feature import FaceClass, Feature, mm_text


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeRound(Feature):
    """One chain of connected convex blend faces of one radius."""

    kind: ClassVar[str] = "edge_round"
    face_class: ClassVar[FaceClass] = "edge_round"

    radius_mm: float | None  # the smallest where `variable`
    variable: bool = False

    def callout(self) -> str:
        """Return for example "R3"."""
        return f"R{mm_text(self.radius_mm)}"
