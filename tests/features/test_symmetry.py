"""The skin of a body as pieces, the moves that carry it onto itself, and what they leave over."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from analyzers.features._skin import Move, Skin, skin_of
from analyzers.features._symmetry import equal_pieces, half_turns, mirror_at, mirrorings, nearly_kept, turn_about
from analyzers.features._view import View
from analyzers.model.arrays import Floats, unit
from fixtures.make.vocabulary.recesses import step
from fixtures.make.vocabulary.stock import block
from tests.features._bench import ASKEW, POSES, Build, box, joined, shape_of, turned_axis
from tests.features._patterned import (
    CORNERS,
    PLATE,
    drilled_plate,
    flange,
    long_plate,
    on_circle,
    two_pockets,
    upside_down_t,
    with_bosses,
    without,
    z_bracket,
)
from tests.kernel._solids import loaded, moved

WAY = unit(np.array([0.3, -0.5, 0.8]))
POINTS = np.array([[1.0, 2.0, 3.0], [-4.0, 0.5, 7.0], [0.0, -9.0, 2.5]])


def skin(build: Build, pose: str = "askew") -> Skin:
    """Return the skin of a built part in a pose."""
    return skin_of(View(*loaded(moved(shape_of(build), POSES[pose]))))


def moves(of: Skin) -> list[Move]:
    """Return the mirrorings and half turns that most pieces vote for."""
    pairs = equal_pieces(of)
    return [*mirrorings(of, pairs), *half_turns(of, pairs)]


# --- moves ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("order", [2, 3, 4, 7])
def test_a_turn_is_that_of_an_independent_library(order: int) -> None:
    """scipy.spatial.transform.Rotation about the same line."""
    foot = np.array([5.0, -2.0, 1.0])
    turn = Rotation.from_rotvec(WAY * 2.0 * np.pi / order)
    assert turn_about(WAY, foot, order).points(POINTS) == pytest.approx(turn.apply(POINTS - foot) + foot)


def test_a_mirroring_turns_distances_to_its_plane_round() -> None:
    """And leaves places along the plane alone (Householder's reflection)."""
    move = mirror_at(WAY, 1.7)
    image = move.points(POINTS)
    assert image @ WAY - 1.7 == pytest.approx(-(POINTS @ WAY - 1.7))
    along = np.eye(3) - np.outer(WAY, WAY)
    assert image @ along == pytest.approx(POINTS @ along)


@pytest.mark.parametrize("move", [mirror_at(WAY, 1.7), turn_about(WAY, np.array([5.0, -2.0, 1.0]), 5)])
def test_the_way_back_leads_back(move: Move) -> None:
    """Points and directions."""
    assert move.back().points(move.points(POINTS)) == pytest.approx(POINTS)
    assert move.back().vectors(move.vectors(POINTS)) == pytest.approx(POINTS)


@pytest.mark.parametrize("order", [2, 3, 6])
def test_as_often_as_its_order_says_it_comes_round(order: int) -> None:
    """Six sixths of a turn are none."""
    move, image = turn_about(WAY, np.array([1.0, 1.0, 0.0]), order), POINTS
    for _ in range(order):
        image = move.points(image)
    assert image == pytest.approx(POINTS)


# --- skin -----------------------------------------------------------------------------------------------------------


def test_faces_that_an_exporter_split_are_one_piece() -> None:
    """Two blocks joined end to end leave seams on four sides: six pieces all the same."""
    split = skin(lambda: joined(box((0.0, 0.0, 0.0), (40.0, 30.0, 20.0)), box((40.0, 0.0, 0.0), (70.0, 30.0, 20.0))))
    whole = skin(lambda: block((70.0, 30.0, 20.0)))
    assert len(split.piece) > len(whole.piece) == 6
    assert sorted(split.area_mm2.tolist()) == pytest.approx(sorted(whole.area_mm2.tolist()))


def test_equal_pieces_have_equal_forms_and_others_have_not() -> None:
    """A block has three pairs of sides; the bores of four equal holes are of one form."""
    assert len(set(skin(lambda: block(PLATE)).form.tolist())) == 3
    plate = skin(lambda: drilled_plate(CORNERS, h1=5.5))
    bores = plate.form[np.isfinite(plate.sizes[:, 0])]
    assert sorted(np.unique(bores, return_counts=True)[1].tolist()) == [1, 3]


def test_a_whole_body_has_a_copy_of_every_piece() -> None:
    """Under the mirroring in its middle, and under no other plane."""
    plate = skin(lambda: drilled_plate(CORNERS))
    pieces = np.arange(len(plate.first))
    middle, off = (mirror_at(_posed((1.0, 0.0, 0.0)), place) for place in (0.0, 3.0))
    assert (plate.copies([middle], pieces) >= 0).all()
    assert (plate.copies([off], pieces) < 0).sum() > len(pieces) / 2


def looks_along(way: Floats, direction: tuple[float, float, float], pose: str) -> bool:
    """Return whether an axis is the given direction of the shape as built."""
    return turned_axis(tuple(way.tolist()), POSES[pose], direction)


def _posed(way: tuple[float, float, float]) -> Floats:
    """Return a direction of the shape as built, in the askew pose."""
    matrix = np.array([[ASKEW.Value(row, column) for column in (1, 2, 3)] for row in (1, 2, 3)])
    return np.asarray(matrix @ np.array(way))


# --- what the votes find --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("pose", POSES)
def test_a_drilled_block_is_kept_by_three_mirrorings_and_the_half_turn_about_its_holes(pose: str) -> None:
    """Of the group of a brick (mmm in crystallography); holes do not vote for half turns across them."""
    brick = skin(lambda: drilled_plate(CORNERS), pose)
    kept = [near for near in nearly_kept(brick, moves(brick)) if not len(near.lost)]
    assert sum(near.move.mirrors for near in kept) == 3
    (turn,) = [near.move for near in kept if not near.move.mirrors]
    assert looks_along(turn.way, (0.0, 0.0, 1.0), pose)
    assert all(near.share == 1.0 for near in kept)


@pytest.mark.parametrize(
    ("build", "planes", "turns"),
    [
        pytest.param(lambda: upside_down_t(8.0, 8.0), 2, 1, id="upside-down-t"),
        pytest.param(lambda: z_bracket(5.0, 5.0), 1, 1, id="z-section"),
        pytest.param(lambda: long_plate([], []), 2, 1, id="trapezium"),
        pytest.param(lambda: drilled_plate([(20.0, 30.0)]), 1, 0, id="plate-with-one-hole"),
    ],
)
def test_only_the_symmetries_there_are_are_kept_whole(build: Build, planes: int, turns: int) -> None:
    """Counted by hand on each section."""
    body = skin(build)
    kept = [near for near in nearly_kept(body, moves(body)) if near.share == 1.0]
    assert (sum(near.move.mirrors for near in kept), sum(not near.move.mirrors for near in kept)) == (planes, turns)


@pytest.mark.parametrize("pose", POSES)
def test_what_a_move_loses_is_what_was_left_out(pose: str) -> None:
    """A T with a fillet on one side: under the mirroring across it one piece is lost, the fillet."""
    body = skin(lambda: upside_down_t(8.0, 0.0), pose)
    lost = [near.lost for near in nearly_kept(body, moves(body)) if len(near.lost)]
    assert lost
    for pieces in lost:
        assert body.sizes[pieces, 0].tolist() == pytest.approx([8.0] * len(pieces))


def halved() -> object:
    """Return a block with a third of its top milled away on one side."""
    work = block((90.0, 60.0, 40.0))
    step(work, (0.0, 30.0, 40.0), 30.0, 60.0, 20.0, side=(-1.0, 0.0, 0.0), floor_radius=0.0)
    return work


@pytest.mark.parametrize(
    "build",
    [
        pytest.param(lambda: with_bosses([(20.0, 20.0), (90.0, 33.0), (44.0, 61.0)], [5.0, 7.0, 3.0]), id="bosses"),
        pytest.param(lambda: two_pockets(second=False, holes=False), id="one-pocket"),
        pytest.param(halved, id="a-step-on-one-side"),
    ],
)
def test_a_body_of_another_outline_is_not_kept_whole(build: Build) -> None:
    """A mirroring across what is one-sided loses pieces."""
    body = skin(build)
    across = [near for near in nearly_kept(body, moves(body)) if abs(near.move.way @ _posed((1.0, 0.0, 0.0))) > 0.9]
    assert all(len(near.lost) for near in across)


def test_a_turn_by_one_slot_keeps_a_whole_flange_and_loses_one_hole_of_another() -> None:
    """Six holes; with one left out, the place it would go to is lost once in each sense."""
    for gone in ((), (2,)):
        body = skin(lambda gone=gone: flange(without(on_circle(6, 38.0), *gone)))  # type: ignore[misc] # bound at once
        centre = body.view.part.box_mm.mean(axis=0)
        move = turn_about(_posed((0.0, 0.0, 1.0)), _flange_axis() - centre, 6)
        (near,) = nearly_kept(body, [move])
        assert len(near.lost) == len(gone)


def _flange_axis() -> Floats:
    """Return a point of the flange's axis in the askew pose."""
    return np.array([ASKEW.Value(row, 4) for row in (1, 2, 3)])
