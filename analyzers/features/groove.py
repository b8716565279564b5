"""Grooves: ring-shaped channels about an axis, on a shaft, in a bore or in a face (ISO 14649-12 `groove`)."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from analyzers.model.feature import FaceClass, Feature, mm_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Groove(Feature):
    """`side`: outer = on a shaft, inner = in a bore, face = in a flat face around the axis."""

    kind: ClassVar[str] = "groove"
    face_class: ClassVar[FaceClass] = "groove"

    width_mm: float
    depth_mm: float
    diameter_mm: float  # outer, inner: of the floor; face: of the outer wall
    side: Literal["outer", "inner", "face"]

    def callout(self) -> str:
        """Return for example "GROOVE ⌀30 3 ↧2"."""
        return f"GROOVE ⌀{mm_text(self.diameter_mm)} {mm_text(self.width_mm)} ↧{mm_text(self.depth_mm)}"
