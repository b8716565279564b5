"""A number about a whole body, with its place; or why there is none."""

from dataclasses import dataclass

from analyzers.model.arrays import Vec


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One measured number. `name` ends in its unit (`min_wall_mm`); no unit for counts and ratios.

    A number that does not apply (no holes, so no hole depth) has `why_none` and `applies` False; one that should
    have been there but failed has `applies` True and becomes a problem of the report.
    """

    name: str
    value: float | None
    point_mm: Vec | None = None
    faces: tuple[int, ...] = ()
    feature: str | None = None
    why_none: str | None = None
    applies: bool = True

    def __post_init__(self) -> None:
        if (self.value is None) != (self.why_none is not None):
            raise ValueError(f"{self.name}: give a value, or say why there is none")


@dataclass(frozen=True, slots=True, kw_only=True)
class ThinPlace:
    """A place where little material is left between two faces."""

    thickness_mm: float
    point_mm: Vec  # on the first face
    faces: tuple[int, ...]
    area_mm2: float  # how much of the first face is this thin, within a tenth
    kind: str = "wall"  # wall | floor | web (between holes, or a hole and an edge)
    height_mm: float | None = None  # walls: how far it stands along the direction its feature is cut from
    exact: bool = True  # from the B-rep's surfaces; False = as exact as the mesh


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureNumber:
    """A number of one feature that needs the whole body to be measured, such as the floor left under a pocket."""

    feature: str  # its id
    field: str  # name of the feature's field, for example "floor_thickness_mm"
    value: float
