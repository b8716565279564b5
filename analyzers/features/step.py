"""Steps: a corner or a border of the part cut down to a lower level (ISO 14649-10 and ISO 10303-224 `step`)."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from analyzers.features._hollow_shape import shaped_hollows
from analyzers.features._view import View
from analyzers.model.feature import FaceClass, Feature, mm_text

RANK = 52


@dataclass(frozen=True, slots=True, kw_only=True)
class Step(Feature):
    """`through`: it runs between two opposite sides of the part; else it cuts a corner."""

    kind: ClassVar[str] = "step"
    face_class: ClassVar[FaceClass] = "step"

    depth_mm: float | None
    width_mm: float | None
    through: bool
    corner_radius_mm: float | None = None  # smallest vertical inside corner; 0 = sharp; None = no inside corner
    floor_radius_mm: float | None = None  # between wall and floor; 0 = sharp

    def callout(self) -> str:
        """Return for example "STEP 12 ↧5"."""
        return f"STEP {mm_text(self.width_mm)} ↧{mm_text(self.depth_mm)}"


def propose(view: View) -> Iterator[Step]:
    """Yield hollows that are open at the top and at two or more sides."""
    for shape in shaped_hollows(view):
        if shape.form == "step":
            yield Step(
                faces=shape.hollow.faces,
                direction=shape.direction,
                position_mm=shape.position_mm,
                depth_mm=shape.depth_mm,
                width_mm=shape.width_mm,
                through=shape.through,
                corner_radius_mm=shape.corner_radius_mm,
                floor_radius_mm=shape.floor_radius_mm,
                why="open at the top and at " + ("two opposite sides" if shape.through else "neighbouring sides"),
            )
