"""Grooves: ring-shaped channels about an axis, on a shaft, in a bore or in a face (ISO 14649-12 `groove`)."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from analyzers.features._channels import Side, find_channels
from analyzers.features._view import View
from analyzers.model.arrays import vec
from analyzers.model.feature import FaceClass, Feature, mm_text

RANK = 10

_LARGEST_WIDTH = 1.0  # in floor diameters; what is wider is a length of the outline or of the bore, not a groove
_WHY: dict[Side, str] = {
    "outer": "round about its axis and lower than the outline on both sides, between flanks that face one another",
    "inner": "round about its axis and wider than the bore on both sides, between flanks that face one another",
    "face": "a ring about its axis, lower than the face inside and outside of it, between walls that face one another",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Groove(Feature):
    """`side`: outer = on a shaft, inner = in a bore, face = in a flat face around the axis."""

    kind: ClassVar[str] = "groove"
    face_class: ClassVar[FaceClass] = "groove"

    width_mm: float
    depth_mm: float
    diameter_mm: float  # outer, inner: of the floor; face: of the outer wall
    side: Side

    def callout(self) -> str:
        """Return for example "GROOVE ⌀30 3 ↧2"."""
        return f"GROOVE ⌀{mm_text(self.diameter_mm)} {mm_text(self.width_mm)} ↧{mm_text(self.depth_mm)}"


def propose(view: View) -> Iterator[Groove]:
    """Yield rings about an axis that dip below the edges on both their sides, whatever their section."""
    for channel in find_channels(view):
        if channel.side != "face" and channel.width_mm > _LARGEST_WIDTH * channel.diameter_mm:
            continue
        yield Groove(
            faces=channel.faces,
            direction=vec(channel.out),
            position_mm=vec(channel.middle_mm),
            width_mm=channel.width_mm,
            depth_mm=channel.depth_mm,
            diameter_mm=channel.diameter_mm,
            side=channel.side,
            why=_WHY[channel.side],
        )
