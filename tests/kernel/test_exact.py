"""Questions to the geometry, held against formulas: inside or out, what a ray meets first, the shortest way."""

import math

import numpy as np
import pytest
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakeSphere, BRepPrimAPI_MakeTorus
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf
from OCP.TopoDS import TopoDS_Shape

from analyzers.kernel.exact import ExactGeometry
from analyzers.model.arrays import Bools, Floats, unit
from analyzers.model.part import Part, Surface
from fixtures.make.vocabulary.blends import fillet_edges
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.recesses import Island, pocket, step
from fixtures.make.vocabulary.stock import block
from tests.kernel._solids import faces_of_kind, facing, loaded, mirrored_in, moved, only, turned_by

TURN = turned_by((0.3, -0.5, 0.8), 41.9, (31.7, -12.3, 55.1))
POSES = [
    pytest.param(turned_by((1.0, 0.0, 0.0), 0.0), id="as-built"),
    pytest.param(TURN, id="askew"),
    pytest.param(mirrored_in((0.2, 0.9, 0.3)), id="mirrored"),
    pytest.param(turned_by((0.0, 0.0, 1.0), 0.0, (4000.0, -7000.0, 900.0)), id="far-out"),
]
CHANCE = 20240301


def placed(points: Floats, pose: gp_Trsf) -> Floats:
    """Return (N, 3) points in the pose."""
    matrix = np.array([[pose.Value(row, column) for column in (1, 2, 3, 4)] for row in (1, 2, 3)])
    there: Floats = points @ matrix[:, :3].T + matrix[:, 3]
    return there


def turned(vectors: Floats, pose: gp_Trsf) -> Floats:
    """Return (N, 3) vectors in the pose."""
    matrix = np.array([[pose.Value(row, column) for column in (1, 2, 3)] for row in (1, 2, 3)])
    there: Floats = vectors @ matrix.T
    return there


def drilled_block() -> TopoDS_Shape:
    """Return a block of 40 x 30 x 20 with a blind flat hole of 10 mm diameter, 12 mm deep, at (14, 13)."""
    work = block((40.0, 30.0, 20.0))
    drill(work, (14.0, 13.0, 20.0), 10.0, 12.0, bottom="flat")
    return work.shape


def in_drilled_block(points: Floats) -> tuple[Bools, Floats]:
    """Return whether points lie in it, by its inequalities, and how far they are from any of its limits."""
    to_box = np.minimum(points, np.array([40.0, 30.0, 20.0]) - points).min(axis=1)
    across = np.hypot(points[:, 0] - 14.0, points[:, 1] - 13.0) - 5.0
    to_hole = np.maximum(across, 8.0 - points[:, 2])
    away: Floats = np.minimum(np.abs(to_box), np.abs(to_hole))
    inside: Bools = (to_box > 0) & (to_hole > 0)
    return inside, away


@pytest.mark.parametrize("pose", POSES)
def test_inside_is_by_the_inequalities(pose: gp_Trsf) -> None:
    """20,000 points in and around a drilled block: in or out as x, y, z and the distance from the axis say."""
    points = np.random.default_rng(CHANCE).uniform(-5.0, 45.0, (20_000, 3))
    expected, away = in_drilled_block(points)
    part, geometry = loaded(moved(drilled_block(), pose))
    clear = away > 2 * part.mesh.chord_mm
    assert np.array_equal(geometry.inside(placed(points, pose))[clear], expected[clear])
    assert expected[clear].sum() > 2000


def test_inside_exactly_is_by_the_inequalities() -> None:
    """The B-rep's own answer needs no distance from the border but the kernel's tolerance."""
    points = np.random.default_rng(CHANCE).uniform(-5.0, 45.0, (300, 3))
    expected, _ = in_drilled_block(points)
    _, geometry = loaded(moved(drilled_block(), TURN))
    assert np.array_equal(geometry.inside_exactly(placed(points, TURN)), expected)


@pytest.mark.parametrize("pose", POSES)
def test_first_hits_on_a_block_are_exact(pose: gp_Trsf) -> None:
    """From a point inside, rays along six ways meet the six sides at their distances."""
    part, geometry = loaded(moved(block((40.0, 30.0, 20.0)).shape, pose))
    start = np.array([12.0, 7.0, 15.0])
    ways = np.concatenate([np.eye(3), -np.eye(3)])
    distance, face = geometry.first_hits(placed(np.tile(start, (6, 1)), pose), turned(ways, pose))
    assert distance == pytest.approx([28.0, 23.0, 5.0, 12.0, 7.0, 15.0], abs=1e-4)
    assert np.einsum("ij,ij->i", part.face_normal[face], turned(ways, pose)) == pytest.approx(np.ones(6))


def test_rays_that_miss_say_so() -> None:
    """No hit: an infinite distance and face -1."""
    _, geometry = loaded(block((40.0, 30.0, 20.0)).shape)
    distance, face = geometry.first_hits(np.array([[50.0, 15.0, 10.0]] * 2), np.array([[1.0, 0, 0], [-1.0, 0, 0]]))
    assert distance.tolist() == [math.inf, pytest.approx(10.0, abs=1e-4)]
    assert face[0] == -1
    assert face[1] >= 0


@pytest.mark.parametrize("pose", POSES)
def test_first_hits_in_a_ball_keep_within_the_chord(pose: gp_Trsf) -> None:
    """From anywhere in a ball of radius 9 along any way: -b + sqrt(b^2 - c), within the mesh's chord over the slope."""
    chance = np.random.default_rng(CHANCE)
    start = unit(chance.normal(size=(500, 3))) * chance.uniform(0.0, 6.0, (500, 1))
    way = unit(chance.normal(size=(500, 3)))
    b = np.einsum("ij,ij->i", start, way)
    expected = -b + np.sqrt(b**2 - (np.einsum("ij,ij->i", start, start) - 81.0))
    part, geometry = loaded(moved(BRepPrimAPI_MakeSphere(gp_Pnt(0, 0, 0), 9.0).Shape(), pose))
    distance, _ = geometry.first_hits(placed(start, pose), turned(way, pose))
    steep = np.einsum("ij,ij->i", start + expected[:, None] * way, way) / 9.0
    slack = (part.mesh.chord_mm + 1e-3) / steep
    assert (distance <= expected + 1e-3).all()
    assert (distance >= expected - slack).all()


@pytest.mark.parametrize("pose", POSES)
def test_normals_are_those_of_the_formula(pose: gp_Trsf) -> None:
    """Outward normals of a ring: from the tube's centre through the point, whatever the pose or hand."""
    ring = BRepPrimAPI_MakeTorus(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1)), 12.0, 4.0).Shape()
    u, v = np.random.default_rng(CHANCE).uniform(0.0, 2 * math.pi, (2, 50))
    normal = np.stack([np.cos(v) * np.cos(u), np.cos(v) * np.sin(u), np.sin(v)], axis=1)
    points = 12.0 * np.stack([np.cos(u), np.sin(u), np.zeros_like(u)], axis=1) + 4.0 * normal
    part, geometry = loaded(moved(ring, pose))
    found = geometry.normals(np.full(50, only(part, Surface.TORUS)), placed(points, pose))
    assert found == pytest.approx(turned(normal, pose), abs=1e-6)


@pytest.mark.parametrize("pose", POSES)
def test_normals_of_a_hole_point_to_its_axis(pose: gp_Trsf) -> None:
    """Outward means out of the material: inside a hole that is towards the axis."""
    part, geometry = loaded(moved(drilled_block(), pose))
    point = placed(np.array([[19.0, 13.0, 15.0]]), pose)
    found = geometry.normals(np.array([only(part, Surface.CYLINDER)]), point)
    assert found == pytest.approx(turned(np.array([[-1.0, 0.0, 0.0]]), pose), abs=1e-6)


# --- shortest ways ---------------------------------------------------------------------------------------------------


def distance(part: Part, geometry: ExactGeometry, first: int, second: int) -> float:
    """Return the shortest distance of two faces, whose ends are checked to be that far apart."""
    found = geometry.closest(first, second)
    assert found is not None
    assert math.dist(found.first_mm, found.second_mm) == pytest.approx(found.distance_mm, abs=1e-9)
    return found.distance_mm


@pytest.mark.parametrize("pose", POSES)
def test_two_bores_keep_their_web(pose: gp_Trsf) -> None:
    """Holes of 8 and 5 mm diameter at a distance of 13 (5, 12): 13 - 4 - 2.5 between their walls."""
    work = block((40.0, 30.0, 10.0))
    drill(work, (10.0, 8.0, 10.0), 8.0, 10.0, bottom="through")
    drill(work, (22.0, 13.0, 10.0), 5.0, 10.0, bottom="through")
    part, geometry = loaded(moved(work.shape, pose))
    one, two = faces_of_kind(part, Surface.CYLINDER)
    assert distance(part, geometry, one, two) == pytest.approx(6.5, abs=1e-6)


@pytest.mark.parametrize("pose", POSES)
def test_a_blind_hole_keeps_its_floor(pose: gp_Trsf) -> None:
    """From the tip of a drill point of 118 degrees to the underside: 20 - 12 - r / tan 59."""
    work = block((40.0, 30.0, 20.0))
    drill(work, (14.0, 13.0, 20.0), 10.0, 12.0)
    part, geometry = loaded(moved(work.shape, pose))
    below = facing(part, tuple(turned(np.array([[0.0, 0.0, -1.0]]), pose)[0].tolist()))
    expected = 8.0 - 5.0 / math.tan(math.radians(59.0))
    assert distance(part, geometry, only(part, Surface.CONE), below) == pytest.approx(expected, abs=1e-6)


def test_crossing_bores_that_miss() -> None:
    """Two square bores of 6 and 4 mm with their axes 9 apart leave 9 - 3 - 2."""
    work = block((40.0, 40.0, 30.0))
    drill(work, (20.0, 15.0, 30.0), 6.0, 30.0, bottom="through")
    drill(work, (40.0, 24.0, 15.0), 4.0, 40.0, out=(1.0, 0.0, 0.0), bottom="through")
    part, geometry = loaded(moved(work.shape, TURN))
    one, two = faces_of_kind(part, Surface.CYLINDER)
    assert distance(part, geometry, one, two) == pytest.approx(4.0, abs=1e-6)


def test_an_island_and_the_wall_beside_it() -> None:
    """A round island of 8 mm diameter, 7 mm off the middle of a pocket 40 wide: 20 - 7 - 4 to the end wall."""
    work = block((60.0, 40.0, 20.0))
    pocket(work, (30.0, 20.0, 20.0), 40.0, 24.0, 8.0, corner_radius=4.0, islands=[Island(7.0, 0.0, 8.0)])
    part, geometry = loaded(moved(work.shape, TURN))
    island = next(f for f in faces_of_kind(part, Surface.CYLINDER) if not part.face_concave[f])
    far = placed(np.array([[50.0, 20.0, 16.0]]), TURN)[0]
    wall = int(np.argmin(np.linalg.norm(part.face_centroid_mm - far, axis=1)))
    assert distance(part, geometry, island, wall) == pytest.approx(9.0, abs=1e-6)


def test_faces_that_touch_are_at_no_distance() -> None:
    """A fillet and the wall it runs into."""
    work = block((40.0, 30.0, 20.0))
    step(work, (20.0, 30.0, 20.0), 40.0, 12.0, 8.0, side=(0.0, 1.0, 0.0))
    fillet_edges(work, [(20.0, 18.0, 12.0)], 2.0)
    part, geometry = loaded(moved(work.shape, TURN))
    fillet = only(part, Surface.CYLINDER)
    beside = next(int(f) for f in part.edge_faces[part.edge_faces[:, 0] == fillet, 1] if f != fillet)
    assert distance(part, geometry, fillet, beside) == pytest.approx(0.0, abs=1e-9)


def test_two_pins_side_by_side_on_a_plate() -> None:
    """Bulging faces too: pins of 6 and 10 mm diameter at (10, 10) and (31, 30): 29 - 3 - 5."""
    from fixtures.make.vocabulary.raised import round_boss

    work = block((50.0, 40.0, 8.0))
    round_boss(work, (10.0, 10.0, 8.0), 6.0, 12.0)
    round_boss(work, (31.0, 30.0, 8.0), 10.0, 9.0)
    part, geometry = loaded(moved(work.shape, TURN))
    one, two = faces_of_kind(part, Surface.CYLINDER)
    assert distance(part, geometry, one, two) == pytest.approx(29.0 - 8.0, abs=1e-6)


def test_a_thin_tube_keeps_its_wall() -> None:
    """Inside and outside of a tube: the difference of the radii."""
    outer = gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1))
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut

    tube = BRepAlgoAPI_Cut(
        BRepPrimAPI_MakeCylinder(outer, 10.0, 30.0).Shape(), BRepPrimAPI_MakeCylinder(outer, 9.2, 30.0).Shape()
    ).Shape()
    part, geometry = loaded(moved(tube, TURN))
    one, two = faces_of_kind(part, Surface.CYLINDER)
    assert distance(part, geometry, one, two) == pytest.approx(0.8, abs=1e-6)
