import math
from dataclasses import replace

import numpy as np
import pytest

from analyzers.features.groove import Groove
from analyzers.features.hole import Segment, SteppedHole
from analyzers.model.arrays import Vec
from analyzers.model.feature import Feature
from analyzers.model.part import Part
from analyzers.model.plan import Plan
from analyzers.plan import make_plan
from tests.plan._builders import (
    TURN,
    block,
    example,
    facts,
    hole,
    machine,
    moved,
    pocket,
    pocketed,
    prism,
    slot,
    step,
    turned,
    with_shop,
)

DOWN: Vec = (0.0, 0.0, -1.0)
UPWARDS: Vec = (0.0, 0.0, 1.0)
LEFT: Vec = (-1.0, 0.0, 0.0)
BACK: Vec = (0.0, 1.0, 0.0)
STEPPED = [(0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (25.0, 20.0), (25.0, 12.0), (0.0, 12.0)]
BETWEEN = [(20.0, 15.0), (40.0, 15.0)]
WAIST = [(20.0, 10.0), (40.0, 10.0)]
CHANNEL = [(0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (25.0, 20.0), (25.0, 12.0), (15.0, 12.0), (15.0, 20.0), (0.0, 20.0)]
TEE = [
    *((0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (25.0, 30.0), (25.0, 20.0), (29.0, 20.0), (29.0, 12.0)),
    *((11.0, 12.0), (11.0, 20.0), (15.0, 20.0), (15.0, 30.0), (0.0, 30.0)),
]


def plan_of(part: Part, *features: Feature, **more: object) -> Plan:
    """Return the plan in the example shop."""
    return make_plan(facts(part, features, **more), example())  # type: ignore[arg-type]  # process and axis


def directions(plan: Plan) -> list[tuple[float, ...]]:
    """Return the setups' directions, rounded."""
    return [tuple(round(value, 3) + 0.0 for value in each.direction) for each in plan.setups]


# --- how many, and from where ---------------------------------------------------------------------------------------


def test_a_plain_block_needs_one_setup() -> None:
    """Its faces are the blank's own."""
    assert len(plan_of(block()).setups) == 1


def test_holes_from_above_need_one_setup_from_above() -> None:
    """Three blind holes, one direction."""
    plan = plan_of(block(), hole(), hole(8.0), hole(5.0))
    assert directions(plan) == [(0.0, 0.0, 1.0)]
    assert plan.setups[0].features == ("F1", "F2", "F3")


@pytest.mark.parametrize("way", [DOWN, LEFT, BACK])
def test_a_blind_hole_in_another_side_asks_for_another_setup(way: Vec) -> None:
    """The side with more to do comes first."""
    plan = plan_of(block(), hole(), hole(8.0), hole(5.0, direction=way))
    assert directions(plan) == [(0.0, 0.0, 1.0), way]
    assert plan.setups[1].features == ("F3",)


def test_a_through_hole_joins_whichever_end_is_cut_anyway() -> None:
    """It was recognised from below, and is drilled from above with the others."""
    plan = plan_of(block(), hole(), hole(through=True, depth=20.0, direction=DOWN))
    assert directions(plan) == [(0.0, 0.0, 1.0)]


def test_a_through_hole_deeper_than_any_drill_is_drilled_from_both_ends() -> None:
    """A ⌀5 drill of the example shop reaches 56 mm: 90 mm take two setups, 200 mm cannot be made."""
    tall = block((40.0, 40.0, 90.0))
    plan = plan_of(tall, hole(5.0, through=True, depth=90.0))
    assert sorted(directions(plan)) == [(0.0, 0.0, -1.0), (0.0, 0.0, 1.0)]
    assert not plan.unmade
    deeper = plan_of(block((40.0, 40.0, 200.0)), hole(5.0, through=True, depth=200.0))
    assert [each.feature for each in deeper.unmade] == ["F1"]


@pytest.mark.parametrize("lean_deg", [0.0, 25.0])
def test_the_far_end_of_a_slanting_hole_is_a_side_of_its_own(lean_deg: float) -> None:
    """A ⌀5 drill reaches 56 mm: 90 mm through are drilled from both ends, square to the part's faces or not."""
    way = (math.sin(math.radians(lean_deg)), 0.0, math.cos(math.radians(lean_deg)))
    plan = plan_of(block((40.0, 40.0, 90.0)), hole(5.0, through=True, depth=90.0, direction=way))
    back = tuple(round(-value, 3) + 0.0 for value in way)
    assert back in directions(plan)
    assert plan.setups[directions(plan).index(back)].why.endswith(": 1 far end")


@pytest.mark.parametrize(
    ("depth", "sides", "made"),
    [
        pytest.param(60.0, 1, True, id="one-end-reaches"),
        pytest.param(64.0, 1, True, id="just-reaches"),
        pytest.param(80.0, 2, True, id="half-from-either-end"),
        pytest.param(128.0, 2, True, id="just-half"),
        pytest.param(140.0, 1, False, id="too-deep-for-both"),
    ],
)
def test_what_goes_right_through_is_milled_half_from_either_end_where_it_is_too_deep(
    depth: float, sides: int, made: bool
) -> None:
    """The ⌀8 long end mill, which the R4 corners let in, reaches 64 mm in the example shop (common practice)."""
    through = pocket(depth=depth, faces=(), through=True, corner_radius_mm=4.0, floor_radius_mm=None)
    plan = plan_of(block((80.0, 60.0, depth)), through)
    assert len(plan.setups) == sides
    assert (not plan.unmade) is made
    blind = plan_of(block((80.0, 60.0, 160.0)), replace(through, through=False))
    assert [each.feature for each in blind.unmade] == ([] if depth <= 64.0 else ["F1"])
    if sides == 2:
        assert plan.setups[1].why.endswith(": 1 far end")
        half = plan_of(block((80.0, 60.0, depth)), replace(through, depth_mm=depth / 2.0))
        spent, once = (sum(each.minutes for each in some.tools if "F1" in each.features) for some in (plan, half))
        assert spent == pytest.approx(2.0 * once)


def test_a_hole_that_widens_again_below_is_cut_from_both_ends() -> None:
    """30, 20, 26: the last length is a counterbore of the far side; 30, 26, 20 comes from one side."""

    def bore(*diameters: float) -> SteppedHole:
        lengths = tuple(Segment(shape="cylinder", diameter_mm=d, depth_mm=10.0, end_diameter_mm=d) for d in diameters)
        return SteppedHole(
            **{name: getattr(hole(20.0, 30.0, through=True), name) for name in ("faces", "direction", "position_mm")},
            diameter_mm=20.0,
            depth_mm=30.0,
            through=True,
            bottom="through",
            segments=lengths,
        )

    tall = block((60.0, 60.0, 30.0))
    assert len(plan_of(tall, bore(30.0, 20.0, 26.0)).setups) == 2
    assert len(plan_of(tall, bore(30.0, 26.0, 20.0)).setups) == 1


def test_a_step_goes_with_whichever_side_is_cut_anyway() -> None:
    """It can be cut from above or from its open side; the hole decides."""
    part = prism(STEPPED, 50.0)
    cut = step(width=25.0, depth=8.0, faces=(3, 4))
    assert directions(plan_of(part, cut, hole())) == [(0.0, 0.0, 1.0)]
    assert directions(plan_of(part, cut, hole(direction=(0.0, -1.0, 0.0)))) == [(0.0, -1.0, 0.0)]


def test_a_slot_with_square_floor_edges_is_not_cut_from_its_end() -> None:
    """From its end the edges between floor and walls would be upright corners, and those are never sharp."""
    channel = slot(width=10.0, depth=8.0, length=60.0, faces=(3, 4, 5))
    plan = plan_of(prism(CHANNEL, 60.0), channel, hole(direction=(1.0, 0.0, 0.0)))
    assert len(plan.setups) == 2


@pytest.mark.parametrize(("width", "count"), [(25.0, 1), (109.0, 1), (111.0, 2)])
def test_a_floor_is_cut_from_the_side_only_as_deep_as_an_end_mill_reaches(width: float, count: int) -> None:
    """The example shop's longest reaches 110 mm: up to there the hole in the side takes the step along."""
    outline = [(0.0, 0.0), (width + 15.0, 0.0), (width + 15.0, 20.0), (width, 20.0), (width, 12.0), (0.0, 12.0)]
    cut = step(width=width, depth=8.0, faces=(3, 4))
    plan = plan_of(prism(outline, 50.0), cut, hole(direction=(0.0, -1.0, 0.0)))
    assert len(plan.setups) == count


def test_a_tee_slot_is_one_setup_from_its_opening() -> None:
    """The lips hide its wide part from above; the slot cutter comes from above all the same."""
    part = prism(TEE, 150.0)
    tee = slot(width=10.0, depth=18.0, length=150.0, faces=tuple(range(3, 10)), undercut_width_mm=18.0)
    plan = plan_of(part, tee)
    assert directions(plan) == [(0.0, 0.0, 1.0)]
    assert not plan.unmade
    assert "slot 16 x 8" in [each.cutter for each in plan.tools]


def test_a_closed_pocket_has_one_way_in_and_a_through_one_two() -> None:
    """A blind hole from below leaves the blind pocket its own setup, and takes the through one along."""
    below = hole(direction=DOWN)
    assert len(plan_of(pocketed(), pocket(), below).setups) == 2
    window = pocket(depth=20.0, through=True, faces=(6, 7, 8, 9), floor_radius_mm=None)
    assert len(plan_of(pocketed(through=True), window, below).setups) == 1


@pytest.mark.parametrize("recognised_from", [UPWARDS, DOWN])
def test_a_through_pocket_deeper_than_any_end_mill_still_joins_the_end_that_is_cut_anyway(recognised_from: Vec) -> None:
    """From which end it was recognised says nothing: the part lying the other way up needs no further setup."""
    tall = pocketed((60.0, 40.0, 140.0), (30.0, 20.0, 140.0), through=True)  # the ⌀8 end mill reaches 64 mm
    cut = pocket(depth=140.0, through=True, faces=(6, 7, 8, 9), direction=recognised_from)
    for end in (UPWARDS, DOWN):
        assert directions(plan_of(tall, cut, hole(direction=end))) == [end]


def test_a_slope_within_the_box_has_to_be_cut() -> None:
    """A roof that leans to +y is reached from above; the block it is cut from needs nothing else."""
    wedge = prism([(0.0, 0.0), (40.0, 0.0), (40.0, 10.0), (0.0, 20.0)], 60.0)
    assert directions(plan_of(wedge)) in ([(0.0, 0.0, 1.0)], [(0.0, 1.0, 0.0)])


def test_a_hole_square_to_a_slope_costs_a_slanted_setup() -> None:
    """Both directions are there, the square one first by its number of holes."""
    slope = math.hypot(10.0, 40.0)
    wedge = prism([(0.0, 0.0), (40.0, 0.0), (40.0, 10.0), (0.0, 20.0)], 60.0)
    plan = plan_of(wedge, hole(), hole(8.0), hole(direction=(0.0, 10.0 / slope, 40.0 / slope)))
    assert directions(plan) == [(0.0, 0.0, 1.0), (0.0, round(10.0 / slope, 3), round(40.0 / slope, 3))]


def test_a_sharp_corner_through_the_part_is_cut_from_its_side() -> None:
    """A notch that runs out at the side has a sharp corner along z: from the side it is only a wall meeting a floor."""
    notch = [(0.0, 0.0), (40.0, 0.0), (40.0, 60.0), (30.0, 60.0), (30.0, 40.0), (0.0, 40.0)]
    part = moved(prism(notch, 20.0), np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]]), (0.0, 0.0, 0.0))
    corner = step(width=30.0, depth=20.0, faces=(3, 4), corner_radius_mm=0.0)
    plan = plan_of(part, corner)
    assert not plan.unmade
    assert abs(plan.setups[0].direction[2]) < 1e-6


# --- turned parts ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("outline", "count"),
    [
        pytest.param([(0.0, 10.0), (60.0, 10.0)], 1, id="one-diameter"),
        pytest.param([(0.0, 10.0), (20.0, 10.0), (20.0, 15.0), (60.0, 15.0)], 1, id="shoulder-at-one-end"),
        pytest.param(
            [(0.0, 10.0), (20.0, 10.0), (20.0, 15.0), (40.0, 15.0), (40.0, 8.0), (60.0, 8.0)], 2, id="both-ends"
        ),
        pytest.param(
            [(0.0, 15.0), (20.0, 15.0), (20.0, 10.0), (40.0, 10.0), (40.0, 15.0), (60.0, 15.0)], 1, id="waist"
        ),
        pytest.param([(0.0, 12.0), (2.0, 15.0), (60.0, 15.0)], 1, id="chamfer-at-one-end"),
        pytest.param([(0.0, 12.0), (2.0, 15.0), (58.0, 15.0), (60.0, 12.0)], 2, id="chamfer-at-both-ends"),
    ],
)
def test_chuckings_follow_the_ends_that_have_something_to_turn(outline: list[tuple[float, float]], count: int) -> None:
    """What looks to an end is turned from that end; what lies between two larger diameters from either."""
    plan = plan_of(turned(outline), process="turned", axis=(1.0, 0.0, 0.0))
    assert len(plan.setups) == count
    assert plan.machine == "lathe-2"


def test_a_cross_hole_in_a_turned_part_is_one_more_setup_on_the_mill() -> None:
    """A lathe without driven tools leaves it to the mill; a lathe with them drills it in the same chucking."""
    shaft = facts(
        turned([(0.0, 15.0), (60.0, 15.0)]), [hole(5.0, direction=UPWARDS)], process="mill_turned", axis=(1.0, 0.0, 0.0)
    )
    plan = make_plan(shaft, example())
    assert [each.machine for each in plan.setups] == ["lathe-2", "mill-3"]
    driven = machine(id="mt", kind="mill_turn", axes=4, travel_mm=(250.0, 250.0, 450.0), rate_per_hour=70.0)
    together = make_plan(shaft, with_shop(machines=(driven,)))
    assert len(together.setups) == 1
    assert together.setups[0].indexed == (UPWARDS,)


def test_a_disc_too_large_for_the_lathe_goes_to_the_mill() -> None:
    """The example lathe turns 250 mm; a ⌀300 plate is milled round."""
    plan = plan_of(turned([(0.0, 150.0), (12.0, 150.0)]), process="turned", axis=(1.0, 0.0, 0.0))
    assert plan.machine == "mill-3"


def test_a_groove_does_not_ask_for_a_setup_of_its_own() -> None:
    """It is cut from whichever end is in the chuck."""
    groove = Groove(
        faces=(),
        direction=UPWARDS,
        position_mm=(30.0, 0.0, 0.0),
        width_mm=3.0,
        depth_mm=2.0,
        diameter_mm=26.0,
        side="outer",
    )
    plan = plan_of(turned([(0.0, 15.0), (60.0, 15.0)]), groove, process="turned", axis=(1.0, 0.0, 0.0))
    assert len(plan.setups) == 1
    assert "grooving tool" in [each.cutter for each in plan.tools]


# --- machines that turn the part ------------------------------------------------------------------------------------


def test_a_swivelling_machine_needs_fewer_clampings() -> None:
    """Five sides from one clamping; the side it sits on takes a second."""
    sides = [UPWARDS, DOWN, LEFT, (1.0, 0.0, 0.0), BACK]
    part = facts(block(), [hole(direction=each) for each in sides])
    three = make_plan(part, example())
    five = make_plan(part, with_shop(machines=(machine(id="five", axes=5, indexed=True),)))
    assert len(three.setups) == 5
    assert len(five.setups) == 2
    assert five.setup_minutes < three.setup_minutes
    assert sorted(each for setup in five.setups for each in setup.features) == ["F1", "F2", "F3", "F4", "F5"]


def test_a_rotary_axis_takes_the_sides_around_it() -> None:
    """Four axes: top, bottom and front lie around one axis; a hole along that axis takes a second clamping."""
    part = facts(block(), [hole(direction=each) for each in (UPWARDS, DOWN, BACK, LEFT)])
    four = make_plan(part, with_shop(machines=(machine(id="four", axes=4, indexed=True),)))
    assert len(four.setups) == 2


# --- laws -----------------------------------------------------------------------------------------------------------


def test_turning_and_moving_the_part_changes_no_count() -> None:
    """The same part askew has the same setups with the same features."""
    part = pocketed()
    features = (pocket(), hole(direction=LEFT), hole(8.0))
    plain = plan_of(part, *features)
    askew = tuple(replace(each, direction=tuple((TURN @ np.array(each.direction)).tolist())) for each in features)
    other = plan_of(moved(part), *askew)
    assert [each.features for each in other.setups] == [each.features for each in plain.setups]
    assert other.minutes.likely == pytest.approx(plain.minutes.likely, rel=1e-6)


def test_the_same_part_gives_the_same_plan() -> None:
    """Twice the same, to the last digit."""
    part = facts(pocketed(), [pocket(), hole(direction=LEFT), hole(8.0, through=True, depth=20.0)])
    assert make_plan(part, example()) == make_plan(part, example())


def test_every_feature_stands_in_exactly_one_setup() -> None:
    """None is lost, none is done twice."""
    part = facts(pocketed(), [pocket(), hole(direction=LEFT), hole(8.0), hole(direction=DOWN), step(faces=(3,))])
    plan = make_plan(part, example())
    assert sorted(each for setup in plan.setups for each in setup.features) == ["F1", "F2", "F3", "F4", "F5"]


def test_the_reason_counts_the_work() -> None:
    """In plain words, with the side's name as seen from the first setup."""
    plan = plan_of(pocketed(), pocket(), hole(), hole(8.0), hole(direction=DOWN), hole(direction=LEFT))
    assert [each.why for each in plan.setups] == [
        "top (+Z): 2 holes, 1 pocket",
        "bottom (-Z): 1 hole",
        "side (-X): 1 hole",
    ]
