"""Round holes: plain, counterbored, countersunk, stepped (ISO 10303-224 `round_hole`, `counterbore_hole`)."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from analyzers.model.feature import FaceClass, Feature, mm_text

Bottom = Literal["through", "flat", "conical", "spherical", "into_void"]
Entry = Literal["flat", "inclined", "curved"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """One length of a hole, counted from the entry down."""

    shape: Literal["cylinder", "cone"]
    diameter_mm: float  # cone: at its wide end
    depth_mm: float  # along the axis
    end_diameter_mm: float  # cone: at its narrow end; cylinder: equal to diameter_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole(Feature):
    """What all round holes have. `direction` points out of the entry; `position_mm` is the axis at the entry."""

    face_class: ClassVar[FaceClass] = "hole"

    diameter_mm: float  # the drilled (smallest) diameter
    depth_mm: float | None  # of the full drilled diameter, from the part's surface, without the drill point
    through: bool
    bottom: Bottom
    point_angle_deg: float | None = None  # included angle of a conical bottom
    depth_ratio: float | None = None  # depth_mm / diameter_mm
    entry: Entry = "flat"
    entry_angle_deg: float = 0.0  # between the axis and the entry face's normal
    segments: tuple[Segment, ...] = ()

    def _depth_text(self) -> str:
        """Return THRU or the depth with its symbol."""
        if self.through:
            return "THRU"
        return "" if self.depth_mm is None else f"↧{mm_text(self.depth_mm)}"

    def callout(self) -> str:
        """Return for example "⌀6.6 THRU" or "⌀5 ↧12" (ASME Y14.5 symbols)."""
        return f"⌀{mm_text(self.diameter_mm)} {self._depth_text()}".strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundHole(Hole):
    """A hole of one diameter, with or without a drill point."""

    kind: ClassVar[str] = "round_hole"


@dataclass(frozen=True, slots=True, kw_only=True)
class CounterboreHole(Hole):
    """A drilled hole with a wider flat-bottomed bore at its entry; a shallow one is a spotface."""

    kind: ClassVar[str] = "counterbore_hole"

    counterbore_diameter_mm: float
    counterbore_depth_mm: float

    def callout(self) -> str:
        """Return for example "⌀6.6 THRU ⌴⌀11 ↧6.4"."""
        bore = f"⌴⌀{mm_text(self.counterbore_diameter_mm)} ↧{mm_text(self.counterbore_depth_mm)}"
        return f"⌀{mm_text(self.diameter_mm)} {self._depth_text()} {bore}".replace("  ", " ")


@dataclass(frozen=True, slots=True, kw_only=True)
class CountersunkHole(Hole):
    """A drilled hole with a conical entry."""

    kind: ClassVar[str] = "countersunk_hole"

    countersink_diameter_mm: float
    countersink_angle_deg: float

    def callout(self) -> str:
        """Return for example "⌀4.5 THRU ⌵⌀9 × 90°"."""
        sink = f"⌵⌀{mm_text(self.countersink_diameter_mm)} × {self.countersink_angle_deg:.4g}°"
        return f"⌀{mm_text(self.diameter_mm)} {self._depth_text()} {sink}".replace("  ", " ")


@dataclass(frozen=True, slots=True, kw_only=True)
class SteppedHole(Hole):
    """A hole of several diameters that is neither a plain counterbore nor a plain countersink."""

    kind: ClassVar[str] = "stepped_hole"

    def callout(self) -> str:
        """Return each length from the entry down, for example "⌀12 ↧5, ⌀8 ↧20"."""
        return ", ".join(f"⌀{mm_text(s.diameter_mm)} ↧{mm_text(s.depth_mm)}" for s in self.segments)
