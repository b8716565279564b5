"""What the choice of cutters works with: the shelf, the rates, the part; and what it hands back."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from analyzers.model.arrays import Floats
from analyzers.model.feature import mm_text
from analyzers.model.part import Part, Surface
from analyzers.plan.frame import across, parallel
from analyzers.plan.rates import Rates
from analyzers.plan.reach import Around
from analyzers.settings import Cutter, Holder, Machine, Settings, Shop
from analyzers.settings.shop import CutterKind
from analyzers.tolerance import LIMIT_SLACK

Work = Literal[
    "drill",
    "spot",
    "bore",
    "sink",
    "tap",
    "rough",
    "finish",
    "blend",
    "chamfer",
    "surface",
    "face",
    "turn",
    "groove",
    "undercut",
]

TURNING_TOOL = "turning tool"
GROOVING_TOOL = "grooving tool"
BORING_BAR = "boring bar"
"""Lathe tools: shop files list no inserts, so every lathe is taken to have the three."""


@dataclass(frozen=True, slots=True)
class Operation:
    """One cutter at one feature (None = the outside of the part)."""

    work: Work
    cutter: str
    minutes: float
    feature: str | None = None


@dataclass(frozen=True, slots=True)
class Making:
    """How a feature is made: its operations, and why it stays unmade where it does."""

    operations: tuple[Operation, ...]
    unmade: str | None = None
    unknown: str | None = None  # what could not be measured, so that nothing can be said about it


@dataclass(frozen=True, slots=True)
class Bench:
    """One machine of one shop, with the part on it."""

    part: Part
    shop: Shop
    rates: Rates
    axes: Floats  # (3, 3) the part's main directions
    turning: Floats | None = None  # (3,) axis where the machine is a lathe
    around: Mapping[str, Around] = field(default_factory=dict)  # by feature, what a height map shows from here
    from_below: frozenset[int] = frozenset()  # faces that the opposite setup cuts as well
    _shelves: dict[tuple[CutterKind, ...], tuple[Cutter, ...]] = field(default_factory=dict, compare=False, repr=False)

    @classmethod
    def of(
        cls,
        part: Part,
        settings: Settings,
        machine: Machine,
        axes: Floats,
        turning: Floats | None = None,
        around: Mapping[str, Around] | None = None,
        from_below: frozenset[int] = frozenset(),
    ) -> "Bench":
        """Return the bench for a machine."""
        rates = Rates(machine, settings.material, settings.shop)
        return cls(part, settings.shop, rates, axes, turning, around or {}, from_below)

    def holder(self, cutter: Cutter) -> Holder:
        """Return what a cutter is held in; the shop's first holder where it names none."""
        named = (each for each in self.shop.holders if each.id == cutter.holder)
        return next(named, self.shop.holders[0])

    def stick_out_mm(self, cutter: Cutter, feature: str, depth_mm: float) -> float:
        """Return how long a cutter must be below its holder to come down a feature's wall.

        The depth, and as much as anything stands above the feature's own rim where the holder passes: its edge is half
        the difference of the two diameters off the wall.
        """
        known = self.around.get(feature)
        if known is None:
            return depth_mm
        return depth_mm + known.above((self.holder(cutter).diameter_mm - cutter.diameter_mm) / 2.0)

    def comes_down(self, cutter: Cutter, feature: str, depth_mm: float) -> bool:
        """Return whether a cutter reaches so deep before its holder touches the part."""
        return at_most(self.stick_out_mm(cutter, feature, depth_mm), cutter.reach_mm)

    def kept_off_words(self, cutter: Cutter, feature: str, depth_mm: float) -> str:
        """Return that a cutter long enough for the depth is kept off by what stands beside; empty where it is short."""
        if not at_most(depth_mm, cutter.reach_mm):
            return ""
        needed = mm_text(round(self.stick_out_mm(cutter, feature, depth_mm), 1))
        return (
            f"the {cutter_words(cutter)} reaches {mm_text(cutter.reach_mm)} mm, and {needed} mm are needed to keep its "
            "holder clear of what stands beside"
        )

    def beside_words(self, feature: str) -> str:
        """Return that something taller stands in the holder's way, where it does."""
        known = self.around.get(feature)
        above = known.above(max(each.diameter_mm for each in self.shop.holders) / 2.0) if known else 0.0
        return f", and what stands {mm_text(round(above, 1))} mm above its rim is in the holder's way" if above else ""

    def wall_reach_mm(self, width_mm: float | None) -> float:
        """Return how far down the end mills come that go into a gap; None = in the open, 0 = none goes in."""
        return reach_in_gap_mm(self.shop, width_mm)

    def shelf(self, *kinds: CutterKind) -> tuple[Cutter, ...]:
        """Return the cutters of some kinds, smallest first; sorted once."""
        if kinds not in self._shelves:
            some = [each for each in self.shop.cutters if each.kind in kinds]
            self._shelves[kinds] = tuple(sorted(some, key=lambda each: (each.diameter_mm, each.id)))
        return self._shelves[kinds]

    def walls_mm2(self, faces: tuple[int, ...], direction: Floats) -> float:
        """Return the area of a feature's upright faces."""
        rows = np.array(faces, dtype=np.int64)
        with np.errstate(invalid="ignore"):
            flat = (self.part.face_surface[rows] == Surface.PLANE) & across(self.part.face_axis[rows], direction)
            bent = (self.part.face_surface[rows] == Surface.CYLINDER) & parallel(self.part.face_axis[rows], direction)
        return float(self.part.face_area_mm2[rows[flat | bent]].sum())

    def floors_mm2(self, faces: tuple[int, ...], direction: Floats) -> float:
        """Return the area of a feature's faces that lie square under the spindle."""
        rows = np.array(faces, dtype=np.int64)
        with np.errstate(invalid="ignore"):
            flat = (self.part.face_surface[rows] == Surface.PLANE) & parallel(self.part.face_axis[rows], direction)
        return float(self.part.face_area_mm2[rows[flat]].sum())

    def extent_mm(self, faces: tuple[int, ...], direction: Floats) -> float | None:
        """Return how far some faces reach along a direction; None where there are none."""
        points = self.part.mesh.corners_mm(faces)
        return float(np.ptp(points @ direction)) if len(points) else None

    def box_mm3(self, faces: tuple[int, ...]) -> float | None:
        """Return the volume of the box around some faces along the main directions; None where there are none."""
        spans = [self.extent_mm(faces, axis) for axis in self.axes]
        known = [span for span in spans if span is not None]
        return float(np.prod(known)) if known else None

    def area_mm2(self, faces: tuple[int, ...]) -> float:
        """Return the whole area of some faces."""
        return float(self.part.face_area_mm2[list(faces)].sum())


def reach_in_gap_mm(shop: Shop, width_mm: float | None) -> float:
    """Return how far down a shop's end mills come that go into a gap; None = in the open, 0 = none goes in."""
    flats = (each for each in shop.cutters if each.kind == "flat")
    return max(
        (each.reach_mm for each in flats if width_mm is None or at_most(each.diameter_mm, width_mm)), default=0.0
    )


def at_most(value: float, limit: float) -> bool:
    """Return whether a value is within a limit; equal counts as within."""
    return value <= limit * (1.0 + LIMIT_SLACK)


def quickest(cutters: Iterable[Cutter], minutes: Callable[[Cutter], float]) -> tuple[Cutter, float] | None:
    """Return the cutter that takes the least time, the thicker of equals; None where there is none."""
    timed = [(minutes(each), -each.diameter_mm, each.id, each) for each in cutters]
    if not timed:
        return None
    least, _, _, cutter = min(timed, key=lambda row: row[:3])
    return cutter, least


def cutter_words(cutter: Cutter) -> str:
    """Return a cutter in plain words.

    The shop's own id stands last, since that is what is written on the drawer.
    """
    noun = {"flat": "end mill", "bull": "bull-nose end mill", "ball": "ball-nose end mill", "drill": "drill"}.get(
        cutter.kind, cutter.kind
    )
    return f"⌀{mm_text(cutter.diameter_mm)} {noun} ({cutter.id})"
