"""Steps: borders and corners cut down; and what is none."""

import pytest
from OCP.TopoDS import TopoDS_Shape

from analyzers.features.step import Step
from fixtures.make.vocabulary.blends import chamfer_edges, round_edges
from fixtures.make.vocabulary.edge_bites import bite
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.raised import square_boss
from fixtures.make.vocabulary.recesses import pocket, slot, step
from fixtures.make.vocabulary.stock import Length, bar, turned
from fixtures.make.vocabulary.work import Work
from tests.features._bench import (
    POSES,
    Build,
    Said,
    box,
    cut,
    differences,
    every_face_once,
    joined,
    listed,
    looks,
    of_family,
    plate,
    recognised,
    rod,
)

TOP = 20.0


def along_a_side(depth: float = 8.0, width: float = 15.0, floor: float = 0.0) -> Build:
    """Return the plate with a step along its far side."""

    def build() -> Work:
        work = plate()
        step(work, (30.0, 40.0, TOP), 60.0, width, depth, side=(0.0, 1.0, 0.0), floor_radius=floor)
        return work

    return build


def on_both_sides() -> Work:
    """Return the plate with a step along each long side: material left in the middle."""
    work = plate()
    step(work, (30.0, 40.0, TOP), 60.0, 12.0, 8.0, side=(0.0, 1.0, 0.0))
    step(work, (30.0, 0.0, TOP), 60.0, 9.0, 5.0, side=(0.0, -1.0, 0.0))
    return work


def stairs() -> Work:
    """Return two steps, one lower than the other, along one side."""
    work = plate()
    step(work, (30.0, 40.0, TOP), 60.0, 24.0, 6.0, side=(0.0, 1.0, 0.0))
    step(work, (30.0, 40.0, TOP - 6.0), 60.0, 12.0, 6.0, side=(0.0, 1.0, 0.0))
    return work


def corner() -> Work:
    """Return the plate with one corner cut down."""
    work = plate()
    step(work, (47.5, 40.0, TOP), 25.0, 15.0, 8.0, side=(0.0, 1.0, 0.0), through=False)
    return work


def drilled() -> Work:
    """Return a step with two holes in its floor."""
    work = plate()
    step(work, (30.0, 40.0, TOP), 60.0, 15.0, 8.0, side=(0.0, 1.0, 0.0))
    for x in (15.0, 45.0):
        drill(work, (x, 32.0, TOP - 8.0), 5.0, 12.0, bottom="through")
    return work


def cut_by_a_slot() -> Work:
    """Return a step that a deeper slot crosses: one step in two pieces."""
    work = plate()
    step(work, (30.0, 40.0, TOP), 60.0, 15.0, 8.0, side=(0.0, 1.0, 0.0))
    slot(work, (26.0, 20.0, TOP), 40.0, 6.0, 12.0, along=(0.0, 1.0, 0.0), simple=False)
    return work


def broken_edges() -> Work:
    """Return a step whose upper and lower outside edges are chamfered: depth and width are those before."""
    work = plate()
    step(work, (30.0, 40.0, TOP), 60.0, 15.0, 8.0, side=(0.0, 1.0, 0.0))
    chamfer_edges(work, [(30.0, 25.0, TOP), (30.0, 40.0, TOP - 8.0)], 1.0)
    return work


def around_three_sides() -> TopoDS_Shape:
    """Return a block whose border is cut down on three sides: 10 wide each, 10 deep."""
    low = [box((-1, -1, 20), (101, 10, 31)), box((-1, -1, 20), (10, 81, 31)), box((90, -1, 20), (101, 81, 31))]
    return cut(box((0, 0, 0), (100, 80, 30)), *low)


def in_halves() -> TopoDS_Shape:
    """Return the step put together from two halves across it."""
    body = cut(box((0, 0, 0), (60, 40, 20)), box((-1, 25, 12), (61, 41, 21)))
    return joined(cut(body, box((25, -1, -1), (61, 41, 30))), cut(body, box((-1, -1, -1), (25, 41, 30))))


def through(depth: float, width: float, **more: object) -> Said:
    """Return what is said of a step that runs from side to side."""
    return {"kind": "step", "depth_mm": depth, "width_mm": width, "through": True} | more


FIRES = [
    pytest.param(along_a_side(), [through(8.0, 15.0, floor_radius_mm=0.0)], id="along-a-side"),
    pytest.param(along_a_side(2.0, 20.0), [through(2.0, 20.0)], id="shallow"),
    pytest.param(along_a_side(8.0, 15.0, 3.0), [through(8.0, 15.0, floor_radius_mm=3.0)], id="filleted"),
    pytest.param(on_both_sides, [through(8.0, 12.0), through(5.0, 9.0)], id="on-both-sides"),
    pytest.param(corner, [{"kind": "step", "through": False}], id="corner"),
    pytest.param(drilled, [through(8.0, 15.0)], id="with-holes"),
    pytest.param(cut_by_a_slot, [through(8.0, 15.0)], id="crossed-by-a-slot"),
    pytest.param(broken_edges, [through(8.0, 15.0)], id="chamfered-edges"),
    pytest.param(around_three_sides, [{"kind": "step", "depth_mm": 10.0, "width_mm": 10.0}], id="along-three-sides"),
    pytest.param(in_halves, [through(8.0, 15.0)], id="in-two-halves"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "expected"), FIRES)
def test_a_step_is_found_with_its_numbers(build: Build, expected: list[Said], pose: str) -> None:
    """Each border or corner that was cut down is one feature; depth and width may change places."""
    facts = recognised(build, POSES[pose])
    found = of_family(facts, Step)
    swapped = [
        each | {"depth_mm": each["width_mm"], "width_mm": each["depth_mm"]} if "width_mm" in each else each
        for each in expected
    ]
    assert [] in (differences(expected, found), differences(swapped, found)), differences(expected, found)
    assert every_face_once(facts)


@pytest.mark.parametrize("pose", POSES)
def test_stairs_are_two_steps_or_one(pose: str) -> None:
    """Two levels along one side: each level is a step, or both together are one; no other feature."""
    facts = recognised(stairs, POSES[pose])
    found = of_family(facts, Step)
    assert 1 <= len(found) <= 2
    assert len(facts.features) == len(found)
    assert sum(len(each.faces) for each in found) == 4


@pytest.mark.parametrize("pose", POSES)
def test_a_corner_has_its_three_legs(pose: str) -> None:
    """25 x 15 x 8: depth and width are two of the three, whichever side the cutter comes from."""
    (found,) = of_family(recognised(corner, POSES[pose]), Step)
    assert isinstance(found, Step)
    legs = [25.0, 15.0, 8.0]
    for value in (found.depth_mm, found.width_mm):
        assert value is not None
        nearest = min(legs, key=lambda leg, v=value: abs(leg - v))  # type: ignore[misc] # v is bound at once
        assert value == pytest.approx(nearest, abs=1e-3)
        legs.remove(nearest)


@pytest.mark.parametrize("pose", POSES)
def test_the_cutter_comes_from_an_open_side(pose: str) -> None:
    """From above or from the side, never from below."""
    (found,) = of_family(recognised(along_a_side(), POSES[pose]), Step)
    assert looks(found, POSES[pose], (0.0, 0.0, 1.0)) or looks(found, POSES[pose], (0.0, 1.0, 0.0))


def pocketed() -> Work:
    """Return the plate with a pocket."""
    work = plate()
    pocket(work, (30.0, 20.0, TOP), 34.0, 24.0, 8.0, corner_radius=4.0)
    return work


def slotted() -> Work:
    """Return the plate with a slot."""
    work = plate()
    slot(work, (30.0, 20.0, TOP), 60.0, 8.0, 6.0)
    return work


def chamfered() -> Work:
    """Return the plate with a chamfer."""
    work = plate()
    chamfer_edges(work, [(30.0, 0.0, TOP)], 2.0)
    return work


def rounded() -> Work:
    """Return the plate with a rounded edge."""
    work = plate()
    round_edges(work, [(30.0, 0.0, TOP)], 3.0)
    return work


def bossed() -> Work:
    """Return the plate with a rectangular boss."""
    work = plate()
    square_boss(work, (30.0, 20.0, TOP), 20.0, 12.0, 8.0)
    return work


def bitten() -> Work:
    """Return the plate with a hole that breaks out at its border."""
    work = plate()
    bite(work, (25.0, 0.0, TOP), 8.0, 20.0, inside=1.5, side=(0.0, -1.0, 0.0))
    return work


SILENT = [
    pytest.param(plate, id="plain-block"),
    pytest.param(pocketed, id="pocket"),
    pytest.param(slotted, id="slot"),
    pytest.param(chamfered, id="chamfer"),
    pytest.param(rounded, id="edge-round"),
    pytest.param(bossed, id="boss"),
    pytest.param(bitten, id="broken-out-hole"),
    pytest.param(
        lambda: turned([Length(20, 20, 30), Length(30, 30, 25)], size=(30.0, 30.0, 55.0)), id="shoulder-of-a-shaft"
    ),
    pytest.param(lambda: bar([(0, 0), (60, 0), (60, 10), (30, 24), (0, 10)], 40.0, (60.0, 40.0, 24.0)), id="roof"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), rod((30, 20, -1), 12, 30)), id="hole"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", SILENT)
def test_what_is_no_step_is_not_taken_for_one(build: Build, pose: str) -> None:
    """Pockets, slots, chamfers, rounds, bosses and shoulders are no steps."""
    facts = recognised(build, POSES[pose])
    assert listed(of_family(facts, Step)) == []
    assert every_face_once(facts)


def test_the_callout() -> None:
    """Width and depth."""
    (found,) = of_family(recognised(along_a_side()), Step)
    assert found.callout() in ("STEP 15 ↧8", "STEP 8 ↧15")
