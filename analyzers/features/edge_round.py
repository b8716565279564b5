"""Edge rounds: rounded outside edges, made by a form cutter or in many passes (ISO 10303-224 `edge_round`)."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from analyzers.features._chains import blend_chains
from analyzers.features._view import View
from analyzers.model.feature import FaceClass, Feature, mm_text

RANK = 31


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeRound(Feature):
    """One chain of connected convex blend faces of one radius."""

    kind: ClassVar[str] = "edge_round"
    face_class: ClassVar[FaceClass] = "edge_round"

    radius_mm: float | None  # the smallest where `variable`
    variable: bool = False
    largest_radius_mm: float | None = None  # None = it does not vary, or could not be had

    def callout(self) -> str:
        """Return for example "R3", or "R1…R4" where it varies."""
        text = f"R{mm_text(self.radius_mm)}"
        return text if self.largest_radius_mm is None else f"{text}…R{mm_text(self.largest_radius_mm)}"


def propose(view: View) -> Iterator[EdgeRound]:
    """Yield the chains of bulging blend faces: round, smooth on both sides (ISO 10303-224 `edge_round`)."""
    for chain in blend_chains(view, concave=False):
        yield EdgeRound(
            faces=chain.faces,
            direction=chain.direction,
            position_mm=chain.position_mm,
            radius_mm=chain.radius_mm,
            variable=chain.variable,
            largest_radius_mm=chain.largest_radius_mm,
            why=f"bulging, smooth into its neighbours on both sides, {len(chain.faces)} face(s) of one radius in a row",
        )
