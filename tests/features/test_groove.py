"""Grooves about an axis: on a shaft, in a bore, in a face; and what is none."""

import math

import pytest
from OCP.TopoDS import TopoDS_Shape

from analyzers.features.groove import Groove
from analyzers.features.hole import Hole
from fixtures.make.vocabulary.blends import chamfer_edges, fillet_edges, round_edges
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
    common,
    cut,
    differences,
    every_face_once,
    joined,
    listed,
    looks,
    of_family,
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


def turned_from(*points: tuple[float, float]) -> TopoDS_Shape:
    """Return a body of revolution about z from (radius, height) points."""
    return revolved_points(list(points))


def v_groove() -> TopoDS_Shape:
    """Return a shaft with a groove of two flanks that meet in a corner: flanks of 45 degrees, 3 deep, so 6 wide."""
    return cut(rod((0, 0, 0), 30, 60), turned_from((12, 25), (16, 29), (16, 21)))


def deep_round() -> TopoDS_Shape:
    """Return a shaft whose groove has upright flanks and a full-round floor: 4 wide, 5 deep."""
    return cut(rod((0, 0, 0), 30, 60), ring((0, 0, 25), 24, 4), cut(rod((0, 0, 23), 40, 4), rod((0, 0, 22), 24, 6)))


def half_round_in_a_face() -> TopoDS_Shape:
    """Return a block with a ring of half-round section for a seal: 4 wide, 2 deep, 34 outside."""
    return cut(box((0, 0, 0), (60, 40, 20)), ring((28, 20, 20), 30, 4))


def half_round_in_a_bore() -> TopoDS_Shape:
    """Return a bored block with a groove of half-round section in the bore."""
    return cut(box((0, 0, 0), (60, 40, 20)), rod((28, 20, -1), 20, 30), ring((28, 20, 8), 20, 3))


def broken_mouth() -> Work:
    """Return a grooved shaft whose groove's edges are broken by 0.3: its depth counts from the shaft."""
    work = on_a_shaft()
    chamfer_edges(work, [(0.0, 15.0, 50.5)], 0.3)
    chamfer_edges(work, [(0.0, 15.0, 53.5)], 0.3)
    return work


def rounded_mouth() -> Work:
    """Return a grooved shaft whose groove's edges are rounded by 0.3."""
    work = on_a_shaft()
    round_edges(work, [(0.0, 15.0, 50.5)], 0.3)
    round_edges(work, [(0.0, 15.0, 53.5)], 0.3)
    return work


def keyway_through_it() -> TopoDS_Shape:
    """Return a bore with a groove, both broached by a keyway deeper than the groove."""
    body = cut(box((0, 0, 0), (60, 40, 20)), rod((25, 20, -1), 20, 30), rod((25, 20, 7), 23, 2.2))
    return cut(body, box((22, 20, -1), (28, 35, 21)))


def two_flats() -> TopoDS_Shape:
    """Return a shaft whose groove two opposite flats cut in two arcs, each of less than half a turn."""
    body = cut(rod((0, 0, 0), 30, 60), cut(rod((0, 0, 23.5), 40, 3), rod((0, 0, 23), 26, 4)))
    return cut(body, box((12, -20, 10), (20, 20, 40)), box((-20, -20, 10), (-12, 20, 40)))


def undercut_at_a_shoulder() -> TopoDS_Shape:
    """Return a shaft with a relief at its shoulder: 2 wide, 0.5 deep, floor 19."""
    return joined(
        cut(rod((0, 0, 0), 20, 30), cut(rod((0, 0, 28), 24, 2), rod((0, 0, 27), 19, 4))), rod((0, 0, 30), 36, 20)
    )


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
    ),
    pytest.param(leaning_flanks, [BELT], id="leaning-flanks"),
    pytest.param(
        half_round,
        [OUTER | {"width_mm": 4.0}],
        id="half-round",
    ),
    pytest.param(
        in_halves,
        [OUTER],
        id="in-two-halves",
    ),
    pytest.param(cut_by_a_flat, [OUTER], id="interrupted-by-a-flat"),
    pytest.param(v_groove, [OUTER | {"width_mm": 6.0, "depth_mm": 3.0, "diameter_mm": 24.0}], id="v"),
    pytest.param(deep_round, [OUTER | {"width_mm": 4.0, "depth_mm": 5.0, "diameter_mm": 20.0}], id="full-round-floor"),
    pytest.param(
        half_round_in_a_face,
        [FACE | {"width_mm": 4.0, "diameter_mm": 34.0}],
        id="half-round-in-a-face",
    ),
    pytest.param(half_round_in_a_bore, [INNER | {"width_mm": 3.0}], id="half-round-in-a-bore"),
    pytest.param(broken_mouth, [OUTER], id="broken-mouth"),
    pytest.param(rounded_mouth, [OUTER], id="rounded-mouth"),
    pytest.param(keyway_through_it, [INNER], id="interrupted-by-a-keyway"),
    pytest.param(two_flats, [OUTER], id="in-two-arcs"),
    pytest.param(
        undercut_at_a_shoulder,
        [OUTER | {"width_mm": 2.0, "depth_mm": 0.5, "diameter_mm": 19.0}],
        id="undercut-at-a-shoulder",
    ),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "expected"), FIRES)
def test_a_groove_is_found_with_its_numbers(build: Build, expected: list[Said], pose: str) -> None:
    """Each ring that was cut is one feature with the numbers it was cut with."""
    facts = recognised(build, POSES[pose])
    assert differences(expected, of_family(facts, Groove)) == []
    assert every_face_once(facts)


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", [in_a_face, half_round_in_a_face, rounded_floor], ids=["flat", "round", "filleted"])
def test_a_ring_in_a_face_is_turned_from_that_face(build: Build, pose: str) -> None:
    """The direction points out of the face."""
    (groove,) = of_family(recognised(build, POSES[pose]), Groove)
    assert looks(groove, POSES[pose], (0.0, 0.0, 1.0))


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


def filleted_shoulder() -> Work:
    """Return a shaft with a generous fillet at its shoulder."""
    work = shaft()
    fillet_edges(work, [(0.0, 10.0, 30.0)], 3.0)
    return work


def pin_across_a_link() -> TopoDS_Shape:
    """Return a narrow flat link that ends in a round pin across it, which stands out on both sides."""
    return joined(box((0, -2.5, -2), (60, 2.5, 2)), rod((0, 0, -6), 6, 12))


SILENT = [
    pytest.param(pin_across_a_link, id="pin-across-a-link"),
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
    ),
    pytest.param(
        lambda: cut(box((0, 0, 0), (60, 40, 20)), cut(rod((30, 20, 14), 24, 9), rod((32, 20, 13), 10, 11))),
        id="eccentric-island",
    ),
    pytest.param(lambda: joined(rod((0, 0, 0), 30, 20), rod((0, 0, 20), 30, 20)), id="shaft-in-two-lengths"),
    pytest.param(lambda: turned([Length(30, 20, 30), Length(20, 30, 30)], size=(30.0, 30.0, 60.0)), id="hourglass"),
    pytest.param(lambda: cut(rod((0, 0, 0), 30, 60), ring((0, 0, 30), 130, 106)), id="hollow-ground-roller"),
    pytest.param(filleted_shoulder, id="filleted-shoulder"),
    pytest.param(
        lambda: cut(
            box((0, 0, 0), (60, 40, 20)),
            common(cut(rod((30, 20, 15), 30, 9), rod((30, 20, 14), 22, 11)), box((32, 0, 0), (60, 40, 30))),
        ),
        id="slot-along-an-arc",
    ),
    pytest.param(
        lambda: joined(box((0, 0, 0), (60, 40, 10)), rod((15, 20, 10), 10, 6), rod((45, 20, 10), 10, 6)),
        id="two-bosses",
    ),
    pytest.param(lambda: cut(rod((0, 0, 0), 30, 60), cut(rod((0, 0, 20), 24, 6), rod((0, 0, 19), 10, 8))), id="cavity"),
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


def beaded() -> TopoDS_Shape:
    """Return a washer, 32 to 63 across and 1.925 thick, with a half-round bead along either rim of its top."""
    washer = cut(rod((0, 0, -1.5), 63, 1.925), rod((0, 0, -2), 32, 4))
    return joined(washer, ring((0, 0, 0), 35, 3), ring((0, 0, 0), 60, 3))


@pytest.mark.parametrize("pose", POSES)
def test_flanks_that_look_away_from_one_another_are_a_ring_not_a_groove(pose: str) -> None:
    """Bore and rim of a washer bound what stands between them; the bore is a hole (NIST FTC 11 is made so)."""
    found = recognised(beaded, POSES[pose]).features
    assert [each.callout() for each in found if isinstance(each, Groove) and each.width_mm > 15.0] == []
    bores = [each for each in found if isinstance(each, Hole)]
    assert [(round(each.diameter_mm, 3), each.through) for each in bores] == [(32.0, True)]
