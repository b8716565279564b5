"""The empty place of an order of holes: what is there, and whether a hole could be."""

import numpy as np
import pytest

from analyzers.features._gaps import SIZE_RATIO, Slot, filled_slot
from analyzers.features._view import View
from analyzers.features.hole import RoundHole
from analyzers.model.feature import NOTHING, Gap
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.recesses import pocket
from fixtures.make.vocabulary.work import Work
from tests.features._bench import AS_BUILT, Build, recognised, shape_of
from tests.features._patterned import RIM, Spot, drilled_plate
from tests.kernel._solids import loaded, moved

ROW: list[Spot] = [(20.0, 40.0), (40.0, 40.0), (60.0, 40.0)]
FREE: Spot = (80.0, 40.0)


def asked(build: Build, at: Spot = FREE) -> Gap | None:
    """Return what is said about a place of the plate where a hole like its first one is expected."""
    facts = recognised(build, AS_BUILT)
    part, geometry = loaded(moved(shape_of(build), AS_BUILT))
    like = next(each for each in facts.features if isinstance(each, RoundHole) and each.diameter_mm == 5.0)
    slot = Slot(np.array([*at, like.position_mm[2]]), np.array(like.direction), like)
    return filled_slot(View(part, geometry), facts.features, slot)


def with_pocket(size: float) -> Work:
    """Return the plate with a pocket through at the free place."""
    work = drilled_plate(ROW)
    pocket(work, (*FREE, RIM), size, size, RIM, corner_radius=2.0)
    return work


def from_below() -> Work:
    """Return the plate with blind holes from above and one of another size from below at the free place."""
    work = drilled_plate(ROW, depth=8.0)
    drill(work, (*FREE, 0.0), 6.0, 8.0, out=(0.0, 0.0, -1.0), bottom="flat")
    return work


def test_plain_material_could_have_been_drilled() -> None:
    """Nothing stands there, and a hole of the others' size was expected."""
    gap = asked(lambda: drilled_plate(ROW))
    assert gap is not None
    assert (gap.expected, gap.instead, gap.found) == ("⌀5 THRU", None, NOTHING)


@pytest.mark.parametrize("ratio", [1.04, 1.5, SIZE_RATIO, 0.6, 1.0 / SIZE_RATIO])
def test_a_hole_of_another_size_is_named(ratio: float) -> None:
    """Up to exactly twice, and down to exactly half the others' diameter."""
    gap = asked(lambda: drilled_plate([*ROW, FREE], h3=5.0 * ratio))
    assert gap is not None
    assert gap.instead is not None
    assert gap.found == f"⌀{5.0 * ratio:g} THRU"


def test_a_hole_from_the_other_side_is_what_is_there() -> None:
    """On the same axis, whichever way it looks."""
    gap = asked(from_below)
    assert gap is not None
    assert gap.found.startswith("⌀6")


@pytest.mark.parametrize(
    ("build", "at"),
    [
        pytest.param(lambda: drilled_plate([*ROW, FREE], h3=5.0 * SIZE_RATIO + 0.2), FREE, id="port-of-another-kind"),
        pytest.param(lambda: drilled_plate([*ROW, FREE], h3=5.0 / SIZE_RATIO - 0.1), FREE, id="pin-of-another-kind"),
        pytest.param(lambda: drilled_plate(ROW), (130.0, 40.0), id="outside-the-part"),
        pytest.param(lambda: drilled_plate(ROW), (118.5, 40.0), id="would-break-out"),
        pytest.param(lambda: with_pocket(14.0), FREE, id="a-pocket-is-there"),
        pytest.param(lambda: drilled_plate([*ROW, (83.0, 40.0)]), FREE, id="a-hole-would-be-cut"),
    ],
)
def test_a_place_that_is_used_otherwise_is_no_gap(build: Build, at: Spot) -> None:
    """Another purpose, no material, or no wall round the hole."""
    assert asked(build, at) is None


def test_only_holes_are_asked_for() -> None:
    """Whether a pocket could stand somewhere, the whole body must tell."""
    facts = recognised(lambda: with_pocket(14.0), AS_BUILT)
    part, geometry = loaded(moved(with_pocket(14.0).shape, AS_BUILT))
    like = next(each for each in facts.features if each.face_class == "pocket")
    slot = Slot(np.array([20.0, 60.0, RIM]), np.array(like.direction), like)
    assert filled_slot(View(part, geometry), facts.features, slot) is None
