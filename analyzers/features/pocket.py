"""Pockets: closed all round or open at a side, with a floor or through (ISO 14649-10 `closed_pocket`)."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, ClassVar

from analyzers.features._hollow_shape import Shaped, shaped_hollows
from analyzers.features._view import View
from analyzers.model.feature import FaceClass, Feature, mm_text

RANK = 50


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
    passage_mm: float | None = None  # narrowest way across it, between walls or past an island; None = not measured
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


def propose(view: View) -> Iterator[Pocket]:
    """Yield hollows with walls all round, with a floor or through, and open ones that are no plain slot or step."""
    for shape in shaped_hollows(view):
        if shape.obround:
            continue
        if shape.form in ("closed", "passage"):
            yield ClosedPocket(**_fields(shape), why=_why(shape))
        elif shape.form == "open":
            yield OpenPocket(**_fields(shape), why="a floor with walls that runs out at an outer side of the part")


def _why(shape: Shaped) -> str:
    if shape.through:
        return "walls all round, open at two opposite sides"
    return "walls all round, open one way only"


def _fields(shape: Shaped) -> dict[str, Any]:
    radius = shape.corner_radius_mm
    return {
        "faces": shape.hollow.faces,
        "direction": shape.direction,
        "position_mm": shape.position_mm,
        "depth_mm": shape.depth_mm,
        "length_mm": shape.length_mm,
        "width_mm": shape.width_mm,
        "through": shape.through,
        "corner_radius_mm": radius,
        "floor_radius_mm": shape.floor_radius_mm,
        "islands": shape.islands,
        "depth_ratio": shape.depth_mm / (2 * radius) if radius else None,
    }
