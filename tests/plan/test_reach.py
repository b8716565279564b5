"""Which cutters enter the cavities of the example parts, from height maps, against the exact radii of the B-rep."""

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analyzers.features import recognise
from analyzers.features.boss import Boss
from analyzers.features.pocket import Pocket
from analyzers.features.slot import Slot
from analyzers.kernel.arrays import faces_of, read_part
from analyzers.kernel.exact import ExactGeometry
from analyzers.kernel.mesh import triangulate
from analyzers.kernel.step_file import load
from analyzers.measures import take_all
from analyzers.model.part import Part
from analyzers.pipeline import analyse
from analyzers.plan.bench import Bench
from analyzers.plan.heightmap import height_map
from analyzers.plan.reach import Around, around_boss, around_cavity, levels, view_from
from analyzers.plan.rolling import entering_mm, finishing_mm, resolution_mm
from analyzers.settings import Cutter, Holder
from tests.measures._shapes import box, cut, faces_within, featured, fuse, hole, loaded, pocket, rod
from tests.plan._builders import example

PARTS = Path(__file__).resolve().parents[2] / "fixtures" / "parts"
CELLS_PER_RADIUS = 60
CHORD_MM = 0.002
MOST_MM = 40.0


def cavities(path: Path) -> Iterator[tuple[Part, Pocket | Slot]]:
    """Yield the pockets and slots of a file with round upright corners, each with its part finely triangulated."""
    for solid in load(path).solids:
        part = read_part(solid.shape, solid.name, 1)
        geometry = ExactGeometry(solid.shape, part)
        facts, _ = take_all(recognise(part, geometry), geometry)
        found = [each for each in facts.features if isinstance(each, Pocket | Slot) and each.corner_radius_mm]
        if found:
            fine = replace(part, mesh=triangulate(solid.shape, faces_of(solid.shape), CHORD_MM, part.box_mm))
            for each in found:
                yield fine, each


def with_corners() -> list[str]:
    """Return the example parts whose truth has a pocket or slot with a corner radius."""
    stems = []
    for path in sorted(PARTS.glob("*.truth.json")):
        bodies = json.loads(path.read_text(encoding="utf-8"))["bodies"]
        if any(each.get("corner_radius_mm") for body in bodies for each in body["features"]):
            stems.append(path.name.removesuffix(".truth.json"))
    return stems


@pytest.mark.parametrize("stem", with_corners())
def test_the_largest_cutter_by_height_map_is_the_corners_of_the_b_rep(stem: str) -> None:
    """The largest flat end mill that leaves nothing is twice the exact corner radius, or the passage by an island.

    On a grid of a sixtieth of the radius, over a fine triangulation: within eight cells and the chords, an eighth of
    the radius. The search knows neither number.
    """
    compared = 0
    for part, cavity in cavities(PARTS / f"{stem}.step"):
        assert cavity.corner_radius_mm is not None
        cell = cavity.corner_radius_mm / CELLS_PER_RADIUS
        chart = height_map(part, np.array(cavity.direction), np.eye(3), cell, margin_mm=5.0)
        floors = list(levels(part, chart, cavity, MOST_MM))
        finishes = min(finishing_mm(each.room_mm, each.wanted, cell, MOST_MM) for each in floors)
        enters = max(entering_mm(each.room_mm, each.wanted, MOST_MM) for each in floors)
        passage = cavity.passage_mm if isinstance(cavity, Pocket) and cavity.passage_mm else np.inf
        exact = min(2.0 * cavity.corner_radius_mm, passage)
        assert finishes == pytest.approx(exact, abs=resolution_mm(cell, CHORD_MM)), cavity.callout()
        assert enters >= finishes
        compared += 1
    assert compared


@pytest.mark.parametrize("stem", ["press_bed", "filter_tray", "mould_half", "askew_clamp"])
def test_the_plan_says_so_at_its_own_resolution(parts: Path, stem: str) -> None:
    """Entries of the plan: the corners' own diameter where the map agrees, the passage within the stated resolution."""
    (body,) = analyse(parts / f"{stem}.step", example()).bodies
    pockets = {each.id: each for each in body.facts.features if isinstance(each, Pocket)}
    seen = [each for each in body.plan.entries if each.feature in pockets]
    assert len(seen) == len(pockets)
    for entry in seen:
        pocket = pockets[entry.feature]
        assert pocket.corner_radius_mm is not None
        assert pocket.passage_mm is not None
        exact = min(2.0 * pocket.corner_radius_mm, pocket.passage_mm)
        assert entry.finishes_mm == pytest.approx(exact, abs=entry.resolution_mm)
        assert entry.finishes_mm <= entry.enters_mm
        if exact == 2.0 * pocket.corner_radius_mm:
            assert entry.finishes_mm == pytest.approx(exact, abs=1e-3)


def test_an_island_leaves_only_its_passage() -> None:
    """Between the pins and the wall of the tray a cutter of 11 mm passes, though the corners would take 16."""
    part, tray = max(cavities(PARTS / "filter_tray.step"), key=lambda each: each[1].length_mm or 0.0)
    assert isinstance(tray, Pocket)
    assert tray.islands == 2
    assert tray.corner_radius_mm == pytest.approx(8.0)
    assert tray.passage_mm == pytest.approx(11.0)
    chart = height_map(part, np.array(tray.direction), np.eye(3), 0.1, margin_mm=10.0)
    known = around_cavity(part, chart, tray, 20.0, 20.0)
    assert known.finishes_mm == pytest.approx(11.0, abs=known.resolution_mm)
    assert known.enters_mm == 20.0


def beside_a_tower(gap: float, height: float) -> tuple[Part, Around]:
    """Return a plate with a pocket 8 mm deep whose edge lies `gap` beside a tower, and what is seen around it."""
    shape = fuse(box((0, 0, 0), (80, 60, 20)), box((0, 0, 20), (10, 60, 20 + height)))
    facts, _ = loaded(cut(shape, box((10 + gap, 15, 12), (60, 45, 21))))
    part = facts.part
    hollow = pocket(part, (9 + gap, 14, 11), (61, 46, 19.9), depth_mm=8.0)
    chart = height_map(part, np.array([0.0, 0.0, 1.0]), np.eye(3), 0.25, margin_mm=10.0)
    return part, around_cavity(part, chart, replace(hollow, id="F1"), 20.0, 25.0)


@pytest.mark.parametrize(("gap", "touched"), [(2.0, True), (9.0, True), (11.0, False)])
def test_a_tower_beside_a_pocket_makes_the_cutter_stick_out_further(gap: float, touched: bool) -> None:
    """Holder of 26 mm over a cutter of 6: its edge passes 10 mm beyond the pocket's wall.

    A tower of 30 mm within that asks for 8 + 30 mm of stick-out, one beyond it for the 8 mm of the pocket. Worked by
    hand: (26 - 6) / 2 = 10.
    """
    part, known = beside_a_tower(gap, 30.0)
    found = example()
    holder = Holder(id="h", diameter_mm=26.0, length_mm=60.0)
    shop = replace(found.shop, holders=(holder,))
    bench = Bench.of(part, replace(found, shop=shop), shop.machines[0], np.eye(3), around={"F1": known})
    cutter = Cutter(id="six", kind="flat", diameter_mm=6.0, flute_length_mm=12.0, reach_mm=30.0, holder="h")
    assert bench.stick_out_mm(cutter, "F1", 8.0) == pytest.approx(38.0 if touched else 8.0)
    assert bench.comes_down(cutter, "F1", 8.0) is not touched
    said = bench.kept_off_words(cutter, "F1", 8.0)
    assert ("reaches 30 mm, and 38 mm are needed" in said) is touched
    assert bench.kept_off_words(cutter, "F1", 31.0) == "", "too short for the depth alone: the holder is not to blame"


def test_nothing_taller_beside_it_asks_for_no_more_than_the_depth() -> None:
    """The rim of the pocket itself does not count."""
    _, known = beside_a_tower(2.0, 1e-3)
    assert known.above(20.0) == 0.0


def test_a_boss_lower_than_what_stands_round_it() -> None:
    """A boss of 6 mm in a pocket 15 mm deep: the walls rise 9 mm above it, 8 mm away."""
    shape = fuse(cut(box((0, 0, 0), (60, 60, 20)), box((10, 10, 5), (50, 50, 21))), box((20, 20, 5), (40, 40, 11)))
    part = loaded(shape)[0].part
    top = faces_within(part, (19, 19, 10.9), (41, 41, 11.1)) + faces_within(part, (19, 19, 7), (41, 41, 9))
    boss = Boss(
        faces=top, direction=(0, 0, 1), position_mm=(30, 30, 5), height_mm=6, length_mm=20, width_mm=20, id="F1"
    )
    chart = height_map(part, np.array([0.0, 0.0, 1.0]), np.eye(3), 0.25, margin_mm=10.0)
    known = around_boss(part, chart, boss, 30.0)
    assert known.above(9.0) == 0.0
    assert known.above(11.0) == pytest.approx(9.0)


@pytest.mark.parametrize(("off", "touched"), [(10.0, True), (16.0, True), (22.0, False)])
def test_a_drill_beside_a_wall_is_held_over_it(off: float, touched: bool) -> None:
    """Holder of 40 mm: its edge is 20 mm off the axis. A wall of 30 mm nearer than that asks for 30 mm more."""
    shape = fuse(box((0, 0, 0), (80, 60, 20)), box((0, 0, 20), (10, 60, 50)))
    facts, _ = loaded(cut(shape, rod((10 + off, 30, -1), 3, 22)))
    drilled = hole(facts.part, (9 + off, 29, 1), (11 + off, 31, 19), diameter_mm=6.0, depth_mm=20.0)
    facts = featured(facts, replace(drilled, position_mm=(10 + off, 30, 20)))
    found = example()
    view = view_from(facts.part, facts.features, np.array([0.0, 0, 1]), np.eye(3), 20.0, 40.0)
    assert view is not None
    bench = Bench.of(facts.part, found, found.shop.machines[0], np.eye(3), around=view.around)
    drill = next(each for each in found.shop.cutters if each.kind == "drill" and each.diameter_mm == 6.0)
    assert bench.holder(drill).diameter_mm == 40.0
    assert bench.stick_out_mm(drill, "F1", 20.0) == pytest.approx(50.0 if touched else 20.0)


@pytest.mark.parametrize("shift", [0.0, 0.11, 0.23, 0.37, 0.41])
@pytest.mark.parametrize(
    ("clear", "above"), [(0.02, 0.0), (0.0, 0.0), (-0.02, 30.0)], ids=["clears", "touches", "hits"]
)
def test_what_a_holder_just_clears_does_not_hang_on_the_cells(shift: float, clear: float, above: float) -> None:
    """A ⌀40 holder on a ⌀6 drill passes 17 mm off the wall, wherever the map's cells lie; touching is no crash."""
    x = 10.0 + shift + 20.0 + clear
    shape = fuse(box((0, 0, 0), (80, 60, 20)), box((0, 0, 20), (10 + shift, 60, 50)))
    facts, _ = loaded(cut(shape, rod((x, 30, -1), 3, 22)))
    drilled = hole(facts.part, (x - 1, 29, 1), (x + 1, 31, 19), diameter_mm=6.0, depth_mm=20.0)
    facts = featured(facts, replace(drilled, position_mm=(x, 30, 20)))
    view = view_from(facts.part, facts.features, np.array([0.0, 0, 1]), np.eye(3), 20.0, 40.0)
    assert view is not None
    assert view.around["F1"].above(17.0) == pytest.approx(above)


def test_where_nothing_stands_higher_no_map_is_drawn() -> None:
    """Holes in the top of a plate: nothing can be in the holder's way."""
    facts, _ = loaded(cut(box((0, 0, 0), (80, 60, 20)), rod((30, 30, -1), 3, 22)))
    facts = featured(facts, hole(facts.part, (29, 29, 1), (31, 31, 19)))
    assert view_from(facts.part, facts.features, np.array([0.0, 0, 1]), np.eye(3), 20.0, 40.0) is None


def test_a_round_slot_has_no_floor_to_roll_a_flat_cutter_over() -> None:
    """A half-round slot of 9 mm: nothing is said of flat cutters; of a slot right through the plate it is."""
    facts, _ = loaded(cut(box((0, 0, 0), (60, 40, 20)), rod((30, -1, 20), 4.5, 42, (0, 1, 0))))
    chart = height_map(facts.part, np.array([0.0, 0, 1]), np.eye(3), 0.25, margin_mm=10.0)
    hollow = pocket(facts.part, (25, -1, 10), (35, 41, 19.9), width_mm=9.0, through=True)
    assert len(hollow.faces) == 1
    assert around_cavity(facts.part, chart, hollow, 20.0, 20.0).enters_mm is None

    facts, _ = loaded(cut(box((0, 0, 0), (60, 40, 20)), box((20, 10, -1), (29, 30, 21))))
    chart = height_map(facts.part, np.array([0.0, 0, 1]), np.eye(3), 0.25, margin_mm=10.0)
    window = pocket(facts.part, (19, 9, 1), (30, 31, 19), width_mm=9.0, through=True)
    assert around_cavity(facts.part, chart, window, 20.0, 20.0).enters_mm == pytest.approx(9.0, abs=0.5)
