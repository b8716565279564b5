"""From B-rep to arrays: what each column says is held against formulas."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut
from OCP.BRepBuilderAPI import BRepBuilderAPI_GTransform
from OCP.BRepPrimAPI import (
    BRepPrimAPI_MakeBox,
    BRepPrimAPI_MakeCone,
    BRepPrimAPI_MakeCylinder,
    BRepPrimAPI_MakeSphere,
    BRepPrimAPI_MakeTorus,
)
from OCP.gp import gp_Ax2, gp_Dir, gp_GTrsf, gp_Pnt, gp_Trsf
from OCP.TopoDS import TopoDS_Shape
from scipy.special import ellipe

from analyzers.model.part import Curve, Part, Surface
from fixtures.make.vocabulary.blends import chamfer_edges, fillet_edges, round_edges
from fixtures.make.vocabulary.holes import countersink, drill
from fixtures.make.vocabulary.raised import round_boss
from fixtures.make.vocabulary.recesses import pocket, slot, step
from fixtures.make.vocabulary.stock import bar, block
from fixtures.make.vocabulary.work import Work
from tests.kernel._solids import (
    faces_of_kind,
    mirrored_in,
    moved,
    only,
    part_of,
    turned_by,
)

ASKEW = turned_by((0.3, -0.5, 0.8), 41.9, (31.7, -12.3, 55.1))
POSES = [
    pytest.param(None, id="as-built"),
    pytest.param(ASKEW, id="askew"),
    pytest.param(mirrored_in((0.2, 0.9, 0.3)), id="mirrored"),
    pytest.param(turned_by((0.0, 0.0, 1.0), 0.0, (4000.0, -7000.0, 900.0)), id="far-out"),
]


def posed(shape: TopoDS_Shape, pose: gp_Trsf | None) -> Part:
    """Return the arrays of a shape in a pose; None = as it is."""
    return part_of(shape if pose is None else moved(shape, pose))


def image(pose: gp_Trsf | None, point: tuple[float, float, float]) -> np.ndarray:
    """Return where a point is in a pose."""
    there = gp_Pnt(*point) if pose is None else gp_Pnt(*point).Transformed(pose)
    return np.array([there.X(), there.Y(), there.Z()])


def angles(part: Part) -> list[float]:
    """Return the angles through the material of all edges that have one, sorted, to a billionth."""
    known = part.edge_angle_deg[np.isfinite(part.edge_angle_deg)]
    return sorted(np.round(known, 7).tolist())


def wedge(angle_deg: float) -> Work:
    """Return a bar whose profile has a corner of that angle: a triangle, or a block with a notch."""
    turn = math.radians(angle_deg)
    if angle_deg < 180.0:
        profile = [(0.0, 0.0), (20.0, 0.0), (12.0 * math.cos(turn), 12.0 * math.sin(turn))]
    else:
        half = math.tan(turn / 2 - math.pi)  # of the notch, negative: width per depth
        profile = [
            (-200.0, -20.0),
            (200.0, -20.0),
            (200.0, 10.0),
            (-10.0 * half, 10.0),
            (0.0, 0.0),
            (10.0 * half, 10.0),
        ]
        profile.append((-200.0, 10.0))
    return bar(profile, 15.0, (0.0, 0.0, 0.0))


# --- planes ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("pose", POSES)
def test_a_block(pose: gp_Trsf | None) -> None:
    """Six planes with their areas, middles and outward normals; twelve edges of 90 degrees; V - E + F = 2."""
    part = posed(block((30.0, 20.0, 10.0), (1.0, 2.0, 3.0)).shape, pose)
    assert (part.n_faces, part.n_edges, len(part.vertex_mm)) == (6, 12, 8)
    assert sorted(part.face_area_mm2) == pytest.approx([200.0, 200.0, 300.0, 300.0, 600.0, 600.0])
    assert part.area_mm2 == pytest.approx(2200.0)
    assert part.volume_mm3 == pytest.approx(6000.0, rel=1e-9)
    assert part.centroid_mm == pytest.approx(image(pose, (16.0, 12.0, 8.0)), rel=1e-9)
    assert angles(part) == [90.0] * 12
    outward = part.face_centroid_mm - np.array(part.centroid_mm)
    assert (np.einsum("ij,ij->i", outward, part.face_normal) > 0).all()
    assert np.einsum("ij,ij->i", part.face_axis, part.face_normal) == pytest.approx(np.ones(6))
    assert sorted(part.edge_length_mm) == pytest.approx([10.0] * 4 + [20.0] * 4 + [30.0] * 4)
    assert (part.valid, part.closed, bool(part.face_concave.any())) == (True, True, False)


def test_a_block_has_its_box_and_size() -> None:
    """The box comes from the exact geometry."""
    part = part_of(block((30.0, 20.0, 10.0), (1.0, 2.0, 3.0)).shape)
    assert part.box_mm == pytest.approx(np.array([[1.0, 2.0, 3.0], [31.0, 22.0, 13.0]]), abs=1e-9)
    assert part.size_mm == pytest.approx((30.0, 20.0, 10.0))
    assert part.diagonal_mm == pytest.approx(math.sqrt(1400.0))


@pytest.mark.parametrize("angle_deg", [12.0, 60.0, 90.0, 118.0, 176.0, 190.0, 270.0, 300.0])
def test_the_angle_of_an_edge_is_that_of_the_material(angle_deg: float) -> None:
    """A corner drawn with an angle has that angle through the material; the corners of the profile add up."""
    part = part_of(moved(wedge(angle_deg).shape, ASKEW))
    corners = part.n_faces - 2  # of the profile; the edges around the two ends are square
    along = part.edge_angle_deg[np.abs(part.edge_length_mm - 15.0) < 1e-6]
    assert len(along) == corners
    assert np.abs(along - angle_deg).min() < 1e-6
    assert along.sum() == pytest.approx(180.0 * (corners - 2), abs=1e-6)


@pytest.mark.parametrize("pose", POSES)
def test_an_l_has_one_inside_corner(pose: gp_Trsf | None) -> None:
    """Of the 18 edges of an L one has 270 degrees, all others 90."""
    work = bar([(0, 0), (30, 0), (30, 10), (12, 10), (12, 25), (0, 25)], 14.0, (30.0, 14.0, 25.0))
    assert angles(posed(work.shape, pose)) == [90.0] * 17 + [270.0]


# --- round surfaces -------------------------------------------------------------------------------------------------

AT = gp_Ax2(gp_Pnt(3.0, -4.0, 5.0), gp_Dir(1.0, 2.0, 2.0))
CENTRE, AXIS = (3.0, -4.0, 5.0), np.array([1.0, 2.0, 2.0]) / 3.0


@pytest.mark.parametrize("pose", POSES)
def test_a_cylinder(pose: gp_Trsf | None) -> None:
    """Radius, axis, full turn, length along the axis; areas, volume and centroid by formula; its seam is no corner."""
    part = posed(BRepPrimAPI_MakeCylinder(AT, 6.0, 25.0).Shape(), pose)
    side = only(part, Surface.CYLINDER)
    axis = image(pose, tuple(np.array(CENTRE) + AXIS)) - image(pose, CENTRE)
    assert part.face_radius_mm[side] == pytest.approx(6.0)
    assert abs(float(part.face_axis[side] @ axis)) == pytest.approx(1.0)
    offset = part.face_origin_mm[side] - image(pose, CENTRE)
    assert np.linalg.norm(offset - (offset @ axis) * axis) == pytest.approx(0.0, abs=1e-9)
    assert part.face_span_deg[side] == 360.0
    assert np.ptp(part.face_along_mm[side]) == pytest.approx(25.0)
    assert part.face_area_mm2[side] == pytest.approx(2 * math.pi * 6 * 25)
    assert part.face_centroid_mm[side] == pytest.approx(image(pose, tuple(np.array(CENTRE) + 12.5 * AXIS)), rel=1e-9)
    assert part.volume_mm3 == pytest.approx(math.pi * 36 * 25, rel=1e-9)
    assert not part.face_concave[side]
    seam = (part.edge_faces[:, 0] == side) & (part.edge_faces[:, 1] == side)
    assert part.edge_angle_deg[seam] == pytest.approx(180.0)
    rims = part.edge_curve == Curve.CIRCLE
    assert part.edge_radius_mm[rims] == pytest.approx([6.0, 6.0])
    assert part.edge_length_mm[rims] == pytest.approx([12 * math.pi] * 2)
    assert part.edge_angle_deg[rims] == pytest.approx([90.0] * 2)


@pytest.mark.parametrize("pose", POSES)
def test_a_cone(pose: gp_Trsf | None) -> None:
    """Half angle and tip; the axis runs from the tip into the face; area and volume of a frustum by formula."""
    part = posed(BRepPrimAPI_MakeCone(AT, 8.0, 3.0, 12.0).Shape(), pose)
    flank = only(part, Surface.CONE)
    tip = image(pose, tuple(np.array(CENTRE) + 19.2 * AXIS))  # 12 * 8 / (8 - 3)
    down = image(pose, CENTRE) - tip
    assert part.face_half_angle_deg[flank] == pytest.approx(math.degrees(math.atan2(5.0, 12.0)))
    assert part.face_origin_mm[flank] == pytest.approx(tip, abs=1e-6)
    assert part.face_axis[flank] @ down == pytest.approx(19.2)
    assert part.face_along_mm[flank] == pytest.approx([7.2, 19.2])
    assert part.face_area_mm2[flank] == pytest.approx(math.pi * 11 * 13)  # (r + R) s, s = 13
    assert part.volume_mm3 == pytest.approx(math.pi * 12 * (64 + 24 + 9) / 3, rel=1e-9)


@pytest.mark.parametrize("pose", POSES)
def test_a_sphere(pose: gp_Trsf | None) -> None:
    """Centre, radius, area 4 pi r^2; its poles are edges without length and without an angle."""
    part = posed(BRepPrimAPI_MakeSphere(AT, 7.0).Shape(), pose)
    ball = only(part, Surface.SPHERE)
    assert part.face_radius_mm[ball] == pytest.approx(7.0)
    assert part.face_origin_mm[ball] == pytest.approx(image(pose, CENTRE), abs=1e-9)
    assert part.face_area_mm2[ball] == pytest.approx(4 * math.pi * 49)
    poles = part.edge_curve == Curve.DEGENERATE
    assert poles.sum() == 2
    assert np.isnan(part.edge_angle_deg[poles]).all()
    assert part.closed


@pytest.mark.parametrize("pose", POSES)
def test_a_torus(pose: gp_Trsf | None) -> None:
    """Centre circle and tube; area 4 pi^2 R r and volume 2 pi^2 R r^2 (Pappus)."""
    part = posed(BRepPrimAPI_MakeTorus(AT, 11.0, 4.0).Shape(), pose)
    ring = only(part, Surface.TORUS)
    assert (part.face_radius_mm[ring], part.face_tube_radius_mm[ring]) == pytest.approx((11.0, 4.0))
    assert part.face_area_mm2[ring] == pytest.approx(4 * math.pi**2 * 44)
    assert part.volume_mm3 == pytest.approx(2 * math.pi**2 * 11 * 16, rel=1e-9)
    assert not part.face_concave[ring]


def drilled() -> TopoDS_Shape:
    """Return a block with a blind hole from above."""
    work = block((30.0, 20.0, 25.0))
    drill(work, (9.0, 8.0, 25.0), 5.0, 12.0, point_angle=118.0)
    return work.shape


def bossed() -> TopoDS_Shape:
    """Return a block with a round boss."""
    work = block((30.0, 20.0, 25.0))
    round_boss(work, (9.0, 8.0, 25.0), 5.0, 12.0)
    return work.shape


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("make", "hollow"), [(drilled, True), (bossed, False)])
def test_hollow_and_bulging_are_told_apart(
    make: Callable[[], TopoDS_Shape], hollow: bool, pose: gp_Trsf | None
) -> None:
    """A hole's faces are hollow, a boss's are not, also on left-handed surfaces and reversed faces."""
    part = posed(make(), pose)
    side = only(part, Surface.CYLINDER)
    assert bool(part.face_concave[side]) is hollow
    offset = part.face_point_mm[side] - part.face_origin_mm[side]
    away = offset - (offset @ part.face_axis[side]) * part.face_axis[side]
    assert (float(part.face_normal[side] @ away) < 0) is hollow


@pytest.mark.parametrize("pose", POSES)
def test_a_drill_point(pose: gp_Trsf | None) -> None:
    """Mouth 90, where the point begins 180 + 59, the tip has none; the cone is hollow and its axis leaves the tip."""
    part = posed(drilled(), pose)
    point = only(part, Surface.CONE)
    assert part.face_concave[point]
    assert part.face_half_angle_deg[point] == pytest.approx(59.0)
    assert part.face_along_mm[point] == pytest.approx([0.0, 2.5 / math.tan(math.radians(59.0))], abs=1e-9)
    rims = part.edge_curve == Curve.CIRCLE
    assert sorted(part.edge_angle_deg[rims]) == pytest.approx([90.0, 239.0])
    up = image(pose, (0.0, 0.0, 1.0)) - image(pose, (0.0, 0.0, 0.0))
    assert float(part.face_axis[point] @ up) == pytest.approx(1.0)


@pytest.mark.parametrize("angle", [82.0, 90.0, 100.0, 120.0])
def test_a_countersink(angle: float) -> None:
    """The cone opens upwards: at its mouth the material has 180 - (90 - half), at its foot 180 - half degrees."""
    work = block((30.0, 20.0, 12.0))
    countersink(work, (14.0, 9.0, 12.0), 5.0, 12.0, sink=9.0, angle=angle)
    part = part_of(moved(work.shape, ASKEW))
    half = angle / 2
    assert part.face_half_angle_deg[only(part, Surface.CONE)] == pytest.approx(half)
    rims = sorted(part.edge_angle_deg[part.edge_curve == Curve.CIRCLE])
    assert rims == pytest.approx(sorted([90.0, 90.0 + half, 180.0 - half]))


@pytest.mark.parametrize("inside", [-1.9, -1.0, 0.0, 1.0, 1.9], ids=lambda v: f"axis-{v}-inside")
def test_the_turn_of_a_bite(inside: float) -> None:
    """A cylinder of radius 2 cut by a plane covers 2 acos(-inside / r) of its turn."""
    tool = BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(12.0, inside, -3.0), gp_Dir(0.0, 0.0, 1.0)), 2.0, 20.0).Shape()
    part = part_of(moved(BRepAlgoAPI_Cut(block((30.0, 20.0, 8.0)).shape, tool).Shape(), ASKEW))
    pieces = faces_of_kind(part, Surface.CYLINDER)  # more than one where the tool's seam lies in the wall
    assert part.face_span_deg[pieces].sum() == pytest.approx(2 * math.degrees(math.acos(-inside / 2.0)), abs=1e-6)


def test_the_turn_of_quarters_and_halves() -> None:
    """A filleted edge covers 90 degrees, the end of an obround slot 180, a cross drilling's wall the whole turn."""
    work = block((40.0, 30.0, 20.0))
    slot(work, (20.0, 15.0, 20.0), 18.0, 6.0, 5.0, ends=("round", "round"))
    round_edges(work, [(0.0, 15.0, 20.0)], 3.0)
    part = part_of(work.shape)
    assert sorted(np.round(part.face_span_deg[faces_of_kind(part, Surface.CYLINDER)], 6)) == [90.0, 180.0, 180.0]


def test_a_seam_does_not_break_a_turn() -> None:
    """Two crossing bores of one diameter leave pieces whose turns are those of the pieces, wherever their seam lies."""
    work = block((30.0, 30.0, 30.0))
    drill(work, (15.0, 15.0, 30.0), 8.0, 30.0, bottom="through")
    drill(work, (15.0, 30.0, 15.0), 5.0, 30.0, out=(0.0, 1.0, 0.0), bottom="through", simple=False)
    for seed_deg in (0.0, 37.0, 90.0, 181.0):
        part = part_of(moved(work.shape, turned_by((0.0, 0.0, 1.0), seed_deg)))
        large = [f for f in faces_of_kind(part, Surface.CYLINDER) if part.face_radius_mm[f] == pytest.approx(4.0)]
        assert [part.face_span_deg[f] for f in large] == [360.0]


# --- blends ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("pose", POSES)
def test_blends_run_smoothly(pose: gp_Trsf | None) -> None:
    """A fillet is hollow, an edge round is not; both meet their neighbours at 180 degrees."""
    work = block((40.0, 30.0, 20.0))
    step(work, (20.0, 30.0, 20.0), 40.0, 12.0, 8.0, side=(0.0, 1.0, 0.0))
    fillet_edges(work, [(20.0, 18.0, 12.0)], 2.0)
    round_edges(work, [(20.0, 0.0, 20.0)], 3.0)
    part = posed(work.shape, pose)
    blends = {round(float(part.face_radius_mm[f]), 9): f for f in faces_of_kind(part, Surface.CYLINDER)}
    assert {radius: bool(part.face_concave[f]) for radius, f in blends.items()} == {2.0: True, 3.0: False}
    assert [a for a in angles(part) if a not in (90.0,)] == [180.0] * 4
    assert part.face_area_mm2[blends[2.0]] == pytest.approx(math.pi * 40)
    # centroid of an arc: 2 r / pi from its centre in each direction
    assert part.face_centroid_mm[blends[2.0]] == pytest.approx(
        image(pose, (20.0, 20.0 - 4 / math.pi, 14.0 - 4 / math.pi)), rel=1e-9
    )


def test_a_chamfer_has_two_blunt_edges() -> None:
    """Broken at 30 degrees to the top: 180 - 30 there and 180 - 60 at the side."""
    work = block((40.0, 30.0, 20.0))
    chamfer_edges(work, [(20.0, 0.0, 20.0)], 2.0, angle=30.0, face=(20.0, 15.0, 20.0))
    assert [a for a in angles(part_of(moved(work.shape, ASKEW))) if a != 90.0] == pytest.approx([120.0, 150.0])


def test_corner_patches_keep_their_kind_and_side() -> None:
    """A pocket of one radius at walls and floor: cylinders and sphere corners, all hollow; a rounded top: none."""
    work = block((60.0, 40.0, 20.0))
    pocket(work, (30.0, 20.0, 20.0), 30.0, 20.0, 8.0, corner_radius=3.0, floor_radius=3.0)
    part = part_of(moved(work.shape, ASKEW))
    balls = faces_of_kind(part, Surface.SPHERE)
    assert len(balls) == 4
    assert part.face_concave[balls + faces_of_kind(part, Surface.CYLINDER)].all()
    assert part.face_radius_mm[balls] == pytest.approx([3.0] * 4)
    assert part.face_area_mm2[balls] == pytest.approx([4 * math.pi * 9 / 8] * 4)


def test_a_floor_fillet_around_round_corners_is_a_hollow_torus() -> None:
    """Wall corners of radius 5 over a floor radius of 2: tori with centre circle 3 and tube 2, hollow."""
    work = block((60.0, 40.0, 20.0))
    pocket(work, (30.0, 20.0, 20.0), 30.0, 20.0, 8.0, corner_radius=5.0, floor_radius=2.0)
    part = part_of(moved(work.shape, ASKEW))
    tori = faces_of_kind(part, Surface.TORUS)
    assert part.face_radius_mm[tori] == pytest.approx([3.0] * 4)
    assert part.face_tube_radius_mm[tori] == pytest.approx([2.0] * 4)
    assert part.face_concave[tori].all()
    assert part.face_span_deg[tori] == pytest.approx([90.0] * 4, abs=1e-6)


# --- loops, borders, free surfaces ----------------------------------------------------------------------------------


def test_the_outer_loop_is_number_nought() -> None:
    """A plate with two holes: its top has one outer border of four edges and two inner ones of one edge each."""
    work = block((30.0, 20.0, 6.0))
    for x in (8.0, 20.0):
        drill(work, (x, 10.0, 6.0), 5.0, 6.0, bottom="through")
    part = part_of(moved(work.shape, ASKEW))
    for face in np.flatnonzero(part.face_area_mm2 > 400.0).tolist():
        loops = part.coedge_loop[part.coedge_face == face]
        assert sorted(np.bincount(loops).tolist()) == [1, 1, 4]
        assert np.bincount(loops)[0] == 4


def test_every_edge_of_a_whole_solid_has_two_sides() -> None:
    """Each edge is used twice; the two faces it names are those whose loops hold it."""
    part = part_of(drilled())
    for edge in range(part.n_edges):
        users = part.coedge_face[part.coedge_edge == edge].tolist()
        if part.edge_curve[edge] != Curve.DEGENERATE:
            assert sorted(users) == sorted(part.edge_faces[edge].tolist())


def test_a_cavity_counts_against_the_volume() -> None:
    """A ball inside a block: its face is hollow and its volume missing."""
    shape = BRepAlgoAPI_Cut(
        BRepPrimAPI_MakeBox(gp_Pnt(0, 0, 0), 30.0, 20.0, 20.0).Shape(),
        BRepPrimAPI_MakeSphere(gp_Pnt(12.0, 10.0, 9.0), 6.0).Shape(),
    ).Shape()
    part = part_of(moved(shape, ASKEW))
    assert part.volume_mm3 == pytest.approx(12000.0 - 288.0 * math.pi)
    assert part.face_concave[only(part, Surface.SPHERE)]
    assert part.closed


def test_inside_out_solids_show_a_negative_volume() -> None:
    """A reversed solid has the volume's sign turned."""
    assert part_of(block((30.0, 20.0, 10.0)).shape.Reversed()).volume_mm3 == pytest.approx(-6000.0)


def test_a_slanted_hole_has_ellipses_for_rims() -> None:
    """A bore of radius 3 leaning 25 degrees meets the top in an ellipse of half axes 3 and 3 / cos 25."""
    lean = math.radians(25.0)
    out = (math.sin(lean), 0.0, math.cos(lean))
    work = block((60.0, 30.0, 12.0))
    drill(work, (30.0, 15.0, 12.0), 6.0, 30.0, out=out, bottom="through", over=10.0, simple=False)
    part = part_of(work.shape)
    rims = np.flatnonzero(part.edge_curve == Curve.ELLIPSE)
    perimeter = 4 * (3.0 / math.cos(lean)) * ellipe(math.sin(lean) ** 2)  # 4 a E(m), m = 1 - b^2 / a^2
    assert part.edge_length_mm[rims] == pytest.approx([perimeter] * 2, rel=1e-5)


def elliptic(hollow: bool) -> TopoDS_Shape:
    """Return an elliptic cylinder of half axes 8 and 5, as a free surface: a hole in a block, or a pin."""
    round_tool = BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(15.0, 10.0, -2.0), gp_Dir(0.0, 0.0, 1.0)), 5.0, 14.0).Shape()
    stretch = gp_GTrsf()
    stretch.SetValue(1, 1, 1.6)
    tool = BRepBuilderAPI_GTransform(round_tool, stretch, True).Shape()
    box = BRepPrimAPI_MakeBox(gp_Pnt(0, 0, 0), 48.0, 20.0, 10.0).Shape()
    return BRepAlgoAPI_Cut(box, tool).Shape() if hollow else BRepAlgoAPI_Common(box, tool).Shape()


@pytest.mark.parametrize("hollow", [True, False])
def test_a_free_surface_has_its_smallest_hollow_radius(hollow: bool) -> None:
    """An elliptic hole bends most at the ends of its long axis, b^2 / a; a pin is nowhere hollow."""
    part = part_of(moved(elliptic(hollow), ASKEW))
    free = faces_of_kind(part, Surface.BSPLINE)
    assert len(free) >= 1
    sharpest = float(part.face_min_radius_mm[free].min())
    assert sharpest == (pytest.approx(25.0 / 8.0, rel=1e-3) if hollow else math.inf)
    assert np.isnan(part.face_min_radius_mm[faces_of_kind(part, Surface.PLANE)]).all()
