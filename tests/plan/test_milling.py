from dataclasses import replace
from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzers.features.boss import Boss
from analyzers.features.chamfer import Chamfer
from analyzers.features.edge_round import EdgeRound
from analyzers.features.fillet import Fillet
from analyzers.features.groove import Groove
from analyzers.features.outer_round import OuterRound
from analyzers.features.region import Region
from analyzers.model.feature import Feature
from analyzers.model.part import Part
from analyzers.plan.bench import Bench, Making
from analyzers.plan.cutters import make
from analyzers.settings import Cutter, Refusal, Settings
from tests.plan._builders import (
    UP,
    block,
    end_mill,
    example,
    pocket,
    pocketed,
    prism,
    slot,
    step,
    turned,
    with_cutters,
    with_shop,
)

Z = np.array([0.0, 0.0, 1.0])
X = np.array([1.0, 0.0, 0.0])
PLACE = {"id": "F1", "direction": UP, "position_mm": (0.0, 0.0, 0.0)}
SERIES = (end_mill(2.0, 12.0), end_mill(4.0, 21.0), end_mill(6.0, 26.0), end_mill(10.0, 38.0))


def made(
    feature: Feature, *cutters: Cutter, part: Part | None = None, settings: Settings | None = None, lathe: bool = False
) -> Making:
    """Return how a feature is made from above with these cutters on the shelf."""
    found = settings or (with_cutters(*cutters) if cutters else example())
    return make(feature, Bench.of(part or block(), found, found.shop.machines[0], np.eye(3), X if lathe else None), Z)


def cutters(making: Making, work: str | None = None) -> set[str]:
    """Return the cutters, or those of one kind of work."""
    return {each.cutter for each in making.operations if work is None or each.work == work}


def minutes(making: Making) -> float:
    """Return the sum of all operations."""
    return sum(each.minutes for each in making.operations)


def bare(**more: object) -> Feature:
    """Return a pocket without faces, so that its numbers alone count."""
    return pocket(**({"faces": ()} | more))  # type: ignore[arg-type]  # the values are those of the class


# --- pockets --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("radius", "finisher"),
    [
        pytest.param(3.7, "flat 6", id="rolls-through"),  # 3 / 3.7 = 0.81, at most 0.83
        pytest.param(3.0 / 0.83, "flat 6", id="exactly-at-the-ratio"),
        pytest.param(3.6, "flat 4", id="would-dwell"),  # 3 / 3.6 = 0.833
        pytest.param(1.3, "flat 2", id="small"),
    ],
)
def test_the_finisher_rolls_through_the_corner(radius: float, finisher: str) -> None:
    """The largest end mill whose radius is at most 0.83 of the corner's; the clearing takes a larger one."""
    making = made(bare(corner_radius_mm=radius), *SERIES)
    assert making.unmade is None
    assert finisher in cutters(making, "finish")
    assert cutters(making, "rough") == {"flat 10"}


def test_a_corner_as_round_as_the_only_cutter_that_reaches_will_do() -> None:
    """R2 at 20 mm: the ⌀4 dwells but makes it, the ⌀2 does not reach."""
    assert made(bare(corner_radius_mm=2.0, depth=20.0), *SERIES).unmade is None
    assert made(bare(corner_radius_mm=1.9, depth=20.0), *SERIES).unmade is not None


@pytest.mark.parametrize(("depth", "fits"), [(12.0, True), (12.1, False)])
def test_small_corners_are_made_only_as_deep_as_their_cutter_reaches(depth: float, fits: bool) -> None:
    """R1.3 takes the ⌀2, which reaches 12 mm; the reason names the radius that would do."""
    making = made(bare(corner_radius_mm=1.3, depth=depth), *SERIES)
    assert (making.unmade is None) is fits
    if making.unmade:
        assert "R2.5 the ⌀4 end mill" in making.unmade  # 2 / 0.83 = 2.41, rounded up


def test_a_pocket_deeper_than_every_cutter_stays_unmade() -> None:
    """The reason names the depth and the longest reach."""
    why = made(bare(depth=40.0), *SERIES).unmade
    assert why is not None
    assert "40 mm deep" in why
    assert "38 mm" in why


@pytest.mark.parametrize(("width", "fits"), [(2.0, True), (1.9, False)])
def test_a_slot_may_be_as_wide_as_its_cutter(width: float, fits: bool) -> None:
    """⌀2 goes into 2.0 and not into 1.9."""
    assert (made(slot(width=width, depth=5.0), *SERIES).unmade is None) is fits


def test_the_round_end_of_a_slot_takes_a_cutter_of_its_width() -> None:
    """It is no corner to roll through: the end has the cutter's own radius."""
    making = made(slot(width=6.0, depth=8.0, ends="round", through=False, corner_radius_mm=3.0), *SERIES)
    assert cutters(making, "finish") == {"flat 6"}


def test_sharp_corners_stay_unmade_with_a_radius_that_would_do() -> None:
    """Four upright corners without radius: whatever the cutters."""
    why = made(pocket(corner_radius_mm=0.0), part=pocketed()).unmade
    assert why is not None
    assert why.startswith("sharp inside corners")
    assert "with R" in why


def test_a_step_has_no_corner_to_make() -> None:
    """The edge between its wall and its floor is left by the cutter's own edge."""
    assert made(step(), *SERIES).unmade is None


def test_a_rounded_floor_takes_the_bull_of_its_radius() -> None:
    """One pass with the corner that is the round; without one, a ball in many passes, which takes longer."""
    bull = end_mill(6.0, 26.0, "bull", corner_radius_mm=1.0)
    ball = end_mill(2.0, 20.0, "ball")
    with_bull = made(bare(floor_radius_mm=1.0), *SERIES, bull, ball)
    with_ball = made(bare(floor_radius_mm=1.5), *SERIES, ball)
    assert cutters(with_bull, "blend") == {"bull 6"}
    assert cutters(with_ball, "blend") == {"ball 2"}
    assert made(bare(floor_radius_mm=0.5), *SERIES, bull, ball).unmade is not None


def test_a_bull_that_is_too_thick_is_not_called_too_short() -> None:
    """The reason names what is wrong: its thickness between walls 5 mm apart, its reach in a pocket 30 mm deep."""
    bull = end_mill(6.0, 26.0, "bull", corner_radius_mm=1.0)
    narrow = made(bare(floor_radius_mm=1.0, width_mm=5.0), *SERIES, bull).unmade
    assert narrow is not None
    assert "slim enough for 5 mm between the walls" in narrow
    deep = made(bare(floor_radius_mm=1.0, depth_mm=30.0), *SERIES, end_mill(10.0, 50.0), bull).unmade
    assert deep is not None
    assert "reaches 30 mm down" in deep
    assert "26 mm" in deep


def test_a_bull_nose_does_not_clear_a_square_floor() -> None:
    """It would leave its radius along the walls."""
    bull = end_mill(16.0, 56.0, "bull", corner_radius_mm=3.0)
    assert made(bare(), bull).unmade is not None


def test_sizes_that_are_not_known_are_no_reason_against_it() -> None:
    """Unknown, not unmade."""
    for unknown in (bare(depth_mm=None), bare(width_mm=None), bare(width_mm=0.0)):
        assert made(unknown, *SERIES).unmade is None
        assert made(unknown, *SERIES).unknown is not None


def test_what_the_shop_refuses_stays_unmade() -> None:
    """By its kind, with the shop's own reason."""
    refusal = Refusal(what="feature", name="closed_pocket", why="no coolant there")
    assert made(bare(), settings=with_shop(refuses=(refusal,))).unmade == (
        "the shop does not take it on: no coolant there"
    )
    other = Refusal(what="feature", name="slot", why="no coolant there")
    assert made(bare(), settings=with_shop(refuses=(other,))).unmade is None


# --- undercuts ------------------------------------------------------------------------------------------------------

TEE = [
    *((0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (25.0, 30.0), (25.0, 20.0), (29.0, 20.0), (29.0, 12.0)),
    *((11.0, 12.0), (11.0, 20.0), (15.0, 20.0), (15.0, 30.0), (0.0, 30.0)),
]
TAIL = [(0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (25.0, 30.0), (32.0, 18.0), (8.0, 18.0), (15.0, 30.0), (0.0, 30.0)]


@pytest.mark.parametrize(
    ("head", "neck", "high", "fits"),
    [
        pytest.param(16.0, 7.0, 8.0, True, id="fits"),
        pytest.param(18.0, 10.0, 8.0, True, id="just-fits"),
        pytest.param(19.0, 7.0, 8.0, False, id="head-too-wide"),
        pytest.param(16.0, 7.0, 8.5, False, id="head-too-high"),
        pytest.param(14.0, 7.0, 8.0, False, id="overhang-too-small"),
    ],
)
def test_a_tee_slot_needs_a_cutter_that_runs_in_it(head: float, neck: float, high: float, fits: bool) -> None:
    """Opening 10, undercut 18 wide and 8 high, so 4 mm under each lip."""
    tee = slot(width=10.0, depth=18.0, length=150.0, faces=tuple(range(3, 10)), undercut_width_mm=18.0)
    cutter = end_mill(head, 40.0, "slot", neck_diameter_mm=neck, flute_length_mm=high)
    assert (made(tee, *SERIES, cutter, part=prism(TEE, 150.0)).unmade is None) is fits


def test_a_dovetail_asks_for_a_cutter_of_its_angle() -> None:
    """Its walls lean over it by atan(7 / 12): 30.3 degrees."""
    tail = slot(width=10.0, depth=12.0, length=150.0, faces=(3, 4, 5), undercut_width_mm=24.0)
    assert "30.3°" in (made(tail, part=prism(TAIL, 150.0)).unmade or "")


# --- what follows other faces ---------------------------------------------------------------------------------------


def test_a_boss_needs_an_end_mill_as_long_as_it_is_tall() -> None:
    """38 mm is the longest of the series."""
    boss = Boss(faces=(), height_mm=38.0, length_mm=20.0, width_mm=20.0, **PLACE)  # type: ignore[arg-type]
    assert made(boss, *SERIES).unmade is None
    assert made(replace(boss, height_mm=38.1), *SERIES).unmade is not None


@pytest.mark.parametrize(("radius", "fits"), [(1.0, True), (0.9, False)])
def test_a_lying_fillet_needs_a_round_corner_no_larger(radius: float, fits: bool) -> None:
    """The smallest ball of the example shop has R1, its smallest bull nose R0.5 but only ⌀6."""
    fillet = Fillet(faces=(0,), radius_mm=radius, **PLACE)  # type: ignore[arg-type]
    assert (made(fillet, end_mill(2.0, 16.0, "ball")).unmade is None) is fits


def test_an_upright_fillet_is_an_end_mills_corner() -> None:
    """Its axis stands along the spindle: R3 needs at most ⌀6 and the part's height of reach."""
    part = turned([(0.0, 3.0), (20.0, 3.0)], axis=2)
    fillet = Fillet(faces=(0,), radius_mm=3.0, **PLACE)  # type: ignore[arg-type]
    assert cutters(made(fillet, *SERIES, part=part)) == {"flat 4"}
    assert made(fillet, end_mill(4.0, 19.0), part=part).unmade is not None
    assert made(replace(fillet, radius_mm=None), *SERIES, part=part).unknown == "radius"


def test_an_edge_round_is_made_in_passes_or_with_a_cutters_side() -> None:
    """Lying rounds take a ball; upright ones an end mill."""
    round_ = EdgeRound(faces=(0,), radius_mm=3.0, **PLACE)  # type: ignore[arg-type]
    lying, upright = turned([(0.0, 3.0), (20.0, 3.0)], axis=1), turned([(0.0, 3.0), (20.0, 3.0)], axis=2)
    assert cutters(made(round_, *SERIES, end_mill(6.0, 40.0, "ball"), part=lying)) == {"ball 6"}
    assert cutters(made(round_, *SERIES, part=upright)) == {"flat 10"}
    assert made(round_, *SERIES, part=lying).unmade is not None


@pytest.mark.parametrize(
    ("angle", "cutter"), [(45.0, "chamfer 10"), (44.5, "chamfer 10"), (30.0, "ball 2"), (60.0, "ball 2")]
)
def test_a_chamfer_takes_the_mill_of_its_angle(angle: float, cutter: str) -> None:
    """Half the point of 90 degrees; other angles are stepped with a ball."""
    mill = next(each for each in example().shop.cutters if each.kind == "chamfer")
    sloped = prism([(0.0, 0.0), (40.0, 0.0), (40.0, 18.0), (38.0, 20.0), (0.0, 20.0)], 60.0)
    chamfer = Chamfer(faces=(2,), width_mm=2.0, angle_deg=angle, **PLACE)  # type: ignore[arg-type]
    assert cutters(made(chamfer, mill, end_mill(2.0, 16.0, "ball"), part=sloped)) == {cutter}


def test_freeform_takes_the_ball_that_follows_its_hollows() -> None:
    """The largest of R1 to R3 that is no larger than the hollow; none for a tighter one."""
    balls = tuple(end_mill(d, 40.0, "ball") for d in (2.0, 4.0, 6.0))
    region = Region(faces=(0,), area_mm2=500.0, min_concave_radius_mm=2.0, **PLACE)  # type: ignore[arg-type]
    assert cutters(made(region, *balls)) == {"ball 4"}
    assert cutters(made(replace(region, min_concave_radius_mm=None), *balls)) == {"ball 6"}
    assert "R0.9" in (made(replace(region, min_concave_radius_mm=0.9), *balls).unmade or "")


# --- lathe ----------------------------------------------------------------------------------------------------------


def test_a_diameter_is_turned_on_a_lathe_and_milled_elsewhere() -> None:
    """On a mill it must stand along the spindle and be no longer than an end mill."""
    outer = OuterRound(faces=(), diameter_mm=30.0, length_mm=20.0, **PLACE)  # type: ignore[arg-type]
    assert cutters(made(outer, *SERIES, lathe=True)) == {"turning tool"}
    assert cutters(made(outer, *SERIES)) == {"flat 10"}
    assert made(replace(outer, length_mm=60.0), *SERIES).unmade is not None


def test_a_groove_is_turned_or_takes_a_slot_cutter() -> None:
    """A ring groove on a mill needs a head no wider than itself and deep enough; a face groove is milled round."""
    groove = Groove(faces=(), width_mm=4.0, depth_mm=2.0, diameter_mm=40.0, side="outer", **PLACE)  # type: ignore[arg-type]
    cutter = end_mill(11.0, 20.0, "slot", neck_diameter_mm=5.0, flute_length_mm=3.5)
    assert cutters(made(groove, *SERIES, lathe=True)) == {"grooving tool"}
    assert cutters(made(groove, *SERIES, cutter)) == {"slot 11"}
    assert made(replace(groove, width_mm=3.4), *SERIES, cutter).unmade is not None
    assert made(replace(groove, depth_mm=3.1), *SERIES, cutter).unmade is not None
    assert cutters(made(replace(groove, side="face"), *SERIES)) == {"flat 4"}


# --- laws -----------------------------------------------------------------------------------------------------------

sizes = st.floats(5.0, 120.0)
more = st.floats(1.0, 3.0)


@given(sizes, sizes, st.floats(1.0, 100.0), st.sampled_from([1.0, 2.5, 4.0, 8.0]), more)
def test_a_deeper_pocket_takes_no_fewer_minutes(
    length: float, width: float, depth: float, radius: float, by: float
) -> None:
    """With every cutter of the example shop, as long as both can be made."""
    both = [made(bare(length=length, width=width, depth=d, corner_radius_mm=radius)) for d in (depth, depth * by)]
    if all(each.unmade is None for each in both):
        assert minutes(both[0]) <= minutes(both[1]) * (1.0 + 1e-12)


@given(sizes, sizes, st.floats(1.0, 60.0), more)
def test_a_longer_pocket_takes_no_fewer_minutes(length: float, width: float, depth: float, by: float) -> None:
    """More area and more wall at the same width."""
    short, long = (made(bare(length=value, width=width, depth=depth)) for value in (length, length * by))
    if short.unmade is None:
        assert minutes(short) <= minutes(long) * (1.0 + 1e-12)


@given(st.floats(2.0, 30.0), st.floats(1.0, 60.0), more)
def test_a_deeper_slot_takes_no_fewer_minutes(width: float, depth: float, by: float) -> None:
    """Narrow or wide."""
    both = [made(slot(width=width, depth=value)) for value in (depth, depth * by)]
    if all(each.unmade is None for each in both):
        assert minutes(both[0]) <= minutes(both[1]) * (1.0 + 1e-12)


@given(st.floats(5.0, 60.0), st.floats(0.5, 8.0), more)
def test_what_can_be_made_shallow_or_round_is_not_lost_by_being_easier(depth: float, radius: float, by: float) -> None:
    """A larger corner radius or a smaller depth never turns a made pocket into an unmade one."""
    hard = made(bare(depth=depth, corner_radius_mm=radius, width=60.0, length=60.0))
    if hard.unmade is None:
        assert made(bare(depth=depth / by, corner_radius_mm=radius, width=60.0, length=60.0)).unmade is None
        assert made(bare(depth=depth, corner_radius_mm=radius * by, width=60.0, length=60.0)).unmade is None


def test_every_operation_has_a_time() -> None:
    """Finite and not negative, for one of each kind."""
    for feature in (bare(), slot(), step()):
        for each in made(feature).operations:
            assert 0.0 <= each.minutes < inf


@given(st.floats(5.0, 100.0), st.floats(1.0, 60.0), more)
def test_a_deeper_step_takes_no_fewer_minutes(width: float, depth: float, by: float) -> None:
    """As long as an end mill reaches down its wall."""
    both = [made(step(width=width, depth=value)) for value in (depth, depth * by)]
    if all(each.unmade is None for each in both):
        assert minutes(both[0]) <= minutes(both[1]) * (1.0 + 1e-12)


def test_a_step_is_cleared_faster_than_a_pocket_as_deep() -> None:
    """The cutter is held short where the side is open: the same chips 60 mm down."""
    slender = end_mill(8.0, 64.0)
    closed = made(bare(length=60.0, width=60.0, depth=60.0, corner_radius_mm=8.0), slender)
    beside = made(step(width=60.0, depth=60.0), slender)
    rough = [sum(each.minutes for each in making.operations if each.work == "rough") for making in (beside, closed)]
    assert 0.0 < rough[0] < rough[1]


def test_a_corner_too_deep_for_the_cutter_that_rolls_is_charged_as_if_it_came_down() -> None:
    """R2.5 to 12 mm: the ⌀2 rolls; 1 mm deeper only the ⌀5 is left: quicker on walls, but dwelling in the corners."""
    shelf = (end_mill(2.0, 12.0), end_mill(5.0, 40.0))
    rolled, eased = (made(bare(depth=depth, corner_radius_mm=2.5), *shelf) for depth in (12.0, 13.0))
    assert "flat 2" in cutters(rolled, "finish")  # the floor may take the other
    assert cutters(eased, "finish") == {"flat 5"}
    assert minutes(eased) >= minutes(rolled)


def test_clearing_and_corners_are_chosen_together() -> None:
    """What the plan charges is no more than any single end mill would take for both."""
    together = minutes(made(bare(corner_radius_mm=3.7), *SERIES))
    alone = [minutes(made(bare(corner_radius_mm=3.7), each)) for each in SERIES[:3]]
    assert together <= min(alone)
