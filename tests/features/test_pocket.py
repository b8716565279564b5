"""Pockets: closed and open, of any outline, with what they hold; and what is none."""

import itertools
import math

import pytest
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
from OCP.collections import Array1_gp_Pnt
from OCP.GeomAPI import GeomAPI_PointsToBSpline
from OCP.gp import gp_Pnt
from OCP.TopoDS import TopoDS_Shape

from analyzers.features.pocket import ClosedPocket, Pocket
from fixtures.make.vocabulary.blends import chamfer_edges, fillet_edges, round_edges
from fixtures.make.vocabulary.draw import line
from fixtures.make.vocabulary.holes import counterbore, drill
from fixtures.make.vocabulary.raised import round_boss
from fixtures.make.vocabulary.recesses import Island, deepen, pocket, slot, step
from fixtures.make.vocabulary.rings import face_groove
from fixtures.make.vocabulary.stock import Length, bar, block, turned
from fixtures.make.vocabulary.tapered import drafted_pocket
from fixtures.make.vocabulary.work import Work
from tests.features._bench import (
    ASKEW,
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
    swept,
    upright,
)

TOP = 20.0


def closed(length: float, width: float, depth: float, **more: object) -> Said:
    """Return what is said of a blind closed pocket."""
    return {
        "kind": "closed_pocket",
        "length_mm": length,
        "width_mm": width,
        "depth_mm": depth,
        "through": False,
    } | more


def milled(corner: float = 4.0, floor: float = 0.0, depth: float = 8.0, **more: object) -> Build:
    """Return the plate with a pocket of 34 x 24, off its middle and turned in plan."""

    def build() -> Work:
        work = block((80.0, 60.0, TOP))
        at = (38.0, 29.0, TOP)
        pocket(work, at, 34.0, 24.0, depth, corner_radius=corner, floor_radius=floor, along=(0.8, 0.6, 0.0), **more)  # type: ignore[arg-type] # each case names fields of its own
        return work

    return build


def window() -> Work:
    """Return a plate with a rectangular window."""
    work = plate()
    pocket(work, (30.0, 20.0, TOP), 34.0, 24.0, TOP, corner_radius=4.0, through=True)
    return work


def hexagon() -> TopoDS_Shape:
    """Return a six-sided recess, 16 across corners, 8 deep."""
    corners = [(30 + 8 * math.cos(math.radians(a)), 20 + 8 * math.sin(math.radians(a))) for a in range(0, 360, 60)]
    return cut(box((0, 0, 0), (60, 40, 20)), upright(corners, 12, 21))


def triangle() -> TopoDS_Shape:
    """Return a three-sided recess, obtuse, so that one box is the smallest: along its longest side, hypot(35, 14)."""
    return cut(box((0, 0, 0), (60, 40, 20)), upright([(15, 10), (45, 10), (50, 24)], 14, 21))


def l_shaped() -> TopoDS_Shape:
    """Return an L-shaped recess: one pocket."""
    outline = [(10.0, 8.0), (50.0, 8.0), (50.0, 18.0), (22.0, 18.0), (22.0, 34.0), (10.0, 34.0)]
    return cut(box((0, 0, 0), (60, 40, 20)), upright(outline, 13, 21))


def free_outline() -> TopoDS_Shape:
    """Return a recess whose wall is a free curve on one side, closed by three straight ones."""
    points = Array1_gp_Pnt(1, 5)
    for i, (x, y) in enumerate([(12.0, 26.0), (20.0, 33.0), (30.0, 27.0), (40.0, 34.0), (48.0, 26.0)]):
        points.SetValue(i + 1, gp_Pnt(x, y, 12.0))
    wave = BRepBuilderAPI_MakeEdge(GeomAPI_PointsToBSpline(points).Curve()).Edge()
    corners = [(48.0, 26.0, 12.0), (48.0, 8.0, 12.0), (12.0, 8.0, 12.0), (12.0, 26.0, 12.0)]
    straight = [line(a, b) for a, b in itertools.pairwise(corners)]
    return cut(box((0, 0, 0), (60, 40, 20)), swept([wave, *straight], (0.0, 0.0, 9.0)))


def islands(*found: Island) -> Build:
    """Return a pocket with islands as high as its rim."""

    def build() -> Work:
        work = block((80.0, 60.0, TOP))
        pocket(work, (40.0, 30.0, TOP), 56.0, 40.0, 8.0, corner_radius=5.0, islands=found)
        return work

    return build


def nested() -> Work:
    """Return a pocket in the floor of a pocket, clear of its walls."""
    work = block((80.0, 60.0, TOP))
    pocket(work, (40.0, 30.0, TOP), 56.0, 40.0, 6.0, corner_radius=5.0)
    pocket(work, (37.0, 31.0, TOP - 6.0), 24.0, 18.0, 5.0, corner_radius=3.0)
    return work


def two_levels() -> Work:
    """Return a pocket whose floor is lower in one half: one pocket or two, as one likes."""
    work = block((80.0, 60.0, TOP))
    pocket(work, (40.0, 30.0, TOP), 56.0, 30.0, 6.0, corner_radius=4.0)
    deepen(work, (26.0, 30.0, TOP - 6.0), 28.0, 30.0, 5.0, corner_radius=4.0)
    return work


def drafted() -> Work:
    """Return a pocket with walls that lean 3 degrees."""
    work = block((80.0, 60.0, TOP))
    drafted_pocket(work, (38.0, 29.0, TOP), 34.0, 24.0, 8.0, draft_deg=3.0, corner_radius=5.0, floor_thickness=12.0)
    return work


def drilled_floor() -> Work:
    """Return a pocket with two holes in its floor."""
    work = plate()
    pocket(work, (30.0, 20.0, TOP), 34.0, 24.0, 8.0, corner_radius=4.0)
    for x in (22.0, 38.0):
        drill(work, (x, 20.0, TOP - 8.0), 5.0, 12.0, bottom="through")
    return work


def cut_by_a_slot() -> Work:
    """Return a pocket that a narrow slot crosses at half its depth: still one pocket."""
    work = plate()
    pocket(work, (30.0, 20.0, TOP), 30.0, 20.0, 10.0, corner_radius=4.0)
    slot(work, (30.0, 20.0, TOP), 60.0, 5.0, 4.0, simple=False)
    return work


def chamfered_mouth() -> Work:
    """Return a pocket whose mouth is chamfered: depth and size are those of the pocket itself."""
    work = plate()
    pocket(work, (30.0, 20.0, TOP), 34.0, 24.0, 8.0, corner_radius=5.0)
    chamfer_edges(work, [(30.0, 8.0, TOP)], 0.5)
    return work


def open_at_one_side() -> Work:
    """Return a wide pocket that runs out at one side."""
    work = plate()
    pocket(work, (48.0, 20.0, TOP), 24.0, 28.0, 8.0, corner_radius=4.0, open_ends="+x")
    return work


def on_each_side() -> Work:
    """Return three pockets from three sides of a block."""
    work = block((60.0, 50.0, 40.0))
    pocket(work, (30.0, 25.0, 40.0), 34.0, 24.0, 8.0, corner_radius=4.0)
    pocket(work, (30.0, 0.0, 20.0), 30.0, 18.0, 6.0, corner_radius=3.0, out=(0, -1, 0), along=(1, 0, 0))
    pocket(work, (60.0, 25.0, 20.0), 22.0, 16.0, 5.0, corner_radius=3.0, out=(1, 0, 0), along=(0, 1, 0))
    return work


def in_halves() -> TopoDS_Shape:
    """Return a pocketed plate put together from two halves."""
    body = cut(box((0, 0, 0), (60, 40, 20)), box((13, 8, 12), (47, 32, 21)))
    return joined(cut(body, box((25, -1, -1), (61, 41, 30))), cut(body, box((-1, -1, -1), (25, 41, 30))))


BLOCK = ((0.0, 0.0, 0.0), (100.0, 80.0, 30.0))


def ribs() -> TopoDS_Shape:
    """Return five pockets side by side with ribs of 4 between them, as high as the block."""
    return cut(box(*BLOCK), *(box((10 + i * 16, 10, 12), (22 + i * 16, 70, 31)) for i in range(5)))


def low_ribs() -> TopoDS_Shape:
    """Return one pocket with two ribs across that are half as high as it is deep."""
    body = cut(box(*BLOCK), box((10, 10, 10), (90, 70, 31)))
    return joined(body, box((30, 10, 10), (33, 70, 20)), box((50, 10, 10), (53, 70, 20)))


def terraces() -> TopoDS_Shape:
    """Return a pocket whose floor goes down in three steps between the same walls."""
    return cut(box(*BLOCK), *(box((10 + 20 * i, 10, 24 - 6 * i), (90, 70, 31)) for i in range(3)))


def bayed() -> TopoDS_Shape:
    """Return a pocket that a narrower channel joins to the outside at one depth."""
    return cut(box(*BLOCK), box((30, 20, 20), (80, 60, 31)), box((-1, 36, 20), (40, 44, 31)))


def open_with_fillets() -> Work:
    """Return a pocket that runs out at one side, its floor filleted all round."""
    work = block((100.0, 80.0, 30.0))
    pocket(work, (80.0, 40.0, 30.0), 40.0, 40.0, 12.0, corner_radius=6.0, open_ends="+x")
    fillet_edges(work, [(80.0, 20.0, 18.0)], 2.0)
    return work


SHARP = {"corner_radius_mm": 0.0, "floor_radius_mm": 0.0}
R4 = {"corner_radius_mm": 4.0, "floor_radius_mm": 0.0, "islands": 0, "depth_ratio": 1.0}
FIRES = [
    pytest.param(milled(), [closed(34.0, 24.0, 8.0, **R4)], id="rounded-corners"),
    pytest.param(milled(0.0), [closed(34.0, 24.0, 8.0, **SHARP, depth_ratio=None)], id="sharp-corners"),
    pytest.param(
        milled(5.0, 2.0), [closed(34.0, 24.0, 8.0, corner_radius_mm=5.0, floor_radius_mm=2.0)], id="floor-fillets"
    ),
    pytest.param(
        milled(3.0, 3.0), [closed(34.0, 24.0, 8.0, corner_radius_mm=3.0, floor_radius_mm=3.0)], id="ball-corners"
    ),
    pytest.param(milled(depth=0.5), [closed(34.0, 24.0, 0.5, corner_radius_mm=4.0)], id="shallow"),
    pytest.param(milled(depth=19.0), [closed(34.0, 24.0, 19.0, corner_radius_mm=4.0)], id="deep"),
    pytest.param(
        window,
        [
            {
                "kind": "closed_pocket",
                "through": True,
                "depth_mm": 20.0,
                "length_mm": 34.0,
                "width_mm": 24.0,
                "corner_radius_mm": 4.0,
                "floor_radius_mm": None,
            }
        ],
        id="window",
    ),
    pytest.param(hexagon, [closed(16.0, 16.0 * math.cos(math.pi / 6), 8.0, **SHARP)], id="hexagon"),
    pytest.param(triangle, [closed(math.hypot(35, 14), 420 / math.hypot(35, 14), 6.0, **SHARP)], id="triangle"),
    pytest.param(l_shaped, [closed(40.0, 26.0, 7.0, **SHARP)], id="l-shaped"),
    pytest.param(free_outline, [{"kind": "closed_pocket", "depth_mm": 8.0, "through": False}], id="free-outline"),
    pytest.param(islands(Island(3.0, 2.0, 12.0)), [closed(56.0, 40.0, 8.0, islands=1)], id="round-island"),
    pytest.param(
        islands(Island(-12.0, 2.0, 10.0), Island(12.0, -3.0, None, 14.0, 10.0)),
        [closed(56.0, 40.0, 8.0, islands=2)],
        id="two-islands",
    ),
    pytest.param(
        nested,
        [closed(56.0, 40.0, 6.0, corner_radius_mm=5.0), closed(24.0, 18.0, 5.0, corner_radius_mm=3.0)],
        id="nested",
    ),
    pytest.param(drafted, [{"kind": "closed_pocket", "depth_mm": 8.0, "through": False}], id="drafted-walls"),
    pytest.param(drilled_floor, [closed(34.0, 24.0, 8.0, **R4)], id="holes-in-its-floor"),
    pytest.param(cut_by_a_slot, [closed(30.0, 20.0, 10.0, corner_radius_mm=4.0)], id="crossed-by-a-slot"),
    pytest.param(chamfered_mouth, [{"kind": "closed_pocket", "depth_mm": 8.0}], id="chamfered-mouth"),
    pytest.param(
        open_at_one_side,
        [{"kind": "open_pocket", "depth_mm": 8.0, "length_mm": 28.0, "width_mm": 24.0, "corner_radius_mm": 4.0}],
        id="open-at-one-side",
    ),
    pytest.param(
        on_each_side, [closed(34.0, 24.0, 8.0), closed(30.0, 18.0, 6.0), closed(22.0, 16.0, 5.0)], id="from-three-sides"
    ),
    pytest.param(ribs, [closed(60.0, 12.0, 18.0, **SHARP)] * 5, id="ribs-between"),
    pytest.param(low_ribs, [closed(80.0, 60.0, 20.0)], id="low-ribs-in-it"),
    pytest.param(terraces, [closed(80.0, 60.0, 18.0)], id="floor-in-three-levels"),
    pytest.param(
        bayed,
        [{"kind": "open_pocket", "depth_mm": 10.0, "length_mm": 80.0, "width_mm": 40.0, "through": False}],
        id="with-a-channel-to-the-outside",
    ),
    pytest.param(
        open_with_fillets,
        [{"kind": "open_pocket", "depth_mm": 12.0, "corner_radius_mm": 6.0, "floor_radius_mm": 2.0}],
        id="open-with-floor-fillets",
    ),
    pytest.param(in_halves, [closed(34.0, 24.0, 8.0, **SHARP)], id="in-two-halves"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "expected"), FIRES)
def test_a_pocket_is_found_with_its_numbers(build: Build, expected: list[Said], pose: str) -> None:
    """Each pocket that was milled is one feature with the numbers it was milled with."""
    facts = recognised(build, POSES[pose])
    assert differences(expected, of_family(facts, Pocket)) == []
    assert every_face_once(facts)


@pytest.mark.parametrize("pose", POSES)
def test_two_levels_are_one_pocket_or_two(pose: str) -> None:
    """Read either way, the deeper floor is 11 below the opening, counted in one or in two steps."""
    found = of_family(recognised(two_levels, POSES[pose]), ClosedPocket)
    depths = sorted(each.depth_mm for each in found if isinstance(each, Pocket) and each.depth_mm is not None)
    assert depths == pytest.approx([11.0], abs=1e-3) or depths == pytest.approx([5.0, 6.0], abs=1e-3)


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", [milled(), milled(5.0, 2.0), hexagon, drilled_floor], ids=["a", "b", "c", "d"])
def test_the_cutter_comes_from_the_opening(build: Build, pose: str) -> None:
    """The direction points out of the opening."""
    (found,) = of_family(recognised(build, POSES[pose]), Pocket)
    assert looks(found, POSES[pose], (0.0, 0.0, 1.0))


def drilled() -> Work:
    """Return the plate with a blind hole."""
    work = plate()
    drill(work, (30.0, 20.0, TOP), 16.0, 8.0, bottom="flat")
    return work


def counterbored() -> Work:
    """Return the plate with a counterbored hole."""
    work = plate()
    counterbore(work, (17.0, 13.0, TOP), 6.6, 20.0, bore=11.0, bore_depth=6.0)
    return work


def stepped() -> Work:
    """Return the plate with a step along a side."""
    work = plate()
    step(work, (30.0, 40.0, TOP), 60.0, 15.0, 8.0, side=(0.0, 1.0, 0.0))
    return work


def slotted() -> Work:
    """Return the plate with a slot right across."""
    work = plate()
    slot(work, (30.0, 20.0, TOP), 60.0, 8.0, 6.0)
    return work


def long_obround() -> Work:
    """Return the plate with a long closed slot of round ends: a slot."""
    work = plate()
    slot(work, (30.0, 20.0, TOP), 36.0, 8.0, 6.0, ends=("round", "round"))
    return work


def bossed() -> Work:
    """Return the plate with a boss: the face around it is no pocket."""
    work = plate()
    round_boss(work, (21.0, 17.0, TOP), 10.0, 6.0)
    return work


def ringed() -> Work:
    """Return the plate with a ring groove."""
    work = plate()
    face_groove(work, (30.0, 20.0, TOP), 24.0, 3.0, 2.0)
    return work


def rounded() -> Work:
    """Return the plate with a rounded rim."""
    work = plate()
    round_edges(work, [(30.0, 0.0, TOP), (60.0, 20.0, TOP), (30.0, 40.0, TOP), (0.0, 20.0, TOP)], 3.0)
    return work


def channels(*tools: TopoDS_Shape) -> Build:
    """Return the larger block with some cuts."""
    return lambda: cut(box(*BLOCK), *tools)


ALONG = box((-1, 30, 20), (101, 38, 31))
SILENT = [
    pytest.param(channels(ALONG, box((40, -1, 20), (50, 81, 31))), id="crossing-slots"),
    pytest.param(channels(ALONG, box((40, 34, 20), (50, 81, 31))), id="branching-slots"),
    pytest.param(channels(box((-1, 30, 20), (48, 38, 31)), box((40, 30, 20), (48, 81, 31))), id="bent-slot"),
    pytest.param(channels(upright([(-9, 20), (109, 60), (109, 67), (-9, 27)], 20, 31)), id="slanting-slot"),
    pytest.param(channels(box((-1, 36, 20), (101, 44, 31)), box((-1, 30, 12), (101, 50, 20))), id="t-slot"),
    pytest.param(channels(box((-1, -1, 20), (101, 10, 31)), box((-1, -1, 20), (10, 81, 31))), id="two-steps"),
    pytest.param(channels(box((20, 10, 20), (101, 81, 31))), id="large-cut-corner"),
    pytest.param(channels(box((60, -1, 20), (101, 81, 31))), id="large-step"),
    pytest.param(channels(ALONG, box((-1, 50, 12), (101, 56, 31))), id="rib-between-slots"),
    pytest.param(channels(rod((50, 40, -1), 30, 40), rod((50, 40, 20), 50, 11)), id="wide-counterbore"),
    pytest.param(plate, id="plain-block"),
    pytest.param(drilled, id="hole"),
    pytest.param(counterbored, id="counterbore"),
    pytest.param(stepped, id="step"),
    pytest.param(slotted, id="slot"),
    pytest.param(long_obround, id="long-obround"),
    pytest.param(bossed, id="face-around-a-boss"),
    pytest.param(ringed, id="ring-groove"),
    pytest.param(rounded, id="rounded-rim"),
    pytest.param(
        lambda: bar([(0, 0), (40, 0), (40, 8), (8, 8), (8, 30), (0, 30)], 25.0, (40.0, 25.0, 30.0)), id="angle-bracket"
    ),
    pytest.param(lambda: turned([Length(20, 20, 30), Length(30, 30, 25)], size=(30.0, 30.0, 55.0)), id="shaft"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), box((-1, -1, 12), (20, 15, 21))), id="cut-corner"),
    pytest.param(lambda: bar([(0, 0), (60, 0), (60, 10), (30, 24), (0, 10)], 40.0, (60.0, 40.0, 24.0)), id="roof"),
    pytest.param(lambda: joined(box((0, 0, 0), (60, 40, 20)), box((20, 10, 20), (40, 30, 30))), id="square-boss"),
    pytest.param(lambda: cut(rod((0, 0, 0), 30, 60), box((11, -20, 20), (20, 20, 70))), id="flat-on-a-shaft"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), rod((-1, 20, 20), 10, 70, (1, 0, 0))), id="round-channel"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", SILENT)
def test_what_is_no_pocket_is_not_taken_for_one(build: Build, pose: str) -> None:
    """Holes, steps, slots, grooves and the faces around bosses are no pockets."""
    facts = recognised(build, POSES[pose])
    assert listed(of_family(facts, Pocket)) == []
    assert every_face_once(facts)


def test_the_callout() -> None:
    """Length, width, depth, corner radius."""
    (found,) = of_family(recognised(milled(), ASKEW), Pocket)
    assert found.callout() == "34 × 24 ↧8 R4"
