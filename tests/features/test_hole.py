"""Round holes: which are found with which numbers, and what is none."""

import math
from dataclasses import replace

import numpy as np
import pytest
from OCP.TopoDS import TopoDS_Shape

from analyzers.features import recognise
from analyzers.features.hole import Hole, RoundHole
from fixtures.make.vocabulary.blends import fillet_edges
from fixtures.make.vocabulary.raised import round_boss
from fixtures.make.vocabulary.recesses import Island, pocket, slot, step
from fixtures.make.vocabulary.rings import face_groove, outer_groove
from fixtures.make.vocabulary.stock import Length, turned
from fixtures.make.vocabulary.work import Work
from tests.features._bench import (
    AS_BUILT,
    ASKEW,
    MIRRORED,
    POSES,
    Build,
    Said,
    ball,
    box,
    cut,
    differences,
    every_face_once,
    listed,
    looks,
    of_family,
    plate,
    recognised,
    rod,
    taper,
    upright,
)
from tests.features._drilled import (
    TOP,
    bitten,
    broken_edge,
    bull_nosed,
    counterbored,
    countersunk,
    crossed,
    drilled,
    equal_crossed,
    fork,
    from_both_sides,
    grooved_bore,
    halves,
    in_a_pocket,
    in_steps,
    into_a_shaft,
    keyed,
    layered_counterbore,
    layers,
    manifold,
    on_a_slope,
    overlapping,
    point_breaks_out,
    quarters,
    relieved,
    window,
)
from tests.kernel._solids import loaded


def hole(diameter: float, depth: float, bottom: str = "through", **more: object) -> Said:
    """Return what is said of a plain hole."""
    through = {} if bottom == "into_void" else {"through": bottom == "through"}
    shared: Said = {"kind": "round_hole", "diameter_mm": diameter, "depth_mm": depth, "bottom": bottom}
    return shared | {"depth_ratio": depth / diameter} | through | more


FIRES = [
    pytest.param(drilled("through", 20.0), [hole(6.0, 20.0, entry="flat")], id="through"),
    pytest.param(drilled("flat"), [hole(6.0, 12.0, "flat", point_angle_deg=None)], id="blind-flat"),
    pytest.param(drilled("conical"), [hole(6.0, 12.0, "conical", point_angle_deg=118.0)], id="blind-118"),
    pytest.param(drilled("conical", point=135.0), [hole(6.0, 12.0, "conical", point_angle_deg=135.0)], id="blind-135"),
    pytest.param(drilled("conical", point=90.0), [hole(6.0, 12.0, "conical", point_angle_deg=90.0)], id="blind-90"),
    pytest.param(drilled("spherical"), [hole(6.0, 12.0, "spherical")], id="blind-ball"),
    pytest.param(drilled("flat", 0.8), [hole(6.0, 0.8, "flat")], id="shallow"),
    pytest.param(drilled("conical", 1.0), [hole(6.0, 1.0, "conical", point_angle_deg=118.0)], id="spot-drilled"),
    pytest.param(
        counterbored(),
        [
            {
                "kind": "counterbore_hole",
                "diameter_mm": 6.6,
                "depth_mm": 20.0,
                "counterbore_diameter_mm": 11.0,
                "counterbore_depth_mm": 6.0,
                "through": True,
            }
        ],
        id="counterbore",
    ),
    pytest.param(
        counterbored(0.5),
        [{"kind": "counterbore_hole", "counterbore_diameter_mm": 11.0, "counterbore_depth_mm": 0.5}],
        id="spotface",
    ),
    pytest.param(
        counterbored(6.0, "conical", 16.0),
        [
            {
                "kind": "counterbore_hole",
                "diameter_mm": 6.6,
                "depth_mm": 16.0,
                "bottom": "conical",
                "point_angle_deg": 118.0,
                "counterbore_depth_mm": 6.0,
            }
        ],
        id="blind-counterbore",
    ),
    *[
        pytest.param(
            countersunk(angle),
            [
                {
                    "kind": "countersunk_hole",
                    "diameter_mm": 5.5,
                    "depth_mm": 20.0,
                    "countersink_diameter_mm": 11.0,
                    "countersink_angle_deg": angle,
                }
            ],
            id=f"countersink-{angle:g}",
        )
        for angle in (82.0, 90.0, 100.0, 120.0)
    ],
    pytest.param(
        in_steps((14.0, 14.0, 4.0), (10.0, 10.0, 5.0), (6.0, 6.0, 11.0)),
        [{"kind": "stepped_hole", "diameter_mm": 6.0, "depth_mm": 20.0, "through": True}],
        id="three-diameters",
    ),
    pytest.param(
        in_steps((12.0, 12.0, 5.0), (12.0, 8.0, 2.0), (8.0, 8.0, 9.0), bottom="flat"),
        [{"kind": "stepped_hole", "diameter_mm": 8.0, "depth_mm": 16.0, "bottom": "flat"}],
        id="with-a-taper-between",
    ),
    pytest.param(
        in_steps((8.0, 7.6, 20.0)), [{"kind": "stepped_hole", "diameter_mm": 7.6, "through": True}], id="taper-1-in-50"
    ),
    pytest.param(halves, [hole(6.0, 20.0)], id="wall-in-two-halves"),
    pytest.param(quarters, [hole(6.0, 20.0, n_faces=4)], id="wall-in-four-quarters"),
    pytest.param(layers, [hole(6.0, 20.0, n_faces=2)], id="wall-in-two-layers"),
    pytest.param(
        layered_counterbore,
        [
            {
                "kind": "counterbore_hole",
                "diameter_mm": 6.0,
                "depth_mm": 20.0,
                "counterbore_diameter_mm": 11.0,
                "counterbore_depth_mm": 5.0,
            }
        ],
        id="counterbore-in-four-blocks",
    ),
    pytest.param(fork, [hole(9.0, 32.0, n_faces=2)], id="across-a-fork"),
    pytest.param(window, [hole(10.0, 30.0)], id="opened-by-a-window"),
    pytest.param(crossed, [hole(6.0, 30.0, n_faces=2), hole(10.0, 40.0)], id="crossed-by-a-larger-one"),
    pytest.param(equal_crossed, [hole(8.0, 30.0), hole(8.0, 40.0)], id="crossed-by-its-equal"),
    pytest.param(
        manifold,
        [
            hole(10.0, 80.0),
            {"kind": "round_hole", "diameter_mm": 6.0, "bottom": "into_void"},  # its depth can be read in two ways
            {"kind": "round_hole", "diameter_mm": 6.0, "bottom": "into_void"},
        ],
        id="manifold",
    ),
    pytest.param(in_a_pocket, [hole(5.0, 12.0)], id="in-a-pocket-floor"),
    pytest.param(
        on_a_slope(20.0, foot=4.0),
        [hole(7.0, 6.0 + 20.0 * math.tan(math.radians(20.0)), "flat", entry="inclined", entry_angle_deg=20.0)],
        id="entry-on-a-slope",
    ),
    pytest.param(
        on_a_slope(20.0),
        [hole(7.0, 10.0 + 20.0 * math.tan(math.radians(20.0)), entry="flat", entry_angle_deg=0.0)],
        id="out-of-a-slope",
    ),
    pytest.param(
        into_a_shaft,
        [hole(8.0, 12.0, "flat", entry="curved")],
        id="entry-on-a-shaft",
    ),
    pytest.param(bitten(0.5), [hole(8.0, 20.0)], id="bite-of-194-degrees"),
    pytest.param(bitten(3.0), [hole(8.0, 20.0)], id="bite-of-277-degrees"),
    pytest.param(broken_edge, [hole(6.0, 20.0)], id="with-a-broken-edge"),
    pytest.param(from_both_sides, [hole(6.0, 7.0, "flat"), hole(6.0, 7.0, "flat")], id="two-blind-on-one-axis"),
    pytest.param(keyed, [hole(20.0, 20.0)], id="with-a-keyway"),
    pytest.param(overlapping, [hole(10.0, 20.0), hole(10.0, 20.0)], id="two-that-overlap"),
    pytest.param(grooved_bore, [hole(20.0, 20.0)], id="with-a-ring-groove"),
    pytest.param(bull_nosed, [hole(16.0, 7.0, "flat")], id="with-a-rounded-floor"),  # 9 less the radius: full diameter
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "expected"), FIRES)
def test_a_hole_is_found_with_its_numbers(build: Build, expected: list[Said], pose: str) -> None:
    """Every hole that was drilled is one feature with the numbers it was drilled with, and there is no other."""
    facts = recognised(build, POSES[pose])
    assert differences(expected, of_family(facts, Hole)) == []
    assert every_face_once(facts)


@pytest.mark.parametrize("pose", POSES)
def test_holes_whose_seats_share_a_floor_are_all_found(pose: str) -> None:
    """Four equal screw holes stay four, though their seats run into one floor; a seat ends on it, it is not through."""
    holes = [each for each in recognised(relieved, POSES[pose]).features if isinstance(each, Hole)]
    drilled_ = [each for each in holes if each.diameter_mm < 5.0]
    assert differences([hole(3.3, 3.0)] * 4, drilled_) == []
    seats = [each for each in holes if abs(each.diameter_mm - 9.0) < 1e-3]
    assert {(each.kind, each.bottom, each.through) for each in seats} == {("round_hole", "flat", False)}


def with_boss() -> Work:
    """Return the plate with a round boss."""
    work = plate()
    round_boss(work, (17.0, 13.0, TOP), 8.0, 6.0)
    return work


def with_obround(ends: tuple[str, str], through_floor: bool = False) -> Build:
    """Return the plate with a slot of round ends."""

    def build() -> Work:
        work = plate()
        at = (30.0, 20.0, TOP) if ends == ("round", "round") else (45.0, 20.0, TOP)
        slot(work, at, 30.0, 8.0, 20.0 if through_floor else 6.0, ends=ends, through_floor=through_floor)
        return work

    return build


def with_pocket(corner: float, floor: float = 0.0) -> Build:
    """Return the plate with a pocket."""

    def build() -> Work:
        work = plate()
        pocket(work, (30.0, 20.0, TOP), 30.0, 20.0, 8.0, corner_radius=corner, floor_radius=floor)
        return work

    return build


def with_filleted_step() -> Work:
    """Return the plate with a step whose inside corner is filleted."""
    work = plate()
    step(work, (30.0, 40.0, TOP), 60.0, 15.0, 8.0, side=(0.0, 1.0, 0.0))
    fillet_edges(work, [(30.0, 25.0, 12.0)], 3.0)
    return work


def with_island() -> Work:
    """Return a pocket with a round island."""
    work = plate()
    pocket(work, (30.0, 20.0, TOP), 36.0, 28.0, 8.0, corner_radius=5.0, islands=[Island(3.0, 2.0, 10.0)])
    return work


def ring_groove() -> Work:
    """Return the plate with a ring turned into its top."""
    work = plate()
    face_groove(work, (30.0, 20.0, TOP), 24.0, 3.0, 2.0)
    return work


def shaft() -> Work:
    """Return a turned shaft with a groove and a chamfer."""
    work = turned(
        [Length(20.0, 20.0, 30.0), Length(30.0, 30.0, 25.0), Length(30.0, 27.0, 1.5, chamfer=True)], size=(30, 30, 56.5)
    )
    outer_groove(work, (0.0, 0.0, 42.0), 30.0, 26.0, 3.0, axis=(0.0, 0.0, 1.0))
    return work


def hexagon() -> TopoDS_Shape:
    """Return the plate with a six-sided recess."""
    corners = [(30 + 8 * math.cos(math.radians(a)), 20 + 8 * math.sin(math.radians(a))) for a in range(0, 360, 60)]
    return cut(box((0, 0, 0), (60, 40, 20)), upright(corners, 12, 21))


@pytest.mark.parametrize("pose", POSES)
def test_a_drill_point_that_comes_out_belongs_to_its_hole(pose: str) -> None:
    """Drilled 19 deep into 20, point first: one hole and no other feature."""
    facts = recognised(point_breaks_out, POSES[pose])
    assert [each.face_class for each in facts.features] == ["hole"]
    said = hole(6.0, 19.0, point_angle_deg=118.0)
    assert differences([said], facts.features) == []


SILENT = [
    pytest.param(plate, id="plain-block"),
    pytest.param(with_boss, id="boss"),
    pytest.param(shaft, id="turned-shaft"),
    pytest.param(with_obround(("round", "round")), id="obround-slot"),
    pytest.param(with_obround(("round", "round"), through_floor=True), id="obround-window"),
    pytest.param(with_obround(("round", "open")), id="slot-with-a-round-end"),
    pytest.param(with_pocket(4.0), id="corners-of-a-pocket"),
    pytest.param(with_pocket(10.0), id="pocket-of-full-rounds"),
    pytest.param(with_pocket(5.0, 2.0), id="floor-fillets"),
    pytest.param(with_pocket(4.0, 4.0), id="ball-corners"),
    pytest.param(with_filleted_step, id="fillet"),
    pytest.param(with_island, id="island"),
    pytest.param(ring_groove, id="ring-groove"),
    pytest.param(bitten(-0.5), id="bite-of-166-degrees"),
    pytest.param(bitten(-3.0), id="bite-of-83-degrees"),
    pytest.param(hexagon, id="hexagon"),
    pytest.param(
        lambda: cut(box((0, 0, 0), (60, 40, 20)), rod((30, 0, -1), 10, 30)), id="half-round-notch-of-180-degrees"
    ),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), rod((-1, 20, 20), 10, 70, (1, 0, 0))), id="round-channel"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 30)), rod((20, 20, 8), 10, 12)), id="closed-cavity"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), ball((30, 20, 24), 16)), id="ball-dimple"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), taper((30, 20, 12), 2, 30, 9)), id="wide-dish"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", SILENT)
def test_what_is_no_hole_is_not_taken_for_one(build: Build, pose: str) -> None:
    """Bosses, fillets, obrounds, bites of half a turn or less, grooves and cavities are no holes."""
    facts = recognised(build, POSES[pose])
    assert listed(of_family(facts, Hole)) == []
    assert every_face_once(facts)


@pytest.mark.parametrize(("pose_name"), POSES)
@pytest.mark.parametrize(
    "build",
    [drilled("flat"), drilled("conical"), counterbored(), countersunk(90.0), in_a_pocket],
    ids=["flat", "conical", "counterbore", "countersink", "in-a-pocket"],
)
def test_the_cutter_comes_from_the_entry(build: Build, pose_name: str) -> None:
    """The direction points out of the entry along the axis; a plain through hole may be drilled from either end."""
    pose = POSES[pose_name]
    (found,) = of_family(recognised(build, pose), Hole)
    assert looks(found, pose, (0.0, 0.0, 1.0), either=isinstance(found, Hole) and found.through)
    if "counter" in found.kind or not getattr(found, "through", True):
        assert looks(found, pose, (0.0, 0.0, 1.0))


def test_the_entry_is_where_the_axis_leaves_the_part() -> None:
    """Position: the axis at the entry; as built at (17, 13) on the top."""
    (found,) = of_family(recognised(drilled("conical"), AS_BUILT), Hole)
    assert found.position_mm == pytest.approx((17.0, 13.0, TOP), abs=1e-6)


def test_segments_run_from_the_entry_down() -> None:
    """Each length with its diameters and depth, in order."""
    (found,) = of_family(recognised(in_steps((14.0, 14.0, 4.0), (14.0, 10.0, 3.0), (10.0, 10.0, 13.0)), ASKEW), Hole)
    assert isinstance(found, Hole)
    rows = [(s.shape, s.diameter_mm, s.end_diameter_mm, s.depth_mm) for s in found.segments]
    expected = [("cylinder", 14.0, 14.0, 4.0), ("cone", 14.0, 10.0, 3.0), ("cylinder", 10.0, 10.0, 13.0)]
    for got, said in zip(rows, expected, strict=True):
        assert got[0] == said[0]
        assert got[1:] == pytest.approx(said[1:], abs=1e-6)


CALLOUTS = [
    pytest.param(drilled("through", 20.0), "⌀6 THRU", id="through"),
    pytest.param(drilled("flat"), "⌀6 ↧12", id="blind"),
    pytest.param(counterbored(), "⌀6.6 THRU ⌴⌀11 ↧6", id="counterbore"),
    pytest.param(countersunk(90.0), "⌀5.5 THRU ⌵⌀11 × 90°", id="countersink"),
    pytest.param(
        in_steps((14.0, 14.0, 4.0), (10.0, 10.0, 5.0), (6.0, 6.0, 11.0)), "⌀14 ↧4, ⌀10 ↧5, ⌀6 ↧11", id="steps"
    ),
]


@pytest.mark.parametrize(("build", "text"), CALLOUTS)
def test_the_callout_is_the_drawing_text(build: Build, text: str) -> None:
    """Diameter, depth, counterbore and countersink symbols as in ASME Y14.5."""
    (found,) = of_family(recognised(build, MIRRORED), Hole)
    assert found.callout() == text


def test_a_broken_solid_without_any_area_has_no_features() -> None:
    """Such come out of damaged files: nothing on them could be weighed by its area."""
    middle = (20.0, 15.0, 0.0)
    part, geometry = loaded(cut(box((0.0, 0.0, 0.0), (40.0, 30.0, TOP)), rod(middle, 6.0, TOP)))
    empty = replace(part, area_mm2=0.0, face_area_mm2=np.zeros(part.n_faces))
    assert [type(each) for each in recognise(part, geometry).features] == [RoundHole]
    assert recognise(empty, geometry).features == ()


def test_a_pocket_whose_faces_measure_below_zero_is_looked_at_all_the_same() -> None:
    """Such faces come out of damaged files too: one stopped the analysis of its body."""
    part, geometry = loaded(cut(box((0.0, 0.0, 0.0), (40.0, 30.0, TOP)), box((10.0, 10.0, 5.0), (20.0, 12.0, TOP))))
    turned_round = replace(part, face_area_mm2=-part.face_area_mm2)
    assert recognise(part, geometry).features
    assert recognise(turned_round, geometry).features is not None
