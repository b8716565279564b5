import math

import numpy as np
import pytest

from analyzers.model.arrays import Vec
from analyzers.model.part import Part
from analyzers.plan.frame import frame_of
from analyzers.plan.holding import hold
from analyzers.plan.stock import blank_for
from tests.plan._builders import TURN, block, example, facts, moved, pocket, pocketed, prism, turned, with_shop

UP = np.array([0.0, 0.0, 1.0])
SHOP = example().shop  # grips 6 mm, opens 160 mm


@pytest.mark.parametrize(
    ("size", "by", "width"),
    [
        pytest.param((60.0, 40.0, 20.0), "vise", 40.0, id="wider-contact-wins"),
        pytest.param((60.0, 40.0, 6.0), "vise", 40.0, id="just-high-enough"),
        pytest.param((60.0, 40.0, 5.9), "fixture", None, id="too-low"),
        pytest.param((200.0, 160.0, 20.0), "vise", 160.0, id="just-narrow-enough"),
        pytest.param((200.0, 160.1, 20.0), "fixture", None, id="too-wide"),
    ],
)
def test_a_block_is_held_where_the_jaws_fit(size: Vec, by: str, width: float | None) -> None:
    """Two opposite sides, high enough for the jaws and no wider apart than they open."""
    held = hold(facts(block(size)), UP, SHOP)
    assert held.by == by
    assert held.width_mm == (None if width is None else pytest.approx(width))


def test_the_faces_of_a_pocket_are_no_place_for_jaws() -> None:
    """Facing walls of a pocket look towards one another, not away."""
    held = hold(facts(pocketed(), [pocket()]), UP, SHOP)
    assert set(held.faces) <= {1, 3, 4, 5}


def test_faces_that_miss_one_another_do_not_hold() -> None:
    """Two flats of equal direction whose heights do not overlap: jaws would meet nothing opposite."""
    stair = [(0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (40.0, 10.0), (40.0, 20.0), (0.0, 14.0)]
    part = prism(stair, 300.0)  # too long for the vise between its ends
    held = hold(facts(part), UP, SHOP)
    assert held.by == "vise"
    assert held.height_mm == pytest.approx(10.0)  # +y at z 0..10 against -y at z 0..14, not +y at z 10..20


def test_a_round_is_held_in_a_chuck() -> None:
    """A disc has no flats upright; its round is longer than the jaws need."""
    assert hold(facts(turned([(0.0, 30.0), (20.0, 30.0)], axis=2)), UP, SHOP).by == "chuck"
    assert hold(facts(turned([(0.0, 30.0), (5.0, 30.0)], axis=2)), UP, SHOP).by == "fixture"


def test_a_wedge_is_not_held_by_its_slope() -> None:
    """One upright side faces a slope; only the two ends are parallel."""
    wedge = prism([(0.0, 0.0), (40.0, 0.0), (30.0, 20.0), (0.0, 20.0)], 60.0)
    assert set(hold(facts(wedge), UP, SHOP).faces) == {4, 5}


@pytest.mark.parametrize("part", [block(), pocketed()])
def test_holding_turns_with_the_part(part: Part) -> None:
    """The same faces hold the same part when it lies askew."""
    straight, askew = hold(facts(part), UP, SHOP), hold(facts(moved(part)), TURN @ UP, SHOP)
    assert straight.faces == askew.faces
    assert straight.width_mm == pytest.approx(askew.width_mm)


def test_the_uncut_blank_is_held_by_itself() -> None:
    """In the first setup the part's own flats do not matter; a blank too wide for the vise is clamped."""
    wedge = prism([(0.0, 0.0), (40.0, 0.0), (20.0, 30.0)], 5.0)
    part = facts(wedge)
    blank = blank_for(wedge, frame_of(wedge), SHOP, example().material)
    assert hold(part, np.array([1.0, 0.0, 0.0]), SHOP).by == "fixture"
    assert hold(part, np.array([1.0, 0.0, 0.0]), SHOP, blank).by == "vise"
    narrow = with_shop(vise_opening_mm=20.0).shop
    assert hold(part, np.array([1.0, 0.0, 0.0]), narrow, blank).by == "fixture"


def test_the_hold_says_how_high_and_how_parallel() -> None:
    """A block of 60 x 40 x 20 mm: two flats 40 mm apart over 20 mm of height, parallel to rounding."""
    held = hold(facts(block((60.0, 40.0, 20.0))), UP, SHOP)
    assert held.height_mm == pytest.approx(20.0)
    assert held.off_parallel_deg == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("part", "words"),
    [
        pytest.param(
            block((200.0, 160.1, 20.0)), "160.1 mm apart, the vise opens 160 mm: clamps on the table", id="wide"
        ),
        pytest.param(block((60.0, 40.0, 5.9)), "leave 5.9 mm to grip, the jaws need 6 mm: soft jaws", id="low"),
    ],
)
def test_where_no_vise_holds_it_is_said_what_does(part: Part, words: str) -> None:
    """Too wide: clamps. Too low: soft jaws."""
    held = hold(facts(part), UP, SHOP)
    assert held.by == "fixture"
    assert words in held.why


@pytest.mark.parametrize(
    ("lean", "words"),
    [
        (2.0, "no two outer flats are parallel, the nearest are 2° off"),
        (9.0, "no two outer flats are parallel, the nearest are 9° off"),
        (15.0, "no two outer flats look away from one another"),
    ],
)
def test_flats_that_are_not_parallel_are_named_with_their_angle(lean: float, words: str) -> None:
    """A bar of four sides, bottom and top off by an angle, the other two by 30 degrees: beyond 10 none is near."""
    slope, side = math.tan(math.radians(lean)), math.tan(math.radians(30))
    height = (60.0 - 100.0 * slope) / (1.0 + slope * side)
    part = prism([(0.0, 0.0), (100.0, 0.0), (100.0 + height * side, height), (0.0, 60.0)], 200.0)
    held = hold(facts(part), np.array([1.0, 0.0, 0.0]), SHOP)
    assert held.by == "fixture"
    assert words in held.why
