"""What a plan rests on whatever the machine: main directions, blank, directions to cut from; on a lathe or a mill."""

from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from analyzers.model.arrays import Floats
from analyzers.model.feature import Feature
from analyzers.model.part import Part
from analyzers.model.report import Facts
from analyzers.plan.bench import Making, at_most, reach_in_gap_mm
from analyzers.plan.choice import asks_the_same, choose, left_over
from analyzers.plan.directions import Coverage, Reaches, cover, hidden_faces
from analyzers.plan.drilling import reach_in_hole_mm
from analyzers.plan.frame import Frame, frame_of, same_way
from analyzers.plan.reach import View, view_from
from analyzers.plan.setups import Approach, Held, approaches
from analyzers.plan.stock import Blank, blank_for
from analyzers.plan.uncut import MILLS
from analyzers.settings import Machine, Settings, Shop

TURNED: Final = ("turned", "mill_turned")

Made = dict[int, tuple[Feature, Making]]
"""How features were made from one direction on one machine, by id(); the feature is kept: its id stays its own."""


@dataclass(frozen=True, slots=True)
class Layout:
    """What does not depend on which machine it is, only on its kind."""

    frame: Frame
    coverage: Coverage
    order: tuple[int, ...]  # rows of the coverage's directions that are worked from, the first one first
    approaches: tuple[Approach, ...]
    blank: Blank
    turning: Floats | None  # (3,) axis where it goes into a lathe
    left: tuple[int, ...]  # faces of which a little is left, since a slanted setup for it would be out of proportion
    loose_mm2: float  # outer faces that are neither on the blank's box nor part of a feature
    machines: tuple[Machine, ...]  # of the right kind, smallest room first
    views: tuple[View, ...] = ()  # of the approaches on a mill that make cavities, bosses or free surfaces
    made: dict[tuple[object, ...], Made] = field(default_factory=dict, compare=False, repr=False)
    held: Held = field(default_factory=dict, compare=False, repr=False)
    """How features were made and the part was held so far. Features of other sizes leave the rest as it was, so layouts
    that are made from one another share both."""

    def view(self, direction: Floats) -> View | None:
        """Return what the height map along a direction shows; None where there is none."""
        return next((each for each in self.views if bool(same_way(each.direction, direction))), None)

    def seen_from(self, direction: Floats) -> frozenset[int]:
        """Return the faces that are seen whole along a direction; none where nothing is milled from there."""
        if not any(bool(same_way(each.direction, direction)) for each in self.approaches if not each.turned):
            return frozenset()
        faces = range(self.coverage.table.part.n_faces)
        return frozenset(faces).difference(hidden_faces(self.coverage, direction, faces))

    def takers(self) -> tuple[Machine, ...]:
        """Return the machines whose travels take the blank, laid as it fits best."""
        return tuple(each for each in self.machines if takes(each, self.blank))


def takes(machine: Machine, blank: Blank) -> bool:
    """Return whether a machine's travels take a blank."""
    lengths = zip(sorted(blank.size_mm), sorted(machine.travel_mm), strict=True)
    return all(at_most(length, travel) for length, travel in lengths)


def layout_for(facts: Facts, settings: Settings) -> Layout:
    """Return the layout on a lathe for a turned body, on a mill for others and where no lathe of the shop takes it.

    A mill-turn machine mills a block only where the shop has no mill that takes it.
    """
    axis = facts.made_by.axis if facts.made_by.process in TURNED else None
    if axis is not None:
        on_lathe = _layout(facts, settings, np.array(axis, dtype=float), ("lathe", "mill_turn"))
        if on_lathe.takers():
            return on_lathe
    on_mill = _layout(facts, settings, None, ("mill",))
    if not on_mill.takers():
        on_mill = replace(on_mill, machines=_of_kind(settings.shop, ("mill", "mill_turn")))
    if axis is not None and on_lathe.machines and not on_mill.takers():
        return on_lathe
    return on_mill


def relaid(facts: Facts, settings: Settings, layout: Layout) -> Layout:
    """Return the layout for the same faces with features of other sizes, without looking at the geometry again.

    `layout` is that of the sizes as modelled, for the same settings; the height maps are kept as they are.
    """
    like = layout.coverage
    coverage = cover(facts, layout.frame, reaches_of(settings.shop), layout.turning, like)
    same = asks_the_same(facts.part, coverage, like)
    order = layout.order if same else choose(facts.part, coverage, layout.frame, layout.turning)
    return replace(
        layout,
        coverage=coverage,
        order=order,
        approaches=approaches(facts, coverage, order, layout.turning),
        left=left_over(coverage, order),
    )


def _layout(facts: Facts, settings: Settings, turning: Floats | None, kinds: tuple[str, ...]) -> Layout:
    """Return the layout for machines of some kinds."""
    shop, part = settings.shop, facts.part
    frame = frame_of(part, facts.made_by.axis if turning is not None else None)
    coverage = cover(facts, frame, reaches_of(shop), turning)
    order = choose(part, coverage, frame, turning)
    found = approaches(facts, coverage, order, turning)
    owned = np.zeros(part.n_faces, dtype=bool)
    for each in facts.features:
        owned[list(each.faces)] = True
    loose = ~owned & ~frame.on_box(part)
    return Layout(
        frame=frame,
        coverage=coverage,
        order=order,
        approaches=found,
        blank=blank_for(part, frame, shop, settings.material, turning),
        turning=turning,
        left=left_over(coverage, order),
        loose_mm2=float(part.face_area_mm2[loose].sum()),
        machines=_of_kind(shop, kinds),
        views=_views(part, found, frame, shop),
    )


def _views(part: Part, found: tuple[Approach, ...], frame: Frame, shop: Shop) -> tuple[View, ...]:
    """Return the height map of each approach on a mill, with what it shows of the features made from there."""
    most = max((each.diameter_mm for each in shop.cutters if each.kind in MILLS), default=0.0)
    holder = max(each.diameter_mm for each in shop.holders)
    views = (
        view_from(part, each.features, each.direction, frame.axes, most, holder)
        for each in found
        if not each.turned and most > 0.0
    )
    return tuple(each for each in views if each is not None)


def _of_kind(shop: Shop, kinds: tuple[str, ...]) -> tuple[Machine, ...]:
    """Return the shop's machines of some kinds, smallest room first."""
    some = [each for each in shop.machines if each.kind in kinds]
    return tuple(sorted(some, key=lambda each: (float(np.prod(each.travel_mm)), each.id)))


def reaches_of(shop: Shop) -> Reaches:
    """Return how far down the shop's cutters come."""
    return Reaches(
        wall=lambda width_mm: reach_in_gap_mm(shop, width_mm),
        hole=lambda diameter_mm: reach_in_hole_mm(diameter_mm, shop),
    )
