"""Thickness of solids whose answer is a formula of the numbers they are built from; then shapes without walls."""

import math
from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from OCP.TopoDS import TopoDS_Shape
from scipy.optimize import minimize_scalar

from analyzers.measures import take_all
from analyzers.model.feature import FaceClass
from analyzers.model.geometry import Geometry
from analyzers.model.report import Facts
from tests.measures._shapes import (
    Vec,
    as_splines,
    askew,
    back_from_askew,
    ball,
    box,
    broken,
    common,
    cut,
    featured,
    fuse,
    loaded,
    pocket,
    prism,
    ring,
    rod,
    taken,
    taper,
    turned,
    wave,
    wavy_strip,
)

COS20, TAN20 = math.cos(math.radians(20)), math.tan(math.radians(20))
POINT_HEIGHT = 2.5 / math.tan(math.radians(59))  # of a 118 degree drill point of 5 mm diameter


class Point(NamedTuple):
    """A point of the solid as it was built."""

    x: float
    y: float
    z: float


Where = Callable[[Point], float]  # how far a point is from where the minimum must be


def anywhere(p: Point) -> float:
    """Return no distance: the thickness is the same all over."""
    return 0.0 if math.isfinite(p.x + p.y + p.z) else math.inf


def drilled(bottom: float) -> TopoDS_Shape:
    """Return a drill of 5 mm with its point, full diameter from `bottom` up, on the z axis."""
    return fuse(rod((0, 0, bottom), 2.5, 20), taper((0, 0, bottom - POINT_HEIGHT), 0.0, 2.5, POINT_HEIGHT))


# Letters and numbers in front are the rows of the table of analytic solids that these cases follow.
CASES: dict[str, tuple[TopoDS_Shape, float, Where]] = {
    "T01-slab": (box((0, 0, 0), (40, 60, 3)), 3.0, anywhere),
    "T02-block": (box((0, 0, 0), (40, 60, 80)), 40.0, lambda p: min(abs(p.x), abs(p.x - 40))),
    "T03-ball": (ball((0, 0, 0), 12), 24.0, lambda p: math.hypot(p.x, p.y, p.z) - 12),
    "T04-spherical-shell": (cut(ball((0, 0, 0), 20), ball((0, 0, 0), 17)), 3.0, anywhere),
    "T05-concentric-domes": (
        common(cut(ball((0, 0, 0), 20), ball((0, 0, 0), 17)), box((-30, -30, 0), (30, 30, 30))),
        3.0,
        lambda p: max(-p.z, 0.0),
    ),
    "T06-eccentric-cavity": (
        cut(ball((0, 0, 0), 20), ball((2, 0, 0), 15)),
        3.0,
        lambda p: math.hypot(p.y, p.z) + min(abs(p.x - 20), abs(p.x - 17)),
    ),
    "T07-tube": (cut(rod((0, 0, 0), 10, 30), rod((0, 0, -1), 8, 32)), 2.0, anywhere),
    "T07-rod": (rod((0, 0, 0), 4, 30), 8.0, lambda p: math.hypot(p.x, p.y) - 4),
    "T08-eccentric-bore": (
        cut(rod((0, 0, 0), 10, 30), rod((3, 0, -1), 4, 32)),
        3.0,
        lambda p: abs(p.y) + min(abs(p.x - 10), abs(p.x - 7)),
    ),
    "T09-hole-near-an-edge": (
        cut(box((0, 0, 0), (40, 30, 20)), rod((5, 15, -1), 3, 30)),
        2.0,
        lambda p: abs(p.y - 15) + min(abs(p.x), abs(p.x - 2)),
    ),
    "T10-two-near-bores": (
        cut(box((0, 0, 0), (80, 60, 30)), rod((30, 30, -1), 4, 40), rod((42, 30, -1), 3, 40)),
        5.0,
        lambda p: abs(p.y - 30) + min(abs(p.x - 34), abs(p.x - 39)),
    ),
    "two-bores-that-nearly-touch": (
        cut(box((0, 0, 0), (80, 60, 30)), rod((30, 30, -1), 4, 40), rod((37.05, 30, -1), 3, 40)),
        0.05,
        lambda p: abs(p.y - 30) + min(abs(p.x - 34), abs(p.x - 34.05)),
    ),
    "crossing-bores": (
        cut(box((0, 0, 0), (60, 60, 60)), rod((30, 30, -1), 5, 70), rod((-1, 42, 30), 4, 70, (1, 0, 0))),
        3.0,
        lambda p: abs(p.x - 30) + abs(p.z - 30) + min(abs(p.y - 35), abs(p.y - 38)),
    ),
    "T11-wedge-has-only-its-width": (
        prism([(0, 0), (50, 0), (50, 50 * math.tan(math.radians(10)))], 20),
        20.0,
        lambda p: min(abs(p.y), abs(p.y - 20)),
    ),
    "T12-tapered-plate": (
        prism([(0, 0), (100, 0), (100, 4), (0, 2)], 30),
        2.0,
        lambda p: abs(p.x) + min(abs(p.z), abs(p.z - 2)),
    ),
    "T13-floor-under-a-drill-point": (
        cut(box((-20, -20, 0), (20, 20, 10)), drilled(4.0)),
        4.0 - POINT_HEIGHT,
        lambda p: math.hypot(p.x, p.y) + min(abs(p.z), abs(p.z - 4 + POINT_HEIGHT)),
    ),
    "T14-pocket-floor": (
        cut(box((0, 0, 0), (60, 40, 12)), box((10, 10, 2), (50, 30, 13))),
        2.0,
        lambda p: max(10 - p.x, p.x - 50, 10 - p.y, p.y - 30, 0.0) + min(abs(p.z), abs(p.z - 2)),
    ),
    "T16-rib-between-pockets": (
        cut(box((0, 0, 0), (60, 40, 30)), box((5, 5, 10), (25, 35, 31)), box((26.5, 5, 10), (55, 35, 31))),
        1.5,
        lambda p: max(10 - p.z, 0.0) + min(abs(p.x - 25), abs(p.x - 26.5)),
    ),
    "rib-with-draft": (
        prism([(0, 0), (60, 0), (60, 8), (31.5, 8), (31, 20), (29, 20), (28.5, 8), (0, 8)], 40),
        2.0,
        lambda p: abs(p.z - 20) + min(abs(p.x - 29), abs(p.x - 31)),
    ),
    "T18-neck-of-a-grooved-rod": (
        turned([(0, 0), (10, 0), (10, 20), (3, 20), (3, 25), (10, 25), (10, 45), (0, 45)]),
        6.0,
        lambda p: abs(math.hypot(p.x, p.y) - 3) + max(20 - p.z, p.z - 25, 0.0),
    ),
    "neck-of-a-round-groove": (
        cut(rod((0, 0, 0), 10, 40), ring((0, 0, 20), 10, 3)),
        14.0,
        lambda p: abs(math.hypot(p.x, p.y) - 7) + abs(p.z - 20),
    ),
    "cone-shell": (
        turned([(10, 0), (10 + 3 / COS20, 0), (10 + 3 / COS20 + 40 * TAN20, 40), (10 + 40 * TAN20, 40)]),
        3.0,
        anywhere,
    ),
    "slender-frustum": (taper((0, 0, 0), 5, 2, 40), 4.0, lambda p: abs(p.z - 40) + abs(math.hypot(p.x, p.y) - 2)),
    "solid-ring": (ring((0, 0, 0), 20, 3), 6.0, lambda p: math.hypot(math.hypot(p.x, p.y) - 20, p.z) - 3),
    "shaft-with-a-flat": (
        cut(rod((0, 0, 0), 10, 40), box((6, -20, -1), (20, 20, 41))),
        16.0,
        lambda p: abs(p.y) + min(abs(p.x - 6), abs(p.x + 10)),
    ),
    "lens": (
        common(ball((0, 0, -50), 52), ball((0, 0, 50), 52)),
        4.0,
        lambda p: math.hypot(p.x, p.y) / 20 + abs(abs(p.z) - 2),
    ),
    "ridge-of-a-groove-over-a-floor": (
        cut(box((0, 0, 0), (40, 30, 10)), prism([(20, 3), (28, 11), (12, 11)], 30)),
        3.0,
        lambda p: abs(p.x - 20) + min(abs(p.z), abs(p.z - 3)),
    ),
    "T-slot-lips": (
        cut(box((0, 0, 0), (60, 50, 30)), box((25, -1, 18), (35, 51, 31)), box((20, -1, 12), (40, 51, 25))),
        5.0,
        lambda p: min(abs(p.z - 25), abs(p.z - 30)),
    ),
    "counterbore-corner-beside-a-bore": (
        cut(box((0, 0, 0), (60, 60, 40)), rod((20, 20, 20), 6, 30), rod((-1, 33, 14), 5, 70, (1, 0, 0))),
        math.hypot(33 - 26, 20 - 14) - 5,
        lambda p: min(abs(p.y - 26) + abs(p.z - 20), abs(math.hypot(p.y - 33, p.z - 14) - 5)) + abs(p.x - 20),
    ),
}


def check(facts: Facts, geometry: Geometry, expected: float) -> Vec:
    """Assert the thickness, to 0.001 mm and 0.01 %, and return its place."""
    measure = taken("min_wall_mm", facts, geometry)
    assert measure.value == pytest.approx(expected, rel=1e-4, abs=1e-3)
    assert measure.point_mm is not None
    assert measure.faces
    return measure.point_mm


@pytest.mark.parametrize("turned_away", [False, True], ids=["straight", "askew"])
@pytest.mark.parametrize(("shape", "expected", "where"), CASES.values(), ids=CASES.keys())
def test_thickness_and_place_are_those_of_the_formula(
    shape: TopoDS_Shape, expected: float, where: Where, turned_away: bool
) -> None:
    """The least thickness of each solid is the formula's, and lies where the formula has it."""
    point = check(*loaded(askew(shape) if turned_away else shape), expected)
    assert where(Point(*(back_from_askew(point) if turned_away else point))) == pytest.approx(0.0, abs=2e-2)


@pytest.mark.parametrize(
    ("shape", "expected"),
    [
        pytest.param(cut(rod((0, 0, 0), 10, 30), rod((3, 0, -1), 4, 32)), 3.0, id="eccentric-bore"),
        pytest.param(cut(ball((0, 0, 0), 20), ball((2, 0, 0), 15)), 3.0, id="eccentric-cavity"),
        pytest.param(prism([(0, 0), (100, 0), (100, 4), (0, 2)], 30), 2.0, id="tapered-plate"),
    ],
)
def test_a_copy_as_splines_is_as_thick(shape: TopoDS_Shape, expected: float) -> None:
    """Surfaces that an exporter wrote as B-splines are measured like the plain ones they are."""
    check(*loaded(as_splines(askew(shape))), expected)


def test_a_free_wall_is_measured_square_to_it() -> None:
    """A wavy strip, 3 mm high in z, is thinnest where it is steepest: against a fine search along its own curve."""
    curve = wave(0.0, 6.0, -3.0, 8.0, -5.0, 4.0, 0.0)
    t = np.linspace(curve.FirstParameter(), curve.LastParameter(), 4001)
    line = np.array([(p.X(), p.Z()) for p in map(curve.Value, t.tolist())])

    def upwards(parameter: float) -> float:
        point = curve.Value(parameter)
        return float(np.hypot(*(line + np.array([0.0 - point.X(), 3.0 - point.Z()])).T).min())

    coarse = np.array([upwards(each) for each in t[::40].tolist()])
    around = t[::40][max(int(coarse.argmin()) - 1, 0)], t[::40][int(coarse.argmin()) + 1]
    expected = float(minimize_scalar(upwards, bounds=around, method="bounded").fun)
    facts, geometry = loaded(askew(wavy_strip(curve, 3.0, 20.0)))
    assert taken("min_wall_mm", facts, geometry).value == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(
    "shape",
    [
        pytest.param(taper((0, 0, 0), 10, 0, 30), id="cone-tip"),
        pytest.param(taper((0, 0, 0), 3, 0, 30), id="needle"),
        pytest.param(prism([(0, 0), (50, 0), (25, 30)], 400), id="ridge-roof-but-for-its-ends"),
    ],
)
def test_edges_and_tips_are_no_walls(shape: TopoDS_Shape) -> None:
    """Where faces only meet in an edge or a tip there is nothing thin, and nothing to list."""
    facts, geometry = loaded(askew(shape))
    measured, problems = take_all(facts, geometry)
    assert measured.walls == ()
    assert problems == ()
    thickness = measured.measure("min_wall_mm")
    assert thickness is not None
    assert thickness.value is None or thickness.value == pytest.approx(400.0)


BLOCK = box((0, 0, 0), (40, 60, 80))


@pytest.mark.parametrize("face_class", ["outer", "recognised"])
@pytest.mark.parametrize(
    ("shape", "expected"),
    [
        pytest.param(broken(BLOCK, 2.0, rounded=False), 40.0, id="chamfers"),
        pytest.param(broken(BLOCK, 0.2, rounded=False), 40.0, id="fine-chamfers"),
        pytest.param(broken(BLOCK, 3.0, rounded=True), 40.0, id="rounds"),
        pytest.param(broken(BLOCK, 0.3, rounded=True), 40.0, id="fine-rounds"),
        pytest.param(broken(rod((0, 0, 0), 30, 80), 2.0, rounded=False), 60.0, id="turned-and-chamfered"),
        pytest.param(
            cut(box((0, 0, 0), (60, 60, 10)), rod((30, 30, -1), 2.5, 12), taper((30, 30, 7.5), 2.5, 5.0, 2.5)),
            10.0,
            id="countersunk-plate",
        ),
        pytest.param(cut(BLOCK, prism([(-1, 70), (-1, 81), (6, 81)], 60)), 40.0, id="long-lead-in"),
        pytest.param(
            cut(BLOCK, prism([(32, 81), (41, 81), (41, 60)], 60), prism([(8, 81), (-1, 81), (-1, 60)], 60)),
            40.0,
            id="blunt-blade",
        ),
    ],
)
def test_a_solid_block_with_broken_edges_is_as_thick_as_it_is(
    shape: TopoDS_Shape, expected: float, face_class: str
) -> None:
    """Chamfers, rounds, countersinks and lead-ins make no thin place, whether or not they were recognised."""
    facts, geometry = loaded(askew(shape), face_class="chamfer" if face_class == "recognised" else "outer")
    assert take_all(facts, geometry)[0].walls == ()
    check(facts, geometry, expected)


@pytest.mark.parametrize("rounded", [False, True], ids=["chamfered", "rounded"])
def test_a_wedge_whose_edge_is_broken_is_still_an_edge(rounded: bool) -> None:
    """Breaking the edge of a 15 degree wedge, as the drawing asks for, makes no wall of what is left."""
    wedge = prism([(0.0, 0.0), (60.0, 0.0), (60.0, 60.0 * math.tan(math.radians(15)))], 30)
    tip = box((-1, -1, -1), (2.0, 31, 1))
    facts, geometry = loaded(askew(cut(wedge, tip)))
    assert taken("min_wall_mm", facts, geometry).value == pytest.approx(2.0 * math.tan(math.radians(15)), abs=1e-3)
    land = min(range(facts.part.n_faces), key=lambda face: facts.part.face_area_mm2[face])
    named: list[FaceClass] = list(facts.face_class)
    named[land] = "edge_round" if rounded else "chamfer"
    assert taken("min_wall_mm", replace(facts, face_class=tuple(named)), geometry).value == pytest.approx(30.0)


@settings(max_examples=25, deadline=None)
@given(
    radius=st.floats(0.5, 8.0),
    other=st.floats(0.5, 8.0),
    web=st.floats(0.05, 6.0),
    bearing=st.floats(0.0, 360.0),
)
def test_two_bores_leave_their_pitch_less_their_radii(radius: float, other: float, web: float, bearing: float) -> None:
    """The web between two bores in any direction is pitch - (d1 + d2) / 2."""
    pitch, turn = radius + other + web, math.radians(bearing)
    far = (50 + pitch * math.cos(turn), 50 + pitch * math.sin(turn), -1)
    block = box((0, 0, 0), (100, 100, 30))
    check(*loaded(cut(block, rod((50, 50, -1), radius, 40), rod(far, other, 40))), web)


@settings(max_examples=25, deadline=None)
@given(least=st.floats(0.2, 5.0), more=st.floats(0.1, 3.0), angle=st.floats(0.0, 9.0))
def test_thickening_a_wall_never_thins_its_measure(least: float, more: float, angle: float) -> None:
    """A tapered plate made thicker all over measures as much thicker."""
    rise = 60.0 * math.tan(math.radians(angle))
    thin, thick = (prism([(0, 0), (60, 0), (60, t + rise), (0, t)], 40) for t in (least, least + more))
    first, second = (taken("min_wall_mm", *loaded(each)).value for each in (thin, thick))
    assert first is not None
    assert second == pytest.approx(first + more, abs=1e-3)


def test_the_same_part_gives_the_same_numbers() -> None:
    """Two loads of one solid give equal measures and places, to the last bit."""
    shape = askew(CASES["T06-eccentric-cavity"][0])
    first, second = (take_all(*loaded(shape))[0] for _ in range(2))
    assert first.measures == second.measures
    assert first.walls == second.walls


def test_a_thin_place_says_how_much_is_thin() -> None:
    """A pocket floor of 40 x 20 mm is thin over 800 mm2, on the face of the pocket, which is the smaller one."""
    shape = cut(box((0, 0, 0), (60, 40, 12)), box((10, 10, 2), (50, 30, 13)))
    place = take_all(*loaded(askew(shape)))[0].walls[0]
    assert place.thickness_mm == pytest.approx(2.0)
    assert place.area_mm2 == pytest.approx(800.0, rel=0.1)
    assert back_from_askew(place.point_mm)[2] == pytest.approx(2.0, abs=1e-6)


def test_a_rib_says_how_high_it_stands() -> None:
    """A rib of 1.5 mm between two pockets 20 mm deep stands 20 mm high along the pockets' direction."""
    shape = cut(box((0, 0, 0), (60, 40, 30)), box((5, 5, 10), (25, 35, 31)), box((26.5, 5, 10), (55, 35, 31)))
    facts, geometry = loaded(shape)
    facts = featured(facts, pocket(facts.part, (4, 4, 9), (25.5, 36, 29)), pocket(facts.part, (26, 4, 9), (56, 36, 29)))
    rib = take_all(facts, geometry)[0].walls[0]
    assert (rib.kind, rib.exact) == ("wall", True)
    assert rib.thickness_mm == pytest.approx(1.5)
    assert rib.height_mm == pytest.approx(20.0)
    assert rib.area_mm2 == pytest.approx(20.0 * 30.0, rel=0.1)


def test_without_a_feature_nothing_is_said_of_the_height() -> None:
    """A plate of no feature stands along no direction."""
    assert all(each.height_mm is None for each in take_all(*loaded(box((0, 0, 0), (40, 60, 3))))[0].walls)


def test_every_drafted_rib_is_exact_not_only_the_thinnest() -> None:
    """Three ribs with draft on both sides, 1, 1.5 and 2 mm at their tops: each is told exactly, at its top."""
    outline: list[tuple[float, float]] = [(0, 0), (90, 0)]
    for middle, top in ((70, 1.0), (45, 1.5), (20, 2.0)):
        outline += [(middle + 2, 6), (middle + top / 2, 24), (middle - top / 2, 24), (middle - 2, 6)]
    facts, geometry = loaded(askew(prism([*outline[:2], (90, 6), *outline[2:], (0, 6)], 40)))
    tops = take_all(facts, geometry)[0].walls[:3]
    assert [each.thickness_mm for each in tops] == pytest.approx([1.0, 1.5, 2.0], abs=1e-6)
    assert all(each.exact for each in tops)
    assert [back_from_askew(each.point_mm)[2] for each in tops] == pytest.approx([24.0] * 3, abs=1e-6)


def test_a_ridge_of_two_faces_is_one_place() -> None:
    """The floor under a V-groove is thin at its ridge, which belongs to both flanks and is listed once."""
    facts, geometry = loaded(askew(CASES["ridge-of-a-groove-over-a-floor"][0]))
    ridges = [each for each in take_all(facts, geometry)[0].walls if each.thickness_mm < 3.01]
    assert [each.thickness_mm for each in ridges] == pytest.approx([3.0])


@pytest.mark.parametrize("shift", [0.0, 0.3, 1.0], ids=["opposite", "a-little-aside", "aside"])
def test_two_ridges_are_as_far_apart_as_their_edges(shift: float) -> None:
    """Two V-grooves, one from above and one from below, leave the distance of their ridges."""
    above = prism([(20, 6), (28, 14), (12, 14)], 30)
    below = prism([(20 + shift, 4), (28 + shift, -4), (12 + shift, -4)], 30)
    check(*loaded(askew(cut(box((0, 0, 0), (60, 30, 10)), above, below))), math.hypot(2.0, shift))


def test_the_neck_between_two_pockets_that_nearly_meet_is_seen() -> None:
    """Pockets from above and from below, past one another by 1 mm in x and z, leave 1.41 mm from corner to corner."""
    above, below = box((5, 5, 6), (20, 25, 13)), box((21, 5, -1), (40, 25, 5))
    point = check(*loaded(askew(cut(box((0, 0, 0), (50, 30, 12)), above, below))), math.sqrt(2.0))
    x, _, z = back_from_askew(point)
    assert min(math.hypot(x - 20, z - 6), math.hypot(x - 21, z - 5)) == pytest.approx(0.0, abs=1e-6)


def test_a_countersink_through_a_chamfer_is_an_edge_between_them() -> None:
    """The flank stands square on the chamfer it cuts: they meet in an edge; the wall is the one below the hole."""
    block = cut(box((0, 0, 0), (40, 40, 20)), prism([(-1, -1), (3, -1), (-1, 3)], 40))
    sunk = cut(block, rod((-1, 20, 3.5), 1, 20, (1, 0, 0)), taper((0, 20, 3.5), 2.0, 1.0, 1.0, (1, 0, 0)))
    check(*loaded(askew(sunk)), 2.5)


@pytest.mark.parametrize("height", [0.3, 1.0, 4.0])
def test_a_low_wall_beside_a_bore_is_not_missed(height: float) -> None:
    """The step's wall comes within 2 mm of the bore over a small height only: between the samples of a large part."""
    block = cut(box((0, 0, 0), (120, 80, 20)), box((-1, 60, 20 - height), (121, 81, 21)), rod((33, 55.5, -1), 2.5, 30))
    check(*loaded(askew(block)), 2.0)
