"""Chamfers: broken edges, told from sloped sides and steps by what they join and by their size; and what is none."""

import math

import pytest
from OCP.TopoDS import TopoDS_Shape

from analyzers.features.chamfer import Chamfer
from fixtures.make.vocabulary.blends import chamfer_edges, fillet_edges, round_edges
from fixtures.make.vocabulary.draw import polygon, prism
from fixtures.make.vocabulary.holes import countersink, drill, stepped
from fixtures.make.vocabulary.raised import round_boss
from fixtures.make.vocabulary.recesses import pocket, step
from fixtures.make.vocabulary.stock import Length, bar, turned
from fixtures.make.vocabulary.tapered import drafted_pocket
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
    plate,
    recognised,
    rod,
    taper,
    upright,
)

TOP = 20.0
RIM = [(30.0, 0.0, TOP), (60.0, 20.0, TOP), (30.0, 40.0, TOP), (0.0, 20.0, TOP)]
MIDDLE = (30.0, 20.0, TOP)


def chamfer(width: float, angle: float = 45.0, **more: object) -> Said:
    """Return what is said of one chamfer."""
    return {"kind": "chamfer", "width_mm": width, "angle_deg": angle} | more


def prism_along_y(profile: list[tuple[float, float]], length: float) -> TopoDS_Shape:
    """Return the prism of an outline in the xz plane, from y = 15 on."""
    return prism(polygon([(x, 15.0, z) for x, z in profile]), (0.0, length, 0.0))


def on(points: list[tuple[float, float, float]], width: float = 1.5, angle: float = 45.0) -> Build:
    """Return the plate with these edges broken in one go; the width lies along the top."""

    def build() -> Work:
        work = plate()
        chamfer_edges(work, points, width, angle=angle, face=None if angle == 45.0 else MIDDLE)
        return work

    return build


def opposite() -> Work:
    """Return the plate with two opposite edges broken by different widths."""
    work = plate()
    chamfer_edges(work, [RIM[0]], 1.0)
    chamfer_edges(work, [RIM[2]], 2.0)
    return work


def hole_mouth() -> Work:
    """Return a through hole with a broken edge."""
    work = plate()
    drill(work, (25.0, 20.0, TOP), 12.0, 20.0, bottom="through")
    chamfer_edges(work, [(25.0, 26.0, TOP)], 0.5)
    return work


def boss_top() -> Work:
    """Return a round boss with a broken top edge."""
    work = plate()
    round_boss(work, (21.0, 17.0, TOP), 10.0, 6.0)
    chamfer_edges(work, [(21.0, 22.0, TOP + 6.0)], 1.0)
    return work


def shaft_ends() -> Work:
    """Return a shaft with both ends broken."""
    lengths = [Length(27.0, 30.0, 1.5, chamfer=True), Length(30.0, 30.0, 40.0), Length(30.0, 27.0, 1.5, chamfer=True)]
    return turned(lengths, size=(30.0, 30.0, 43.0))


def pocket_mouth() -> Work:
    """Return a pocket with round corners whose mouth is broken all round: planes and cones."""
    work = plate()
    pocket(work, (30.0, 20.0, TOP), 34.0, 24.0, 9.0, corner_radius=5.0)
    chamfer_edges(work, [(30.0, 8.0, TOP)], 1.0)
    return work


def one_side_of_a_mouth() -> Work:
    """Return a plate with a sharp-cornered pocket, one edge of its mouth broken: the strip ends at two walls."""
    work = plate()
    pocket(work, (30.0, 20.0, TOP), 34.0, 24.0, 8.0)
    chamfer_edges(work, [(30.0, 8.0, TOP)], 1.0)
    return work


def floor_of_a_slot() -> TopoDS_Shape:
    """Return a plate with a round-ended slot whose floor edge is bevelled all round: two strips and two cones."""
    wide = [box((20, 12, 12), (40, 24, 21)), rod((20, 18, 12), 12, 9), rod((40, 18, 12), 12, 9)]
    ends = [taper((x, 18, 11), 10, 12, 1) for x in (20, 40)]
    middle = prism(polygon([(20, 12, 12), (20, 13, 11), (20, 23, 11), (20, 24, 12)]), (20, 0, 0))
    return cut(box((0, 0, 0), (60, 40, 20)), *wide, *ends, middle)


def corner_of_a_plate() -> Work:
    """Return the plate with one upright corner cut off by 5."""
    work = plate()
    chamfer_edges(work, [(60.0, 40.0, 10.0)], 5.0)
    return work


def in_halves() -> TopoDS_Shape:
    """Return a broken edge put together from two halves along it."""
    body = on([RIM[0]])()
    assert isinstance(body, Work)
    return joined(cut(body.shape, box((30, -1, -1), (61, 41, 30))), cut(body.shape, box((-1, -1, -1), (30, 41, 30))))


def step_edge() -> Work:
    """Return a step whose outer floor edge is broken."""
    work = plate()
    step(work, (30.0, 40.0, TOP), 60.0, 15.0, 8.0, side=(0.0, 1.0, 0.0))
    chamfer_edges(work, [(30.0, 40.0, 12.0)], 1.0)
    return work


def cut_by_a_slot() -> TopoDS_Shape:
    """Return a broken edge that a slot interrupts: two faces on one plane, one chamfer."""
    body = on([RIM[0]])()
    assert isinstance(body, Work)
    return cut(body.shape, box((26, -1, 12), (33, 41, 21)))


def two_on_a_rib() -> Work:
    """Return a thin wall whose two top edges are broken so far that a fifth of its top is left."""
    return bar([(0, 0), (5, 0), (5, 18), (3, 20), (2, 20), (0, 18)], 40.0, (5.0, 40.0, 20.0))


FIRES = [
    pytest.param(two_on_a_rib, [chamfer(2.0), chamfer(2.0)], id="both-edges-of-a-thin-wall"),
    pytest.param(on([RIM[0]]), [chamfer(1.5, n_faces=1)], id="one-edge-45"),
    pytest.param(on([RIM[0]], angle=30.0), [chamfer(1.5, 30.0)], id="one-edge-30"),
    pytest.param(
        on([RIM[0]], angle=60.0), [{"kind": "chamfer", "n_faces": 1, "angle_deg": 60.0, "width_mm": 1.5}], id="60"
    ),
    pytest.param(on(RIM), [chamfer(1.5, n_faces=4)], id="rim"),
    pytest.param(opposite, [chamfer(1.0), chamfer(2.0)], id="two-widths"),
    pytest.param(hole_mouth, [chamfer(0.5)], id="mouth-of-a-hole"),
    pytest.param(boss_top, [chamfer(1.0)], id="top-of-a-boss"),
    pytest.param(shaft_ends, [chamfer(1.5), chamfer(1.5)], id="ends-of-a-shaft"),
    pytest.param(pocket_mouth, [chamfer(1.0, n_faces=8)], id="mouth-of-a-pocket"),
    pytest.param(one_side_of_a_mouth, [chamfer(1.0, n_faces=1)], id="one-side-of-a-mouth"),
    pytest.param(floor_of_a_slot, [chamfer(1.0)], id="round-the-floor-of-a-slot"),
    pytest.param(corner_of_a_plate, [chamfer(5.0)], id="corner-of-a-plate"),
    pytest.param(in_halves, [chamfer(1.5, n_faces=2)], id="in-two-halves"),
    pytest.param(step_edge, [chamfer(1.0)], id="edge-of-a-step"),
    pytest.param(cut_by_a_slot, [chamfer(1.5, n_faces=2)], id="interrupted-by-a-slot"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "expected"), FIRES)
def test_a_chamfer_is_found_with_its_size(build: Build, expected: list[Said], pose: str) -> None:
    """Each broken edge or ring of edges of one size is one feature, with its leg and angle."""
    facts = recognised(build, POSES[pose])
    assert differences(expected, of_family(facts, Chamfer)) == []
    assert every_face_once(facts)


def wedge() -> Work:
    """Return a bar with one leaning side: 24 of its 30 mm height."""
    return bar([(0, 0), (60, 0), (60, 6), (36, 30), (0, 30)], 40.0, (60.0, 40.0, 30.0))


def roof() -> Work:
    """Return a bar with a roof."""
    return bar([(0, 0), (60, 0), (60, 10), (30, 24), (0, 10)], 40.0, (60.0, 40.0, 24.0))


def sloped_step() -> Work:
    """Return a bar with a sloped floor that runs from a wall down to the side: a step, cut with a tilted cutter."""
    return bar([(0, 0), (60, 0), (60, 10), (30, 16), (30, 30), (0, 30)], 40.0, (60.0, 40.0, 30.0))


def stopped_slope() -> TopoDS_Shape:
    """Return a plate with half an edge cut off by a sloping plane, which ends at a wall: a corner cut down."""
    return cut(box((0, 0, 0), (60, 40, 20)), prism(polygon([(30, -1, 14), (30, 7, 21), (30, -1, 21)]), (31, 0, 0)))


def sunk() -> Work:
    """Return a countersunk plate."""
    work = plate()
    countersink(work, (17.0, 13.0, TOP), 5.5, 20.0, sink=11.0)
    return work


def taper_hole() -> Work:
    """Return a taper hole."""
    work = plate()
    stepped(work, (17.0, 13.0, TOP), [(8.0, 7.6, 20.0)])
    return work


def drilled() -> Work:
    """Return a blind hole with its drill point."""
    work = plate()
    drill(work, (17.0, 13.0, TOP), 8.0, 12.0)
    return work


def drafted() -> Work:
    """Return a pocket with leaning walls."""
    work = plate()
    drafted_pocket(work, (30.0, 20.0, TOP), 34.0, 24.0, 9.0, draft_deg=3.0, corner_radius=5.0, floor_thickness=11.0)
    return work


def rounded() -> Work:
    """Return the plate with a rounded edge and a filleted step."""
    work = plate()
    round_edges(work, [RIM[0]], 3.0)
    step(work, (30.0, 40.0, TOP), 60.0, 15.0, 8.0, side=(0.0, 1.0, 0.0))
    fillet_edges(work, [(30.0, 25.0, 12.0)], 3.0)
    return work


def hexagon_bar() -> TopoDS_Shape:
    """Return a six-sided bar."""
    corners = [(12 * math.cos(math.radians(a)), 12 * math.sin(math.radians(a))) for a in range(0, 360, 60)]
    return upright(corners, 0, 50)


def hipped() -> Work:
    """Return a bar whose whole height a slope takes away at one side, less a tenth."""
    return bar([(0, 0), (80, 0), (80, 2), (62, 20), (0, 20)], 40.0, (80.0, 40.0, 20.0))


def ramp_on_a_base() -> TopoDS_Shape:
    """Return a block on a wide base whose slope leaves a sixth of its side: a ramp."""
    ramp = prism_along_y([(20, 10), (80, 10), (80, 15), (56, 39), (20, 39)], 30.0)
    return joined(box((0, 0, 0), (200, 60, 10)), ramp)


SILENT = [
    pytest.param(hipped, id="slope-of-a-whole-side"),
    pytest.param(ramp_on_a_base, id="ramp-on-a-base"),
    pytest.param(plate, id="plain-block"),
    pytest.param(wedge, id="wedge"),
    pytest.param(roof, id="roof"),
    pytest.param(sloped_step, id="sloped-step"),
    pytest.param(stopped_slope, id="slope-that-ends-at-its-wall"),
    pytest.param(sunk, id="countersink"),
    pytest.param(taper_hole, id="taper-hole"),
    pytest.param(drilled, id="drill-point"),
    pytest.param(drafted, id="drafted-walls"),
    pytest.param(rounded, id="rounds-and-fillets"),
    pytest.param(hexagon_bar, id="hexagon-bar"),
    pytest.param(lambda: turned([Length(20, 20, 30), Length(20, 30, 25)], size=(30.0, 30.0, 55.0)), id="taper-shaft"),
    pytest.param(
        lambda: bar([(0, 0), (60, 0), (60, 10), (34, 10), (30, 17), (30, 25), (0, 25)], 30.0, (60.0, 30.0, 25.0)),
        id="slope-in-an-inside-corner",
    ),
    pytest.param(
        lambda: cut(
            box((0, 0, 0), (60, 40, 20)), upright([(20, -1), (40, -1), (30, 9)], -1, 21), box((32, 3, -1), (45, 5, 21))
        ),
        id="flank-of-a-v-notch-cut-off-by-a-slot",
    ),
    pytest.param(
        lambda: cut(box((0, 0, 0), (60, 40, 20)), upright([(20, -1), (40, -1), (30, 9)], -1, 21)), id="v-notch"
    ),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", SILENT)
def test_what_is_no_chamfer_is_not_taken_for_one(build: Build, pose: str) -> None:
    """Leaning sides, roofs, sloped steps, countersinks, tapers and drafts are no broken edges."""
    facts = recognised(build, POSES[pose])
    assert listed(of_family(facts, Chamfer)) == []
    assert every_face_once(facts)


@pytest.mark.parametrize(
    ("build", "text"), [(on([RIM[0]]), "1.5 × 45°"), (on([RIM[0]], angle=30.0), "1.5 × 30°")], ids=["45", "30"]
)
def test_the_callout(build: Build, text: str) -> None:
    """Leg and angle."""
    (found,) = of_family(recognised(build), Chamfer)
    assert found.callout() == text
