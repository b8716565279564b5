"""Grooves about an axis: on a shaft, in a bore, in a face; and what is none."""

import math

import pytest
from OCP.TopoDS import TopoDS_Shape

from analyzers.features.groove import Groove
from fixtures.make.vocabulary.blends import fillet_edges
from fixtures.make.vocabulary.draw import revolved_points
from fixtures.make.vocabulary.holes import counterbore, drill
from fixtures.make.vocabulary.recesses import slot
from fixtures.make.vocabulary.rings import face_groove, inner_groove, outer_groove
from fixtures.make.vocabulary.stock import Length, turned
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
    of_family,
    open_case,
    plate,
    recognised,
    ring,
    rod,
)

TOP = 20.0
OUTER = {"kind": "groove", "side": "outer", "width_mm": 3.0, "depth_mm": 2.0, "diameter_mm": 26.0}
INNER = {"kind": "groove", "side": "inner", "width_mm": 2.2, "depth_mm": 1.5, "diameter_mm": 23.0}
FACE = {"kind": "groove", "side": "face", "width_mm": 3.2, "depth_mm": 2.0, "diameter_mm": 24.0}


def shaft() -> Work:
    """Return a shaft of two diameters."""
    return turned([Length(20.0, 20.0, 30.0), Length(30.0, 30.0, 40.0)], size=(30.0, 30.0, 70.0))


def on_a_shaft() -> Work:
    """Return the shaft with a groove in its wide part."""
    work = shaft()
    outer_groove(work, (0.0, 0.0, 52.0), 30.0, 26.0, 3.0, axis=(0.0, 0.0, 1.0))
    return work


def two_on_a_shaft() -> Work:
    """Return the shaft with two equal grooves."""
    work = on_a_shaft()
    outer_groove(work, (0.0, 0.0, 61.0), 30.0, 26.0, 3.0, axis=(0.0, 0.0, 1.0))
    return work


def in_a_bore() -> Work:
    """Return a bored plate with a groove in the bore."""
    work = plate()
    drill(work, (25.0, 20.0, TOP), 20.0, 20.0, bottom="through")
    inner_groove(work, (25.0, 20.0, 8.0), 20.0, 23.0, 2.2, axis=(0.0, 0.0, 1.0))
    return work


def in_a_blind_bore() -> Work:
    """Return a blind bore with a groove."""
    work = plate()
    drill(work, (25.0, 20.0, TOP), 20.0, 15.0, bottom="flat")
    inner_groove(work, (25.0, 20.0, 14.0), 20.0, 23.0, 2.2, axis=(0.0, 0.0, 1.0))
    return work


def in_a_face() -> Work:
    """Return the plate with a ring for a seal turned into its top."""
    work = plate()
    face_groove(work, (27.0, 20.0, TOP), 24.0, 3.2, 2.0)
    return work


def two_in_a_face() -> Work:
    """Return two rings about one axis."""
    work = in_a_face()
    face_groove(work, (27.0, 20.0, TOP), 34.0, 2.0, 1.2)
    return work


def around_a_hole() -> Work:
    """Return a seal ring around a through hole."""
    work = in_a_face()
    drill(work, (27.0, 20.0, TOP), 9.0, 20.0, bottom="through")
    return work


def rounded_floor() -> Work:
    """Return a seal ring whose floor corners are filleted."""
    work = in_a_face()
    fillet_edges(work, [(27.0, 32.0, TOP - 2.0)], 0.4)
    fillet_edges(work, [(27.0, 28.8, TOP - 2.0)], 0.4)
    return work


def leaning_flanks() -> TopoDS_Shape:
    """Return a shaft with a belt groove: floor 4 wide, flanks leaning 17 degrees, 5 deep."""
    lean = 5.0 * math.tan(math.radians(17.0))
    profile = [(14.0, 28.0), (14.0, 32.0), (19.0, 32.0 + lean), (25.0, 32.0 + lean), (25.0, 28.0 - lean)]
    return cut(rod((0, 0, 0), 38, 60), revolved_points([*profile, (19.0, 28.0 - lean)]))


def half_round() -> TopoDS_Shape:
    """Return a shaft with a groove of half-round section: 4 wide, 2 deep."""
    return cut(rod((0, 0, 0), 30, 60), ring((0, 0, 25), 30, 4))


def cut_by_a_flat() -> TopoDS_Shape:
    """Return a shaft whose groove is interrupted by a milled flat: still one groove."""
    body = cut(rod((0, 0, 0), 30, 60), cut(rod((0, 0, 23.5), 40, 3), rod((0, 0, 23), 26, 4)))
    return cut(body, box((12, -20, 10), (20, 20, 40)))


def in_halves() -> TopoDS_Shape:
    """Return the grooved shaft put together from two halves."""
    body = cut(rod((0, 0, 0), 30, 60), cut(rod((0, 0, 23.5), 40, 3), rod((0, 0, 23), 26, 4)))
    return joined(cut(body, box((0, -20, -1), (20, 20, 61))), cut(body, box((-20, -20, -1), (0, 20, 61))))


BELT = {"kind": "groove", "side": "outer", "depth_mm": 5.0, "diameter_mm": 28.0}
FIRES = [
    pytest.param(on_a_shaft, [OUTER], id="on-a-shaft"),
    pytest.param(two_on_a_shaft, [OUTER, OUTER], id="two-on-a-shaft"),
    pytest.param(in_a_bore, [INNER], id="in-a-bore"),
    pytest.param(in_a_blind_bore, [INNER], id="in-a-blind-bore"),
    pytest.param(in_a_face, [FACE], id="in-a-face"),
    pytest.param(two_in_a_face, [FACE, FACE | {"diameter_mm": 34.0, "width_mm": 2.0, "depth_mm": 1.2}], id="two-rings"),
    pytest.param(around_a_hole, [FACE], id="around-a-hole"),
    pytest.param(
        rounded_floor,
        [FACE],
        id="rounded-floor-corners",
        marks=open_case("depth is counted without the floor's fillets"),
    ),
    pytest.param(leaning_flanks, [BELT], id="leaning-flanks"),
    pytest.param(
        half_round,
        [OUTER | {"width_mm": 4.0}],
        id="half-round",
        marks=open_case("a floor of half-round section is not seen"),
    ),
    pytest.param(in_halves, [OUTER], id="in-two-halves", marks=open_case("a groove whose floor is split is lost")),
    pytest.param(
        cut_by_a_flat, [OUTER], id="interrupted-by-a-flat", marks=open_case("a groove that a flat interrupts is lost")
    ),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "expected"), FIRES)
def test_a_groove_is_found_with_its_numbers(build: Build, expected: list[Said], pose: str) -> None:
    """Each ring that was cut is one feature with the numbers it was cut with."""
    facts = recognised(build, POSES[pose])
    assert differences(expected, of_family(facts, Groove)) == []
    assert every_face_once(facts)


def counterbored() -> Work:
    """Return a counterbored plate."""
    work = plate()
    counterbore(work, (17.0, 13.0, TOP), 6.6, 20.0, bore=11.0, bore_depth=6.0)
    return work


def keyed_shaft() -> Work:
    """Return a shaft with a key slot along it."""
    work = shaft()
    slot(work, (15.0, 0.0, 50.0), 20.0, 8.0, 4.0, ends=("round", "round"), out=(1, 0, 0), along=(0, 0, 1), simple=False)
    return work


def dumbbell() -> Work:
    """Return two wheels on a neck that is longer than it is thick."""
    lengths = [Length(40.0, 40.0, 10.0), Length(12.0, 12.0, 30.0), Length(40.0, 40.0, 10.0)]
    return turned(lengths, size=(40.0, 40.0, 50.0))


def collared() -> Work:
    """Return a shaft with a collar: two flanks that look away from one another."""
    lengths = [Length(16.0, 16.0, 20.0), Length(30.0, 30.0, 4.0), Length(16.0, 16.0, 25.0)]
    return turned(lengths, size=(30.0, 30.0, 49.0))


SILENT = [
    pytest.param(plate, id="plain-block"),
    pytest.param(shaft, id="shoulder"),
    pytest.param(collared, id="collar"),
    pytest.param(dumbbell, id="long-neck"),
    pytest.param(counterbored, id="counterbore"),
    pytest.param(keyed_shaft, id="key-slot"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), rod((30, 20, 12), 16, 9)), id="round-recess"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), box((-1, 18, 15), (61, 22, 21))), id="straight-slot"),
    pytest.param(lambda: cut(rod((0, 0, 0), 30, 60), box((12, -20, 23), (20, 20, 26))), id="slot-across-a-shaft"),
    pytest.param(
        lambda: cut(box((0, 0, 0), (60, 40, 30)), cut(rod((30, 20, 10), 24, 8), rod((30, 20, 9), 10, 10))),
        id="closed-ring-cavity",
        marks=open_case("a closed cavity is taken for a groove"),
    ),
    pytest.param(
        lambda: cut(box((0, 0, 0), (60, 40, 20)), cut(rod((30, 20, 14), 24, 9), rod((32, 20, 13), 10, 11))),
        id="eccentric-island",
    ),
    pytest.param(lambda: joined(rod((0, 0, 0), 30, 20), rod((0, 0, 20), 30, 20)), id="shaft-in-two-lengths"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", SILENT)
def test_what_is_no_groove_is_not_taken_for_one(build: Build, pose: str) -> None:
    """Shoulders, collars, counterbores, key slots and straight slots are no ring grooves."""
    facts = recognised(build, POSES[pose])
    assert listed(of_family(facts, Groove)) == []
    assert every_face_once(facts)


def test_the_callout() -> None:
    """Floor diameter, width and depth."""
    (groove,) = of_family(recognised(on_a_shaft), Groove)
    assert groove.callout() == "GROOVE ⌀26 3 ↧2"
