"""Free-form regions: connected faces that follow no plane, cylinder, cone, sphere or torus (ISO 14649-10 `region`)."""

from dataclasses import dataclass
from typing import ClassVar

from analyzers.model.feature import FaceClass, Feature, mm_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Region(Feature):
    """Finished with a ball-nose cutter whose radius stays below `min_concave_radius_mm`."""

    kind: ClassVar[str] = "region"
    face_class: ClassVar[FaceClass] = "freeform"

    area_mm2: float
    min_concave_radius_mm: float | None  # None = nowhere concave

    def callout(self) -> str:
        """Return for example "FREEFORM R2 MIN"."""
        radius = "" if self.min_concave_radius_mm is None else f" R{mm_text(self.min_concave_radius_mm)} MIN"
        return f"FREEFORM{radius}"
