"""What the cutters of a plan leave, on parts whose remains are formulas."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from analyzers import analyse
from analyzers.features import recognise
from analyzers.features.pocket import ClosedPocket
from analyzers.features.region import Region
from analyzers.measures import take_all
from analyzers.model.plan import CutterUse, Uncut
from analyzers.model.report import Body, Facts
from analyzers.plan import make_plan
from analyzers.plan.layout import layout_for
from analyzers.plan.uncut import uncut
from analyzers.settings import Cutter, Settings
from tests.measures._shapes import box, cut, faces_within, featured, fuse, loaded, pocket, rod
from tests.plan._builders import example


def body_of(parts: Path, stem: str) -> Body:
    """Return the one body of an example part."""
    (body,) = analyse(parts / f"{stem}.step", example()).bodies
    return body


def left_by(facts: Facts, settings: Settings, *names: str, feature: str = "F1") -> tuple[Uncut, ...]:
    """Return what some cutters of the shelf leave of one feature."""
    layout = layout_for(facts, settings)
    views = {
        each.id: view
        for approach in layout.approaches
        if (view := layout.view(approach.direction))
        for each in approach.features
    }
    uses = tuple(CutterUse(cutter=name, features=(feature,), setup="S1", minutes=1.0) for name in names)
    return uncut(facts, views, uses, settings.shop)


def rounded_pocket(radius: float) -> Facts:
    """Return a block with one pocket, 60 x 40 mm, 12 mm deep, with round corners, and what is recognised of it."""
    low, high = (10 + radius, 10 + radius), (70 - radius, 50 - radius)
    tool = fuse(
        box((10, low[1], 8), (70, high[1], 21)),
        box((low[0], 10, 8), (high[0], 50, 21)),
        *(rod((x, y, 8), radius, 13) for x in (low[0], high[0]) for y in (low[1], high[1])),
    )
    facts, _ = loaded(cut(box((0, 0, 0), (80, 60, 20)), tool))
    hollow = pocket(facts.part, (9, 9, 7), (71, 51, 19.9), corner_radius_mm=radius, depth_mm=12.0)
    return featured(facts, hollow)


@pytest.mark.parametrize(("radius", "cutter"), [(4.0, "flat 16"), (4.0, "flat 20"), (6.0, "flat 20")])
def test_a_large_cutter_leaves_the_four_corners(radius: float, cutter: str) -> None:
    """Of four right-angled corners (4 - pi)(r^2 - R^2) stays, over the whole depth; at the corners' faces."""
    facts, settings = rounded_pocket(radius), example()
    diameter = float(cutter.split()[1])
    by_cutter, together = left_by(facts, settings, cutter)
    plan = (4 - math.pi) * (diameter**2 / 4 - radius**2)
    border = 4 * (math.pi / 2 * (diameter / 2 + radius) + diameter - 2 * radius)
    assert by_cutter.area_mm2 == pytest.approx(plan, abs=border * by_cutter.resolution_mm / 8)
    assert by_cutter.volume_mm3 == pytest.approx(12.0 * by_cutter.area_mm2)
    corners = set(faces_within(facts.part, (9, 9, 7), (71, 51, 19.9))) & {
        face for face in range(facts.part.n_faces) if facts.part.face_concave[face]
    }
    assert len(corners) == 4
    assert corners <= set(by_cutter.faces)
    assert (together.cutter, together.area_mm2) == (None, by_cutter.area_mm2)


def test_a_second_cutter_takes_what_the_first_left() -> None:
    """The small one leaves nothing, so nothing stays when both have been over it."""
    left = left_by(rounded_pocket(4.0), example(), "flat 20", "flat 6")
    assert [each.cutter for each in left] == ["flat 20"]


def test_drills_are_not_rolled() -> None:
    """Only end mills."""
    assert left_by(rounded_pocket(4.0), example(), "drill 8") == ()


def test_a_hollow_tighter_than_the_ball_keeps_material_at_its_bottom() -> None:
    """A round groove of R 6 in a plate, as a free surface: a ball of R 3 follows it, one of R 10 rests on its rims.

    What stays is the segment of the groove less that of the ball: areas of circular segments over the chord of 12 mm.
    """
    facts, _ = loaded(cut(box((0, 0, 0), (60, 40, 20)), rod((30, -1, 20), 6.0, 42, (0, 1, 0))))
    face = int(next(i for i in range(facts.part.n_faces) if facts.part.face_concave[i]))
    region = Region(
        faces=(face,), direction=(0, 0, 1), position_mm=(30, 20, 14), area_mm2=1.0, min_concave_radius_mm=6.0
    )
    facts, settings = featured(facts, region), example()
    ten = Cutter(
        id="ball 20", kind="ball", diameter_mm=20.0, flute_length_mm=30.0, reach_mm=60.0, corner_radius_mm=10.0
    )
    settings = replace(settings, shop=replace(settings.shop, cutters=(*settings.shop.cutters, ten)))
    small = left_by(facts, settings, "ball 6")
    assert small == ()
    large = left_by(facts, settings, "ball 20")[0]
    half = math.asin(6 / 10)
    segment = 100 * (half - math.sin(half) * math.cos(half))
    stays = (math.pi * 36 / 2 - segment) * 40
    assert large.volume_mm3 == pytest.approx(stays, rel=0.25)
    assert large.faces == (face,)


@pytest.mark.parametrize("stem", ["press_bed", "filter_tray", "mould_half", "thin_tray", "slide_base", "link_bar"])
def test_a_part_that_can_be_made_is_left_with_nothing(parts: Path, stem: str) -> None:
    """Where no feature is unmade, all end mills together leave nothing in its cavities."""
    body = body_of(parts, stem)
    unmade = {each.feature for each in body.plan.unmade}
    cavities = {each.id for each in body.facts.features if each.kind in ("closed_pocket", "open_pocket", "slot")}
    stays = {each.feature for each in body.plan.uncut if each.cutter is None and each.feature in cavities}
    assert stays <= unmade


def test_the_clearing_cutter_of_the_press_bed_leaves_its_corners(parts: Path) -> None:
    """The pocket with R 6 is cleared by a wider cutter: what that leaves is said, and the next one takes it."""
    body = body_of(parts, "press_bed")
    pockets = [each for each in body.facts.features if each.kind == "closed_pocket"]
    left = [each for each in body.plan.uncut if each.feature == pockets[0].id]
    used = {each.cutter for each in body.plan.tools if pockets[0].id in each.features}
    assert left
    assert {each.cutter for each in left} < used


def test_a_pocket_whose_corners_are_drilled_away_is_finished_by_a_cutter_that_comes_up_to_them() -> None:
    """60 x 40 mm with a hole of 4 mm in each corner: the recognised pocket knows no corner radius, the map does.

    A cutter of 20 mm leaves material before each hole; with a smaller one nothing is left.
    """
    drills = [rod((x, y, -1), 2.0, 22) for x in (10, 70) for y in (10, 50)]
    solid = cut(cut(box((0, 0, 0), (80, 60, 20)), box((10, 10, 8), (70, 50, 21))), *drills)
    facts, geometry = loaded(solid)
    facts, _ = take_all(recognise(facts.part, geometry), geometry)
    pockets = [each for each in facts.features if isinstance(each, ClosedPocket)]
    assert [each.corner_radius_mm for each in pockets] == [None]
    plan = make_plan(facts, example())
    used = {each.cutter for each in plan.tools if pockets[0].id in each.features}
    left = {each.cutter for each in plan.uncut if each.feature == pockets[0].id}
    assert "flat 20" in used & left
    assert None not in left
    assert pockets[0].id not in {each.feature for each in plan.unmade}
