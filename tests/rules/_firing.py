"""For each limit of each rule a case that breaks it; `test_at_the_limit` finds out how far, and goes to the limit."""

from dataclasses import replace

from analyzers.features.fillet import Fillet
from analyzers.model.feature import Pattern
from analyzers.model.measure import Measure
from analyzers.model.plan import CutterUse, Unmade
from analyzers.rules._base import Case
from analyzers.settings import Refusal
from tests.rules import _builders as build
from tests.rules import _solids as solids
from tests.rules.test_faceted_mesh import mesh_of
from tests.rules.test_freeform_share import with_share
from tests.rules.test_hole_beyond_drill_reach import UNMADE as TOO_DEEP
from tests.rules.test_no_tap_on_shelf import threaded
from tests.rules.test_nothing_to_clamp import loose
from tests.rules.test_outside_round import rounded
from tests.rules.test_partial_hole import bored
from tests.rules.test_slanted_direction import tilted, with_setup
from tests.rules.test_sliver_faces import strip
from tests.rules.test_thickness_is_stock_size import FROM_15
from tests.rules.test_thickness_is_stock_size import SHOP as PLATE_SHOP
from tests.rules.test_tiny_edges import edges
from tests.rules.test_tolerance_tighter_than_shop import bore, flatness, noted
from tests.rules.test_turned_length_ratio import shaft, turned
from tests.rules.test_undercut_slot import SHOP as SLOT_SHOP
from tests.rules.test_undercut_slot import made_with
from tests.rules.test_unreached_faces import hidden


def _web(thickness: float, faces: tuple[int, int], *diameters: float) -> Case:
    """Return holes on faces 20, 21, ... with a web of that thickness between two faces."""
    holes = [build.hole(diameter, faces=(20 + i,)) for i, diameter in enumerate(diameters)]
    return build.case(*holes, walls=(build.wall(thickness, faces, "web"),))


def _measured(name: str, value: float) -> Case:
    return build.case(measures=(Measure(name=name, value=value, faces=(6, 8)),))


def _setups(count: int) -> Case:
    setups = tuple(build.setup(f"S{i}", (f"F{i}",)) for i in range(1, count + 1))
    return build.case(*[build.hole() for _ in range(count)], plan_=build.plan(setups))


def _cutters(count: int) -> Case:
    tools = tuple(CutterUse(cutter=f"C{i}", features=("F1",), setup="S1", minutes=1.0) for i in range(count))
    return build.case(build.hole(), plan_=build.plan(tools=tools))


def _unmade() -> Case:
    return build.case(build.groove(), plan_=build.plan(unmade=(Unmade(feature="F1", why="no lathe"),)))


def _missing() -> Case:
    circle = Pattern(kind="circular", features=("F1", "F2"), missing=((1.0, 2.0, 3.0),))
    return build.case(build.hole(), build.hole(), patterns=(circle,))


def _refused() -> Case:
    refusal = Refusal(what="feature", name="round_hole", why="no drills")
    return build.case(build.hole(), shop_=build.shop(refuses=(refusal,)))


def _wall(thickness: float, height: float) -> Case:
    return build.case(walls=(replace(build.wall(thickness), height_mm=height),))


def _hole_floor() -> Case:
    return build.case(build.hole(5.0, faces=(20,)), walls=(build.wall(0.6, (20, 5), "floor"),))


def _mixed() -> Case:
    part = solids.pocketed_block(radii=(4.0, 4.0, 6.0, 4.0))
    return build.case(build.pocket(12.0, 4.0, faces=tuple(range(6, 15))), part=part)


def _varying() -> Case:
    varying: Fillet = build.fillet(3.0, variable=True)
    return build.case(varying)


def _odd() -> Case:
    return build.case(*[build.hole(6.0) for _ in range(4)], build.hole(6.1))


def _engraved() -> Case:
    return build.case(*[build.slot(0.4, 0.2, length_mm=length) for length in (3.0, 4.0, 5.0, 6.0, 7.0, 8.0)])


def _chamfered() -> Case:
    chamfer = replace(build.end_mill(10.0, 40.0), id="CH", kind="chamfer", point_angle_deg=90.0)
    return build.case(build.chamfer(2.0, 40.0), shop_=build.shop(cutters=(*build.CUTTERS, chamfer)))


def _in_inches() -> Case:
    part = solids.block(size=(4.0, 2.0, 1.0))
    return build.case(*[build.hole(each, 0.5) for each in (0.201, 0.25, 0.3125)], part=part)


def _shaft(length: float) -> Case:
    return build.case(build.outer_round(10.0, length), part=shaft(length), made_by=turned())


FIRING: dict[tuple[str, str], Case] = {
    ("blind_tap_depth", "engaged"): build.case(build.hole(5.0, 8.0)),
    ("chamfer_angle", "off"): _chamfered(),
    ("chamfer_angle", "edge"): _chamfered(),
    ("corner_radius_at_cutter", "rolls"): build.case(build.pocket(12.0, 3.0)),
    ("corner_radius_below_cutters", "thinnest"): build.case(build.pocket(3.0, 0.5)),
    ("countersink_angle", "off"): build.case(build.countersunk(angle=78.0)),
    ("deep_narrow_slot", "comfortable"): build.case(build.slot(6.0, 19.0)),
    ("deep_narrow_slot", "hard"): build.case(
        build.slot(9.0, 37.0), shop_=build.shop(cutters=(build.end_mill(8.0, 40.0),))
    ),
    ("deep_narrow_slot", "reach"): build.case(build.slot(6.0, 30.0)),
    ("deep_narrow_slot", "thinnest"): build.case(build.slot(1.5, 3.0)),
    ("engraved_text", "strokes"): _engraved(),
    ("engraved_text", "shallow"): _engraved(),
    ("engraved_text", "narrow"): _engraved(),
    ("exceeds_travels", "travel"): build.case(plan_=build.plan(stock=(600.0, 44.0, 24.0))),
    ("faceted_mesh", "share"): build.case(part=mesh_of(300, 100)),
    ("faceted_mesh", "triangles"): build.case(part=mesh_of(300, 100)),
    ("fillet_below_cutters", "least"): build.case(build.fillet(0.5)),
    ("flat_bottomed_hole", "drilled"): build.case(build.hole(5.0, 12.0, bottom="flat", point_angle_deg=None)),
    ("floor_radius_at_wall_radius", "floor_to_wall"): build.case(build.pocket(12.0, 6.0, floor_radius_mm=6.0)),
    ("floor_radius_not_on_shelf", "off"): build.case(build.pocket(12.0, 6.0, floor_radius_mm=1.4)),
    ("freeform_radius_below_ball", "ball"): build.case(build.region(1.0)),
    ("freeform_share", "some"): with_share(0.2),
    ("freeform_share", "most"): with_share(0.5),
    ("groove_proportions", "slender"): build.case(build.groove(1.0, 12.0)),
    ("hole_beyond_drill_reach", "reach"): build.case(build.hole(5.0, 120.0)),
    ("hole_beyond_drill_reach", "unmade"): build.case(build.hole(5.0, 120.0), plan_=TOO_DEEP),
    ("hole_depth_ratio", "peck"): build.case(build.hole(5.0, 41.0)),
    ("hole_depth_ratio", "deep"): build.case(build.hole(5.0, 51.0)),
    ("hole_depth_ratio", "special"): build.case(build.hole(3.0, 100.0)),
    ("hole_entry_inclined", "tilt"): build.case(build.hole(5.0, 30.0, entry="inclined", entry_angle_deg=30.0)),
    ("hole_entry_inclined", "curved"): build.case(build.hole(5.0, 30.0, entry="curved")),
    ("hole_into_void", "inside"): build.case(build.hole(bottom="into_void", point_angle_deg=None)),
    ("hole_near_edge", "material"): _web(0.6, (20, 1), 5.0),
    ("hole_near_edge", "size"): _web(2.0, (20, 1), 5.0),
    ("holes_too_close", "material"): _web(0.6, (20, 21), 5.0, 5.0),
    ("holes_too_close", "size"): _web(2.0, (20, 21), 5.0, 5.0),
    ("invalid_solid", "invalid"): build.case(part=solids.block(valid=False)),
    ("many_stepped_hole", "lengths"): build.case(build.stepped(12.0, 10.0, 8.0, 6.0)),
    ("missing_twin", "missing"): _missing(),
    ("mixed_corner_radii", "radii"): _mixed(),
    ("mostly_chips", "chips"): build.case(plan_=build.plan(stock=(600.0, 44.0, 240.0))),
    ("narrow_gap", "thinnest"): _measured("min_gap_mm", 1.5),
    ("near_miss_hole_size", "off"): build.case(build.hole(5.05, 14.0)),
    ("no_drill_on_shelf", "off"): build.case(build.hole(4.2, 14.0)),
    ("no_tap_on_shelf", "short"): threaded("M8", 38.5),
    ("nonstandard_hole_size", "off"): build.case(build.hole(11.43, 30.0)),
    ("nothing_to_clamp", "loose"): build.case(plan_=build.plan((build.setup("S1"), loose("S2")))),
    ("odd_hole_in_family", "apart"): _odd(),
    ("odd_hole_in_family", "family"): _odd(),
    ("open_shell", "free_edges"): build.case(
        part=solids.part_of([solids.plane(solids.UP)], [solids.Edge((0, -1), 90.0, (1.0, 0.0, 0.0))], closed=False)
    ),
    ("outside_round", "rounds"): build.case(build.edge_round(3.0, faces=(0,)), part=rounded((1.0, 0.0, 0.0))),
    ("partial_hole", "flank"): build.case(build.hole(5.0, 30.0, faces=(0,)), part=bored(216.0)),
    ("pocket_depth_ratio", "comfortable"): build.case(build.pocket(20.0, 3.2)),
    ("pocket_depth_ratio", "hard"): build.case(
        build.pocket(36.0, 4.0, width_mm=40.0), shop_=build.shop(cutters=(build.end_mill(8.0, 40.0),))
    ),
    ("pocket_depth_ratio", "reach"): build.case(build.pocket(36.0, 3.5, width_mm=40.0)),
    ("refused_by_shop", "refused"): _refused(),
    ("several_bodies", "bodies"): build.case(n_bodies=2),
    ("sharp_internal_corner", "left_over"): build.case(build.pocket(12.0, 0.0)),
    ("sharp_outside_edges", "deburring"): _measured("external_sharp_edge_length_mm", 6000.0),
    ("sheet_like_part", "two_sides"): build.case(part=solids.block(size=(200.0, 100.0, 3.0))),
    ("sheet_like_part", "thickness"): build.case(part=solids.block(size=(200.0, 100.0, 3.0))),
    ("sheet_like_part", "foil"): build.case(part=solids.block(size=(200.0, 100.0, 3.0))),
    ("slanted_direction", "tilt"): with_setup(tilted(20.0)),
    ("slender_wall", "care"): _wall(1.5, 13.0),
    ("slender_wall", "shown"): _wall(1.5, 50.0),
    ("sliver_faces", "width"): build.case(part=strip(0.01)),
    ("small_hole", "diameter"): build.case(build.hole(0.7, 3.0)),
    ("suspect_size", "small"): build.case(part=solids.block(size=(1.0, 1.0, 1.0))),
    ("suspect_size", "large"): build.case(part=solids.block(size=(5000.0, 100.0, 100.0))),
    ("suspect_units", "explained"): _in_inches(),
    ("tall_boss", "care"): build.case(build.boss(27.0, 40.0, 3.0)),
    ("tall_boss", "shown"): build.case(build.boss(100.0, 40.0, 3.0)),
    ("thickness_is_stock_size", "extra"): build.case(
        part=solids.block(size=(60.0, 40.0, 9.95)), shop_=PLATE_SHOP, plan_=FROM_15
    ),
    ("thickness_is_stock_size", "beside"): build.case(
        part=solids.block(size=(60.0, 40.0, 9.95)), shop_=PLATE_SHOP, plan_=FROM_15
    ),
    ("thin_floor", "material"): build.case(build.pocket(floor_thickness_mm=0.4)),
    ("thin_floor", "span"): build.case(build.pocket(floor_thickness_mm=1.2, width_mm=60.0, length_mm=70.0)),
    ("thin_hole_floor", "material"): _hole_floor(),
    ("thin_wall", "material"): build.case(walls=(build.wall(0.6),)),
    ("tiny_edges", "length"): build.case(part=edges(10.0, 0.004)),
    ("tolerance_tighter_than_shop", "size"): noted(bore(15.0)),
    ("tolerance_tighter_than_shop", "place"): noted(flatness(0.02)),
    ("too_many_cutters", "cutters"): _cutters(14),
    ("too_many_hole_sizes", "sizes"): build.case(*[build.hole(2.0 + i) for i in range(8)]),
    ("too_many_setups", "shop"): _setups(6),
    ("too_many_setups", "few"): _setups(4),
    ("turned_length_ratio", "centre"): _shaft(120.0),
    ("turned_length_ratio", "chuck"): _shaft(50.0),
    ("undercut_slot", "cutters"): build.case(build.slot(10.0, 17.0, undercut_width_mm=18.0)),
    ("undercut_slot", "undercuts"): build.case(
        build.slot(8.0, 17.0, undercut_width_mm=16.0), plan_=made_with("T16"), shop_=SLOT_SHOP
    ),
    ("unmade_feature", "unmade"): _unmade(),
    ("unreached_faces", "hidden"): hidden(2, 8),
    ("variable_radius", "varying"): _varying(),
}

TOGETHER = {"faceted_mesh", "chamfer_angle", "engraved_text", "odd_hole_in_family"}
TOGETHER |= {"sheet_like_part", "thickness_is_stock_size"}
"""Rules that speak only where several limits agree; of the others each limit speaks alone."""

KEPT = {
    ("chamfer_angle", "edge"),
    ("engraved_text", "shallow"),
    ("engraved_text", "narrow"),
    ("odd_hole_in_family", "family"),
    ("sheet_like_part", "thickness"),
    ("sheet_like_part", "foil"),
    ("thickness_is_stock_size", "beside"),
}
"""Limits that say what a rule is about: what is past them is none of its business, so it speaks up to them."""
