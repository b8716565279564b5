from dataclasses import fields, replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzers.features.hole import CounterboreHole, CountersunkHole, Hole, Segment, SteppedHole
from analyzers.plan.bench import Bench, Making
from analyzers.plan.drilling import make_hole, reach_in_hole_mm, size_slack_mm
from analyzers.settings import Cutter, Settings
from tests.plan._builders import UP, block, drill, end_mill, example, hole, with_cutters

X = np.array([1.0, 0.0, 0.0])
DRILLS = (drill(5.0, 56.0), drill(6.6, 67.0), drill(10.0, 91.0))
MILLS = (end_mill(4.0, 21.0), end_mill(8.0, 32.0))


def made(feature: Hole, *cutters: Cutter, settings: Settings | None = None, lathe: bool = False) -> Making:
    """Return how a hole is made with these cutters on the shelf."""
    found = settings or (with_cutters(*cutters) if cutters else example())
    return make_hole(feature, Bench.of(block(), found, found.shop.machines[0], np.eye(3), X if lathe else None))


def cutters(making: Making) -> list[str]:
    """Return the cutters in their order."""
    return [each.cutter for each in making.operations]


def test_a_hole_of_a_drill_on_the_shelf_is_drilled() -> None:
    """One operation, by the drill of its size."""
    assert cutters(made(hole(6.6, 20.0), *DRILLS)) == ["drill 6.6"]


def test_a_spot_drill_comes_first_where_there_is_one() -> None:
    """The example shop has one."""
    assert cutters(made(hole(6.6, 20.0))) == ["spot 10", "drill 6.6"]


@pytest.mark.parametrize(("diameter", "fits"), [(5.1, True), (5.11, False), (10.2, True), (10.21, False)])
def test_a_drill_makes_what_the_general_tolerance_allows(diameter: float, fits: bool) -> None:
    """ISO 2768-1 class m: 0.1 mm up to 6, 0.2 mm up to 30."""
    assert (made(hole(diameter, 20.0), *DRILLS).unmade is None) is fits


def test_of_two_drills_the_nearer_is_taken() -> None:
    """Both are within the general tolerance."""
    assert cutters(made(hole(10.15, 20.0), drill(10.0, 91.0), drill(10.2, 91.0))) == ["drill 10.2"]


@pytest.mark.parametrize(("depth", "fits"), [(56.0, True), (56.1, False)])
def test_a_blind_hole_must_be_within_the_drills_reach(depth: float, fits: bool) -> None:
    """At the reach it is made, just past it not; the reason names both numbers."""
    making = made(hole(5.0, depth), *DRILLS)
    assert (making.unmade is None) is fits
    if making.unmade is not None:
        assert "56.1" in making.unmade
        assert "reaches 56 mm" in making.unmade


def test_a_through_hole_twice_as_deep_is_drilled_from_both_ends() -> None:
    """Two drillings of half the depth; more than twice the reach stays unmade."""
    both = made(hole(5.0, 112.0, through=True), *DRILLS)
    assert cutters(both) == ["drill 5", "drill 5"]
    assert made(hole(5.0, 112.1, through=True), *DRILLS).unmade is not None


def test_an_odd_size_is_milled_in_a_helix() -> None:
    """No drill is near ⌀7.5; an end mill of at most 0.8 of it winds down, one of more does not."""
    assert cutters(made(hole(7.5, 20.0), *DRILLS, end_mill(6.0, 21.0))) == ["flat 6"]
    assert made(hole(7.4, 20.0), *DRILLS, end_mill(6.0, 21.0)).unmade is not None
    assert made(hole(7.5, 21.1), *DRILLS, end_mill(6.0, 21.0)).unmade is not None


def test_what_to_buy_and_what_to_change_is_said() -> None:
    """The size that is missing, and the nearest on the shelf."""
    why = made(hole(7.5, 20.0), *DRILLS).unmade
    assert why is not None
    assert "buy a ⌀7.5 drill" in why
    assert "⌀6.6" in why


def test_nobody_is_sent_to_buy_a_drill_of_150_mm() -> None:
    """A wide hole too deep for the end mills wants a longer one or a boring head."""
    why = made(hole(150.0, 60.0), *DRILLS, end_mill(6.0, 21.0)).unmade
    assert why is not None
    assert "buy" not in why
    assert "60 mm of reach, or a boring head" in why


def test_on_a_lathe_an_odd_bore_is_bored() -> None:
    """The boring bar makes any size."""
    assert cutters(made(hole(7.5, 20.0), *DRILLS, lathe=True)) == ["boring bar"]


@pytest.mark.parametrize(
    ("bottom", "angle", "tools", "last"),
    [
        pytest.param("conical", 118.0, DRILLS, "drill 10", id="drill-point"),
        pytest.param("conical", 140.0, DRILLS, "drill 10", id="flatter-point"),
        pytest.param("flat", None, (*DRILLS, *MILLS), "flat 8", id="flat-is-milled"),
        pytest.param("spherical", None, (*DRILLS, end_mill(10.0, 40.0, "ball")), "ball 10", id="round-by-its-ball"),
        pytest.param("spherical", None, (*DRILLS, end_mill(6.0, 40.0, "ball")), "ball 6", id="round-by-a-smaller-ball"),
    ],
)
def test_bottoms_that_can_be_made(bottom: str, angle: float | None, tools: tuple[Cutter, ...], last: str) -> None:
    """A drill leaves its point; flat and round bottoms take an end mill after it."""
    making = made(hole(10.0, 20.0, bottom=bottom, point_angle_deg=angle), *tools)
    assert making.unmade is None
    assert cutters(making)[-1] == last


@pytest.mark.parametrize(
    ("bottom", "angle", "depth", "word"),
    [
        pytest.param("conical", 60.0, 20.0, "60°", id="no-such-point"),
        pytest.param("flat", None, 33.0, "flat bottom 33 mm", id="flat-too-deep"),
        pytest.param("spherical", None, 20.0, "round bottom", id="no-ball"),
    ],
)
def test_bottoms_that_cannot(bottom: str, angle: float | None, depth: float, word: str) -> None:
    """Each with its reason; the drilling before it is still counted."""
    making = made(hole(10.0, depth, bottom=bottom, point_angle_deg=angle), *DRILLS, *MILLS)
    assert word in (making.unmade or "")
    assert cutters(making) == ["drill 10"]


def test_a_through_hole_has_no_bottom() -> None:
    """Whatever its bottom would be."""
    assert cutters(made(hole(10.0, 20.0, through=True), *DRILLS)) == ["drill 10"]


def test_a_depth_that_is_not_known_is_no_reason_against_it() -> None:
    """It is unknown, not unmade."""
    making = made(hole(10.0, None))
    assert (making.unmade, making.unknown) == (None, "depth")


def _of(kind: type[Hole], base: Hole, **more: object) -> Hole:
    """Return a hole of another kind with the same numbers."""
    shared = {each.name: getattr(base, each.name) for each in fields(base)}
    return kind(**(shared | more))


def test_a_counterbore_is_milled_after_drilling() -> None:
    """⌀11 wound by ⌀8 within its reach of 32 mm; with no end mill there is none."""
    bore = _of(CounterboreHole, hole(6.6, 40.0, through=True), counterbore_diameter_mm=11.0, counterbore_depth_mm=6.0)
    assert cutters(made(bore, *DRILLS, *MILLS)) == ["drill 6.6", "flat 8"]
    assert "wider bore" in (made(bore, *DRILLS).unmade or "")


@pytest.mark.parametrize(("angle", "fits"), [(90.0, True), (91.0, True), (82.0, False), (120.0, False)])
def test_a_countersink_needs_a_tool_of_its_angle(angle: float, fits: bool) -> None:
    """The example chamfer mill has 90 degrees; without a small ball nothing else makes the cone."""
    chamfer = next(each for each in example().shop.cutters if each.kind == "chamfer")
    sink = _of(CountersunkHole, hole(4.2, 20.0, through=True), countersink_diameter_mm=9.0, countersink_angle_deg=angle)
    making = made(sink, drill(4.2, 40.0), chamfer)
    assert (making.unmade is None) is fits


def test_steps_beyond_the_narrowest_count_from_the_far_end() -> None:
    """26 below 20 lies 10 mm deep from below, 50 mm from above: the ⌀8 end mill reaches 32."""
    lengths = tuple(
        Segment(shape="cylinder", diameter_mm=d, depth_mm=h, end_diameter_mm=d) for d, h in ((20.0, 40.0), (26.0, 10.0))
    )
    through = SteppedHole(
        id="F1",
        faces=(),
        direction=UP,
        position_mm=(0.0, 0.0, 0.0),
        diameter_mm=20.0,
        depth_mm=50.0,
        through=True,
        bottom="through",
        segments=lengths,
    )
    tools = (drill(20.0, 60.0), *MILLS)
    assert made(through, *tools).unmade is None
    blind = replace(through, through=False, bottom="conical", point_angle_deg=118.0)
    assert made(blind, *tools).unmade is not None


def test_reach_in_a_hole_is_the_longest_of_what_fits() -> None:
    """Drill or winding end mill, whichever is longer; none for a size nothing makes."""
    shop = with_cutters(drill(10.0, 40.0), end_mill(6.0, 60.0)).shop
    assert reach_in_hole_mm(10.0, shop) == 60.0
    assert reach_in_hole_mm(7.0, shop) == 0.0
    assert reach_in_hole_mm(10.2, with_cutters(drill(10.0, 40.0)).shop) == 40.0


@given(st.sampled_from([3.0, 5.0, 6.6, 10.0, 20.0]), st.floats(1.0, 140.0), st.floats(1.0, 3.0), st.booleans())
def test_a_deeper_hole_takes_no_fewer_minutes(diameter: float, depth: float, more: float, through: bool) -> None:
    """As long as both can be made with the example shop's drills."""
    makings = [made(hole(diameter, value, through=through)) for value in (depth, depth * more)]
    if all(each.unmade is None for each in makings):
        minutes = [sum(each.minutes for each in making.operations) for making in makings]
        assert minutes[0] <= minutes[1] * (1.0 + 1e-12)


def test_slack_grows_with_the_hole() -> None:
    """The bands of the general tolerance, never shrinking."""
    slacks = [size_slack_mm(value) for value in (1.0, 3.0, 6.0, 6.1, 30.0, 30.1, 120.0)]
    assert all(a <= b for a, b in pairwise(slacks))
