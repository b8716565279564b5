"""What a finished plan says besides: access, undercuts, room on machines, stick-outs, how it is indexed, its box."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analyzers import analyse
from analyzers.features.pocket import Pocket
from analyzers.model.arrays import Vec
from analyzers.model.report import Body
from analyzers.plan import make_plan
from analyzers.report.as_json import to_json
from analyzers.settings import Settings
from tests.plan._builders import block, example, facts, hole

FIVE_AXES = "five"


@pytest.fixture(scope="module")
def settings() -> Settings:
    """Return the example shop."""
    return example()


def body_of(parts: Path, stem: str, settings: Settings) -> Body:
    """Return the one body of an example part."""
    (body,) = analyse(parts / f"{stem}.step", settings).bodies
    return body


def test_the_lips_of_a_t_slot_and_the_flanks_of_a_dovetail_are_undercuts(parts: Path, settings: Settings) -> None:
    """Of the slide base: the faces of its undercut slots that look down, or lean over; nothing else."""
    body = body_of(parts, "slide_base", settings)
    part = body.facts.part
    undercut = [each for each in body.facts.features if getattr(each, "undercut_width_mm", None)]
    down = {face for each in undercut for face in each.faces if part.face_normal[face, 2] < -0.1}
    assert down
    assert down <= set(body.plan.undercut_faces) <= {face for each in undercut for face in each.faces}


@pytest.mark.parametrize("stem", ["press_bed", "rounded_housing", "wedge_block", "lid_plate"])
def test_a_part_that_straight_cutters_make_has_no_undercuts(parts: Path, settings: Settings, stem: str) -> None:
    """Pockets, slopes, holes."""
    assert body_of(parts, stem, settings).plan.undercut_faces == ()


def test_each_face_has_its_directions(parts: Path, settings: Settings) -> None:
    """The floor of the pocket is cut from above only, its walls too; the part's own sides from where they look."""
    body = body_of(parts, "press_bed", settings)
    part = body.facts.part
    pocket = next(each for each in body.facts.features if each.kind == "closed_pocket")
    floor = next(face for face in pocket.faces if part.face_normal[face, 2] > 0.9)
    ways = {each.direction for each in body.plan.access if floor in each.faces}
    assert ways == {(0.0, 0.0, 1.0)}
    side = next(face for face in range(part.n_faces) if part.face_point_mm[face, 0] < 1e-9)
    seen = {each.direction for each in body.plan.access if side in each.faces}
    assert (-1.0, 0.0, 0.0) in seen
    assert (1.0, 0.0, 0.0) not in seen


def test_room_is_travel_less_blank_largest_along_largest(parts: Path, settings: Settings) -> None:
    """Each machine of the kind; the floor plate fits none of them."""
    plan = body_of(parts, "press_bed", settings).plan
    travels = {each.id: each.travel_mm for each in settings.shop.machines}
    for room in plan.rooms:
        spare = np.sort(travels[room.machine]) - np.sort(plan.stock_mm)
        assert sorted(room.spare_mm) == pytest.approx(sorted(spare))
        assert room.takes == (min(room.spare_mm) >= 0.0)
    plate = body_of(parts, "floor_plate", settings).plan
    assert plate.machine is None
    assert all(not each.takes and min(each.spare_mm) < 0.0 for each in plate.rooms)


def test_end_mills_have_a_stick_out_and_a_holder(parts: Path, settings: Settings) -> None:
    """At least the depth of what they cut, at most their reach."""
    body = body_of(parts, "filter_tray", settings)
    cutters = {each.id: each for each in settings.shop.cutters}
    for use in body.plan.tools:
        if cutters[use.cutter].kind not in ("flat", "bull", "ball"):
            continue
        depths = [
            each.depth_mm
            for name in use.features
            if isinstance(each := body.facts.feature(name), Pocket) and each.depth_mm is not None
        ]
        if depths:
            assert use.holder in {each.id for each in settings.shop.holders}
            assert use.stick_out_mm is not None
            assert max(depths) - 1e-6 <= use.stick_out_mm <= cutters[use.cutter].reach_mm * 1.0001


def test_a_pocket_in_a_pockets_floor_is_cut_from_over_the_outer_rim(parts: Path, settings: Settings) -> None:
    """The tray's inner pocket lies 12 mm below its outer rim, which is nearer than the holder is wide."""
    body = body_of(parts, "filter_tray", settings)
    pockets = [each for each in body.facts.features if isinstance(each, Pocket)]
    inner = next(each for each in pockets if each.length_mm == pytest.approx(36.0))
    assert inner.depth_mm is not None
    stick_outs = [each.stick_out_mm for each in body.plan.tools if inner.id in each.features and each.stick_out_mm]
    assert min(stick_outs) >= inner.depth_mm + 12.0 - 0.5


@pytest.mark.parametrize(
    ("axes", "indexed", "word"),
    [pytest.param(3, False, ["none", "tilted"], id="three"), pytest.param(5, True, ["3+1"], id="five")],
)
def test_how_a_slope_is_reached_is_named(
    parts: Path, settings: Settings, axes: int, indexed: bool, word: list[str]
) -> None:
    """The hole square to the slope: a sine vise on three axes; on five one clamping, turned about one axis."""
    mill = replace(next(each for each in settings.shop.machines if each.kind == "mill"), axes=axes, indexed=indexed)
    shop = replace(settings, shop=replace(settings.shop, machines=(mill,)))
    plan = body_of(parts, "wedge_block", shop).plan
    assert [each.indexing for each in plan.setups] == word


@pytest.mark.parametrize(("size", "ratio"), [((60.0, 40.0, 20.0), 0.5), ((60.0, 20.0, 80.0), 4.0)])
def test_how_tall_the_part_stands_in_the_vise(settings: Settings, size: Vec, ratio: float) -> None:
    """Height over the width between the jaws; a hole from above decides which way is up."""
    plan = make_plan(facts(block(size), [hole(depth_mm=5.0, through=False, bottom="flat")]), settings)
    assert plan.setups[0].direction == (0.0, 0.0, 1.0)
    assert plan.setups[0].tall_ratio == pytest.approx(ratio)


def test_an_askew_part_has_a_box_of_its_own_lengths(parts: Path, settings: Settings) -> None:
    """The clamp is a block of 80 x 50 x 20 mm that lies at an angle; its upright box is far larger."""
    body = body_of(parts, "askew_clamp", settings)
    assert body.plan.box_mm == pytest.approx((80.0, 50.0, 20.0), abs=1e-6)
    assert math.prod(body.facts.part.size_mm) > 3 * 80 * 50 * 20


def test_the_document_carries_all_of_it(parts: Path, settings: Settings) -> None:
    """Under the names of the model, with units."""
    report = analyse(parts / "press_bed.step", settings)
    (body,) = to_json(report)["bodies"]
    assert body["setups"][0]["grip_height_mm"] == pytest.approx(13.0)  # above the slot
    assert body["setups"][0]["grip_off_parallel_deg"] == 0.0
    assert {"stick_out_mm", "holder"} <= set(body["tools"][0])
    assert body["plan"]["uncut"][0].keys() >= {"feature", "cutter", "area_mm2", "volume_mm3", "faces", "resolution_mm"}
    assert body["plan"]["entries"][0].keys() >= {"enters_mm", "finishes_mm", "resolution_mm"}
    assert len(body["plan"]["access"]) >= 6
    assert body["plan"]["box_mm"] == [120.0, 80.0, 30.0]
