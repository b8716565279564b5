"""Slots: straight, round-ended, undercut; and what is none."""

import math

import pytest
from OCP.gp import gp_Trsf
from OCP.TopoDS import TopoDS_Shape

from analyzers.features.slot import Slot
from fixtures.make.vocabulary.blends import fillet_edges, round_edges
from fixtures.make.vocabulary.draw import polygon, prism
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.recesses import pocket, profile_slot, slot, step
from fixtures.make.vocabulary.rings import face_groove, outer_groove
from fixtures.make.vocabulary.stock import Length, bar, block, turned
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
    rod,
    upright,
)
from tests.kernel._solids import moved, turned_by

TOP = 20.0


def said(width: float, depth: float, length: float, **more: object) -> Said:
    """Return what is said of one slot."""
    return {"kind": "slot", "width_mm": width, "depth_mm": depth, "length_mm": length} | more


def milled(
    ends: tuple[str, str], length: float = 60.0, x: float = 30.0, depth: float = 6.0, through_floor: bool = False
) -> Build:
    """Return the plate with a slot of 8 mm along x, off its middle."""

    def build() -> Work:
        work = plate()
        slot(work, (x, 17.0, TOP), length, 8.0, depth, ends=ends, through_floor=through_floor)
        return work

    return build


def askew_in_plan() -> Work:
    """Return a plate with a slot that crosses it at a slant: its ends are not square to it."""
    work = plate()
    slot(work, (30.0, 20.0, TOP), 90.0, 6.0, 5.0, along=(0.8, 0.6, 0.0), simple=False, over=20.0)
    return work


def t_slot() -> Work:
    """Return a T-slot: neck 10 wide and 8 deep, head 18 wide and 8 high."""
    work = block((60.0, 50.0, 30.0))
    profile = [
        (-5.0, 5.0),
        (-5.0, -8.0),
        (-9.0, -8.0),
        (-9.0, -16.0),
        (9.0, -16.0),
        (9.0, -8.0),
        (5.0, -8.0),
        (5.0, 5.0),
    ]
    profile_slot(work, (30.0, 25.0, 30.0), 60.0, profile, opening=10.0, undercut=18.0)
    return work


def dovetail() -> Work:
    """Return a dovetail slot: 14 wide at the opening, 8 deep, flanks leaning 60 degrees."""
    work = block((60.0, 50.0, 30.0))
    low = 7.0 + 8.0 / math.tan(math.radians(60.0))
    over = 7.0 - 5.0 / math.tan(math.radians(60.0))
    profile = [(-over, 5.0), (-7.0, 0.0), (-low, -8.0), (low, -8.0), (7.0, 0.0), (over, 5.0)]
    profile_slot(work, (30.0, 25.0, 30.0), 60.0, profile, opening=14.0, undercut=2 * low)
    return work


def filleted_floor() -> Work:
    """Return a slot with both floor edges filleted."""
    work = plate()
    slot(work, (30.0, 17.0, TOP), 60.0, 8.0, 6.0)
    fillet_edges(work, [(30.0, 13.0, TOP - 6.0)], 1.0)
    fillet_edges(work, [(30.0, 21.0, TOP - 6.0)], 1.0)
    return work


def crossing() -> Work:
    """Return two slots that cross at different depths: each is one slot."""
    work = block((60.0, 60.0, TOP))
    slot(work, (30.0, 30.0, TOP), 60.0, 8.0, 6.0)
    slot(work, (22.0, 30.0, TOP), 60.0, 10.0, 9.0, along=(0.0, 1.0, 0.0), simple=False)
    return work


def crossing_level() -> Work:
    """Return two slots of one depth that cross: their floors are one face."""
    work = block((60.0, 60.0, TOP))
    slot(work, (30.0, 30.0, TOP), 60.0, 8.0, 6.0)
    slot(work, (22.0, 30.0, TOP), 60.0, 10.0, 6.0, along=(0.0, 1.0, 0.0), simple=False)
    return work


def drilled_across() -> Work:
    """Return a slot whose walls a hole crosses."""
    work = plate()
    slot(work, (30.0, 20.0, TOP), 60.0, 8.0, 12.0)
    drill(work, (30.0, 0.0, 14.0), 5.0, 40.0, out=(0.0, -1.0, 0.0), bottom="through", simple=False)
    return work


def key_seat() -> Work:
    """Return a shaft with a key slot of two round ends."""
    work = turned([Length(30.0, 30.0, 80.0)], size=(30.0, 30.0, 80.0))
    slot(work, (15.0, 0.0, 40.0), 30.0, 8.0, 4.0, ends=("round", "round"), out=(1, 0, 0), along=(0, 0, 1), simple=False)
    return work


def in_halves() -> TopoDS_Shape:
    """Return a slotted plate put together from two halves across the slot."""
    body = cut(box((0, 0, 0), (60, 40, 20)), box((-1, 13, 14), (61, 21, 21)))
    return joined(cut(body, box((25, -1, -1), (61, 41, 30))), cut(body, box((-1, -1, -1), (25, 41, 30))))


def shallow_v() -> TopoDS_Shape:
    """Return a plate with a V groove of 157 degrees along its top: 30 wide, 3 deep, off its middle."""
    return cut(box((0, 0, 0), (60, 44, 20)), prism(polygon([(-1, 5, 20), (-1, 20, 17), (-1, 35, 20)]), (62, 0, 0)))


def bridged() -> TopoDS_Shape:
    """Return a slot of 8 x 12 that a bridge roofs over a fifth of its length."""
    body = cut(box((0, 0, 0), (60, 40, 20)), box((-1, 13, 8), (61, 21, 21)))
    return joined(body, box((40, 5, 16), (52, 30, 20)))


def run_out() -> TopoDS_Shape:
    """Return a slot that runs out at an end which a slope has cut away, so that no square side borders it."""
    body = cut(box((0, 0, 0), (60, 40, 20)), box((20, 13, 12), (61, 21, 21)), rod((20, 17, 12), 8, 9))
    return cut(body, prism(polygon([(40, -1, 20), (61, -1, 20), (61, -1, -1), (50, -1, -1)]), (0, 42, 0)))


def tee() -> TopoDS_Shape:
    """Return a slot of 8 right across and one of 10 that branches off to one side, at one depth."""
    return cut(box((0, 0, 0), (100, 80, 30)), box((-1, 30, 20), (101, 38, 31)), box((40, 34, 20), (50, 81, 31)))


def bent() -> TopoDS_Shape:
    """Return a slot of 8 that turns a corner: in at one side, out at the next; middle line 44 + 46."""
    return cut(box((0, 0, 0), (100, 80, 30)), box((-1, 30, 20), (48, 38, 31)), box((40, 30, 20), (48, 81, 31)))


def curved() -> TopoDS_Shape:
    """Return a slot of 10 along a quarter circle of radius 40 about a corner of the block."""
    return cut(box((0, 0, 0), (100, 80, 30)), cut(rod((0, 0, 22), 90, 9), rod((0, 0, 21), 70, 11)))


def banana() -> TopoDS_Shape:
    """Return a closed slot of 8 along 60 degrees of a circle of radius 41, with round ends."""
    at = [(50 + 41 * math.cos(math.radians(a)), 10 + 41 * math.sin(math.radians(a))) for a in (60, 120)]
    ring = cut(rod((50, 10, 22), 90, 9), rod((50, 10, 21), 74, 11))
    far = [(50 + 100 * math.cos(math.radians(a)), 10 + 100 * math.sin(math.radians(a))) for a in (60, 120)]
    sector = upright([(50, 10), *far], 20, 40)
    return cut(box((0, 0, 0), (100, 80, 30)), common(ring, sector), *(rod((x, y, 22), 8, 9) for x, y in at))


def dovetail_one_end() -> TopoDS_Shape:
    """Return a dovetail that ends inside: 20 wide below, 12 + 8 / 11 at the opening, 10 deep, 80 long."""
    profile = [(20.0, 34.0, 31.0), (20.0, 30.0, 20.0), (20.0, 50.0, 20.0), (20.0, 46.0, 31.0)]
    return cut(box((0, 0, 0), (100, 80, 30)), prism(polygon(profile), (81, 0, 0)))


def pins() -> TopoDS_Shape:
    """Return four slots each way across a block, all of one depth: pins are left between them."""
    along = [box((-1, 14 + i * 20, 10), (91, 24 + i * 20, 31)) for i in range(4)]
    across = [box((14 + i * 20, -1, 10), (24 + i * 20, 91, 31)) for i in range(4)]
    return cut(box((0, 0, 0), (90, 90, 30)), *along, *across)


LOW = 2 * (7.0 + 8.0 / math.tan(math.radians(60.0)))
ACROSS = said(8.0, 6.0, 60.0, through=True, ends="open", floor_radius_mm=0.0, undercut_width_mm=None)
FIRES = [
    pytest.param(milled(("open", "open")), [ACROSS], id="right-across"),
    pytest.param(
        milled(("round", "open"), 35.0, 42.5),
        [said(8.0, 6.0, 35.0, through=False, ends="round", corner_radius_mm=4.0)],
        id="one-round-end",
    ),
    pytest.param(
        milled(("round", "round"), 36.0), [said(8.0, 6.0, 36.0, ends="round", corner_radius_mm=4.0)], id="obround"
    ),
    pytest.param(
        milled(("round", "round"), 20.0, depth=20.0, through_floor=True),
        [said(8.0, 20.0, 20.0, ends="round", floor_radius_mm=None)],
        id="obround-window",
    ),
    pytest.param(
        askew_in_plan,
        [{"kind": "slot", "width_mm": 6.0, "depth_mm": 5.0, "through": True}],
        id="slanting",
    ),
    pytest.param(t_slot, [said(10.0, 16.0, 60.0, through=True, undercut_width_mm=18.0)], id="t-slot"),
    pytest.param(dovetail, [said(14.0, 8.0, 60.0, through=True, undercut_width_mm=LOW)], id="dovetail"),
    pytest.param(filleted_floor, [said(8.0, 6.0, 60.0, through=True, floor_radius_mm=1.0)], id="filleted-floor"),
    pytest.param(crossing, [ACROSS, said(10.0, 9.0, 60.0, through=True)], id="crossing"),
    pytest.param(
        crossing_level,
        [ACROSS, said(10.0, 6.0, 60.0, through=True)],
        id="crossing-at-one-depth",
    ),
    pytest.param(drilled_across, [said(8.0, 12.0, 60.0, through=True)], id="drilled-across"),
    pytest.param(key_seat, [{"kind": "slot", "width_mm": 8.0, "length_mm": 30.0, "ends": "round"}], id="key-seat"),
    pytest.param(in_halves, [ACROSS], id="in-two-halves"),
    pytest.param(tee, [said(8.0, 10.0, 100.0, through=True), said(10.0, 10.0, 42.0, through=False)], id="branching"),
    pytest.param(bent, [said(8.0, 10.0, 90.0, through=True, ends="open")], id="round-a-corner"),
    pytest.param(curved, [said(10.0, 8.0, 20.0 * math.pi, through=True, ends="open")], id="along-a-circle"),
    pytest.param(banana, [said(8.0, 8.0, 41.0 * math.pi / 3.0 + 8.0, ends="round")], id="bent-obround"),
    pytest.param(
        dovetail_one_end,
        [said(12.0 + 8.0 / 11.0, 10.0, 80.0, through=False, undercut_width_mm=20.0)],
        id="dovetail-that-ends-inside",
    ),
    pytest.param(pins, [said(10.0, 20.0, 90.0, through=True)] * 8, id="pins"),
    pytest.param(shallow_v, [said(30.0, 3.0, 60.0, through=True)], id="shallow-v"),
    pytest.param(bridged, [said(8.0, 12.0, 60.0, through=True)], id="under-a-bridge"),
    pytest.param(run_out, [said(8.0, 8.0, 24.0 + 8 * 10 / 21, through=False, ends="round")], id="into-a-sloped-side"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "expected"), FIRES)
def test_a_slot_is_found_with_its_numbers(build: Build, expected: list[Said], pose: str) -> None:
    """Each slot that was milled is one feature with the numbers it was milled with."""
    facts = recognised(build, POSES[pose])
    assert differences(expected, of_family(facts, Slot)) == []
    assert every_face_once(facts)


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", [milled(("open", "open")), t_slot, key_seat], ids=["plain", "t-slot", "key-seat"])
def test_the_cutter_comes_from_the_mouth(build: Build, pose: str) -> None:
    """The direction points out of the slot's mouth."""
    (found,) = of_family(recognised(build, POSES[pose]), Slot)
    assert looks(found, POSES[pose], (1.0, 0.0, 0.0) if build is key_seat else (0.0, 0.0, 1.0))


def holed() -> Work:
    """Return the plate with a hole."""
    work = plate()
    drill(work, (30.0, 20.0, TOP), 16.0, 8.0, bottom="flat")
    return work


def pocketed() -> Work:
    """Return the plate with a pocket."""
    work = plate()
    pocket(work, (30.0, 20.0, TOP), 34.0, 24.0, 8.0, corner_radius=4.0)
    return work


def stubby() -> Work:
    """Return a closed obround of 1.3 widths: a pocket."""
    work = plate()
    slot(work, (30.0, 20.0, TOP), 26.0, 20.0, 6.0, ends=("round", "round"))
    return work


def stepped() -> Work:
    """Return the plate with a step."""
    work = plate()
    step(work, (30.0, 40.0, TOP), 60.0, 15.0, 8.0, side=(0.0, 1.0, 0.0))
    return work


def grooved() -> Work:
    """Return a shaft with a ring groove."""
    work = turned([Length(30.0, 30.0, 80.0)], size=(30.0, 30.0, 80.0))
    outer_groove(work, (0.0, 0.0, 52.0), 30.0, 26.0, 3.0, axis=(0.0, 0.0, 1.0))
    return work


def ringed() -> Work:
    """Return the plate with a ring turned into it."""
    work = plate()
    face_groove(work, (30.0, 20.0, TOP), 24.0, 3.0, 2.0)
    return work


def ribbed() -> Work:
    """Return the plate with rounded upright edges."""
    work = plate()
    round_edges(work, [(0.0, 0.0, 10.0)], 8.0)
    return work


def hexagon() -> TopoDS_Shape:
    """Return a six-sided recess."""
    corners = [(30 + 8 * math.cos(math.radians(a)), 20 + 8 * math.sin(math.radians(a))) for a in range(0, 360, 60)]
    return cut(box((0, 0, 0), (60, 40, 20)), upright(corners, 12, 21))


def bayed() -> TopoDS_Shape:
    """Return a pocket that a narrower channel joins to the outside at one depth: an open pocket."""
    return cut(box((0, 0, 0), (100, 80, 30)), box((30, 20, 20), (80, 60, 31)), box((-1, 36, 20), (40, 44, 31)))


def window_crossed() -> TopoDS_Shape:
    """Return a window that a slot crosses from one side over a third of its height: still a passage, and a slot."""
    return cut(box((0, 0, 0), (60, 40, 30)), box((20, 10, -1), (40, 30, 31)), box((25, -1, 10), (35, 20, 20)))


def ridge_cut() -> TopoDS_Shape:
    """Return a block with one upright edge cut off hollow, by a quarter of a cylinder: it opens at two sides."""
    return cut(box((0, 0, 0), (60, 40, 20)), rod((0, 0, -1), 16, 30))


def around_three_sides() -> TopoDS_Shape:
    """Return a block whose border is cut down on three sides."""
    low = [box((-1, -1, 20), (101, 10, 31)), box((-1, -1, 20), (10, 81, 31)), box((90, -1, 20), (101, 81, 31))]
    return cut(box((0, 0, 0), (100, 80, 30)), *low)


SILENT = [
    pytest.param(plate, id="plain-block"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), box((40, -1, 12), (61, 41, 21))), id="step-at-an-end"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), box((20, 10, -1), (40, 30, 21))), id="square-window"),
    pytest.param(bayed, id="pocket-with-a-channel"),
    pytest.param(window_crossed, id="window-that-a-side-opening-meets"),
    pytest.param(ridge_cut, id="hollow-edge"),
    pytest.param(around_three_sides, id="border-cut-down"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), box((30, 20, 10), (61, 41, 21))), id="corner-cut-down"),
    pytest.param(
        lambda: cut(box((0, 0, 0), (60, 40, 20)), box((20, 10, 12), (40, 20, 21)), box((32, 10, 12), (40, 30, 21))),
        id="closed-l",
    ),
    pytest.param(
        lambda: cut(box((0, 0, 0), (60, 40, 20)), upright([(15, 10), (45, 10), (50, 24)], 14, 21)), id="triangle"
    ),
    pytest.param(holed, id="hole"),
    pytest.param(pocketed, id="pocket"),
    pytest.param(stubby, id="stubby-obround"),
    pytest.param(stepped, id="step"),
    pytest.param(grooved, id="ring-groove"),
    pytest.param(ringed, id="ring-in-a-face"),
    pytest.param(ribbed, id="rounded-edge"),
    pytest.param(hexagon, id="hexagon"),
    pytest.param(
        lambda: bar([(0, 0), (40, 0), (40, 8), (8, 8), (8, 30), (0, 30)], 25.0, (40.0, 25.0, 30.0)), id="angle-bracket"
    ),
    pytest.param(lambda: bar([(0, 0), (60, 0), (60, 10), (30, 24), (0, 10)], 40.0, (60.0, 40.0, 24.0)), id="roof"),
    pytest.param(lambda: joined(box((0, 0, 0), (60, 40, 20)), box((20, 10, 20), (40, 30, 30))), id="boss"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), rod((30, 20, -1), 12, 30)), id="through-hole"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", SILENT)
def test_what_is_no_slot_is_not_taken_for_one(build: Build, pose: str) -> None:
    """Holes, pockets, stubby obrounds, steps and ring grooves are no slots."""
    facts = recognised(build, POSES[pose])
    assert listed(of_family(facts, Slot)) == []
    assert every_face_once(facts)


def test_the_callout() -> None:
    """Width, length, depth."""
    (found,) = of_family(recognised(milled(("open", "open"))), Slot)
    assert found.callout() == "8 × 60 ↧6"


@pytest.mark.parametrize("pose", POSES.values(), ids=POSES)
@pytest.mark.parametrize(("round_end", "through"), [(True, False), (False, True)], ids=["round", "open"])
def test_a_round_end_that_another_slot_ate_is_still_an_end(round_end: bool, through: bool, pose: gp_Trsf) -> None:
    """The deeper slot across took the middle of the end; what is left of its round tells that it was one."""

    def build() -> TopoDS_Shape:
        path = box((20, 14, 12), (61, 26, 21))
        end = rod((20, 20, 12), 12.0, 9.0) if round_end else box((-1, 14, 12), (21, 26, 21))
        return cut(plate().shape, path, end, box((10, -1, 6), (17, 41, 21)))

    found = [
        each for each in recognised(build, pose).features if each.dimensions().get("depth_mm") == pytest.approx(8.0)
    ]
    assert [each.dimensions()["through"] for each in found] == [through]


@pytest.mark.parametrize("pose", POSES)
def test_equal_slots_round_a_shaft_are_all_slots(pose: str) -> None:
    """Six of 8 x 3 x 50 that end in the shaft, as of a splined one: at whatever angle each lies, it is the same."""
    shaft, tooth = rod((0, 0, 0), 32, 80), box((13, -4, -1), (20, 4, 50))
    for turn in range(6):
        shaft = cut(shaft, moved(tooth, turned_by((0.0, 0.0, 1.0), 60.0 * turn)))
    slots = of_family(recognised(lambda: shaft, POSES[pose]), Slot)
    said = {"kind": "slot", "width_mm": 8.0, "depth_mm": 3.0, "length_mm": 50.0}
    assert differences([said] * 6, slots) == []
