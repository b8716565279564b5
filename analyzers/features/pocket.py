"""Pockets: closed all round or open at a side, with a floor or through (ISO 14649-10 `closed_pocket`, `open_pocket`)."""

from dataclasses import dataclass
from typing import ClassVar

from analyzers.model.feature import FaceClass, Feature, mm_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Pocket(Feature):
    """What both pockets have. `direction` points out of the opening; lengths of the plan box lie across it."""

    face_class: ClassVar[FaceClass] = "pocket"

    depth_mm: float | None
    length_mm: float | None  # longer side of the smallest plan box
    width_mm: float | None  # shorter side
    through: bool
    corner_radius_mm: float | None  # smallest vertical inside corner; 0 = sharp; None = no inside corner at all
    floor_radius_mm: float | None  # between wall and floor; 0 = sharp; None = no floor
    floor_thickness_mm: float | None = None  # None = through, or not measured
    islands: int = 0
    depth_ratio: float | None = None  # depth / (2 corner_radius); None where there is no radius to divide by

    def callout(self) -> str:
        """Return for example "40 × 25 ↧12 R4"."""
        size = f"{mm_text(self.length_mm)} × {mm_text(self.width_mm)}"
        depth = "THRU" if self.through else f"↧{mm_text(self.depth_mm)}"
        radius = f" R{mm_text(self.corner_radius_mm)}" if self.corner_radius_mm else ""
        return f"{size} {depth}{radius}"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedPocket(Pocket):
    """Walls all round."""

    kind: ClassVar[str] = "closed_pocket"


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenPocket(Pocket):
    """Open at one or more sides, and not of the plain form of a slot or a step."""

    kind: ClassVar[str] = "open_pocket"
