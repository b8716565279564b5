"""Fillets: rounded inside corners, one feature for each chain of one radius; and round faces that are none."""

import pytest
from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet
from OCP.TopoDS import TopoDS_Shape

from analyzers.features.fillet import Fillet
from fixtures.make.vocabulary.blends import chamfer_edges, edges_at, fillet_edges, round_edges
from fixtures.make.vocabulary.draw import polygon, prism
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.raised import round_boss, square_boss
from fixtures.make.vocabulary.recesses import pocket, slot, step
from fixtures.make.vocabulary.stock import bar
from fixtures.make.vocabulary.work import Work
from tests.features._bench import (
    POSES,
    Build,
    Said,
    ball,
    box,
    cut,
    differences,
    every_face_once,
    joined,
    listed,
    of_family,
    plate,
    recognised,
    rod,
    taper,
)

TOP = 20.0


def fillet(radius: float, **more: object) -> Said:
    """Return what is said of one chain."""
    return {"kind": "fillet", "radius_mm": radius, "variable": False} | more


def stepped() -> Work:
    """Return the plate with a step along one side."""
    work = plate()
    step(work, (30.0, 40.0, TOP), 60.0, 15.0, 8.0, side=(0.0, 1.0, 0.0))
    return work


def one() -> Work:
    """Return the step with its inside corner filleted."""
    work = stepped()
    fillet_edges(work, [(30.0, 25.0, 12.0)], 3.0)
    return work


def around_a_corner() -> Work:
    """Return a cut corner whose three inside edges are filleted: two floors' edges, an upright one, a ball patch."""
    work = plate()
    step(work, (30.0, 40.0, TOP), 25.0, 15.0, 8.0, side=(0.0, 1.0, 0.0), through=False)
    floor_edges = [(30.0, 25.0, 12.0), (17.5, 33.0, 12.0), (17.5, 25.0, 16.0)]
    fillet_edges(work, floor_edges, 2.0)
    return work


def pocketed(corner: float, floor: float = 0.0) -> Build:
    """Return the plate with a pocket of these radii."""

    def build() -> Work:
        work = plate()
        pocket(work, (29.0, 19.0, TOP), 34.0, 24.0, 9.0, corner_radius=corner, floor_radius=floor)
        return work

    return build


def round_foot() -> Work:
    """Return a round boss with a filleted foot: one torus."""
    work = plate()
    round_boss(work, (21.0, 17.0, TOP), 10.0, 6.0)
    fillet_edges(work, [(21.0, 22.0, TOP)], 1.5)
    return work


def square_foot() -> Work:
    """Return a rectangular boss with a filleted foot: four cylinders and what joins them."""
    work = plate()
    square_boss(work, (30.0, 20.0, TOP), 20.0, 12.0, 8.0)
    feet = [(30.0, 14.0, TOP), (40.0, 20.0, TOP), (30.0, 26.0, TOP), (20.0, 20.0, TOP)]
    fillet_edges(work, feet, 1.5)
    return work


def variable() -> TopoDS_Shape:
    """Return the step with a fillet that grows from 1 to 4."""
    shape = stepped().shape
    maker = BRepFilletAPI_MakeFillet(shape)
    maker.Add(1.0, 4.0, edges_at(shape, [(30.0, 25.0, 12.0)])[0])
    return maker.Shape()


def bottom_of_a_hole() -> Work:
    """Return a flat-bottomed hole with a rounded floor."""
    work = plate()
    drill(work, (25.0, 20.0, TOP), 16.0, 9.0, bottom="flat")
    fillet_edges(work, [(25.0, 28.0, 11.0)], 2.0)
    return work


def two_radii() -> Work:
    """Return two steps beside one another, filleted with different radii."""
    work = one()
    step(work, (30.0, 0.0, TOP), 60.0, 8.0, 8.0, side=(0.0, -1.0, 0.0))
    fillet_edges(work, [(30.0, 8.0, 12.0)], 1.0)
    return work


def obtuse() -> Work:
    """Return a bar whose inside corner of 240 degrees is filleted."""
    profile = [(0.0, 0.0), (60.0, 0.0), (60.0, 27.32), (30.0, 10.0), (0.0, 10.0)]
    work = bar(profile, 30.0, (60.0, 30.0, 27.32))
    fillet_edges(work, [(30.0, 15.0, 10.0)], 5.0)
    return work


def in_halves() -> TopoDS_Shape:
    """Return the filleted step put together from two halves along the step: still one fillet."""
    body = one().shape
    return joined(cut(body, box((30, -1, -1), (61, 41, 30))), cut(body, box((-1, -1, -1), (30, 41, 30))))


FIRES = [
    pytest.param(one, [fillet(3.0, n_faces=1)], id="one-edge"),
    pytest.param(around_a_corner, [fillet(2.0, n_faces=4)], id="three-edges-and-their-corner"),
    pytest.param(pocketed(4.0), [fillet(4.0)] * 4, id="four-corners-of-a-pocket"),
    pytest.param(pocketed(5.0, 2.0), [fillet(5.0)] * 4 + [fillet(2.0, n_faces=8)], id="corners-and-floor-ring"),
    pytest.param(pocketed(3.0, 3.0), [fillet(3.0, n_faces=12)], id="corners-and-floor-of-one-radius"),
    pytest.param(round_foot, [fillet(1.5, n_faces=1)], id="foot-of-a-round-boss"),
    pytest.param(square_foot, [fillet(1.5)], id="foot-of-a-rectangular-boss"),
    pytest.param(variable, [{"kind": "fillet", "variable": True}], id="variable"),
    pytest.param(bottom_of_a_hole, [fillet(2.0, n_faces=1)], id="floor-of-a-hole"),
    pytest.param(two_radii, [fillet(3.0), fillet(1.0)], id="two-radii"),
    pytest.param(obtuse, [fillet(5.0)], id="obtuse-corner"),
    pytest.param(in_halves, [fillet(3.0, n_faces=2)], id="in-two-halves"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "expected"), FIRES)
def test_a_fillet_is_found_with_its_radius(build: Build, expected: list[Said], pose: str) -> None:
    """Each chain of fillets of one radius, corner patches included, is one feature."""
    facts = recognised(build, POSES[pose])
    assert differences(expected, of_family(facts, Fillet)) == []
    assert every_face_once(facts)


def rounded() -> Work:
    """Return the plate with rounded outside edges."""
    work = plate()
    round_edges(work, [(30.0, 0.0, TOP)], 3.0)
    return work


def drilled() -> Work:
    """Return the plate with a hole."""
    work = plate()
    drill(work, (17.0, 13.0, TOP), 6.0, 12.0)
    return work


def obround(through: bool) -> Build:
    """Return the plate with a slot of two round ends."""

    def build() -> Work:
        work = plate()
        slot(
            work, (30.0, 20.0, TOP), 36.0, 8.0, 20.0 if through else 6.0, ends=("round", "round"), through_floor=through
        )
        return work

    return build


def chamfered() -> Work:
    """Return the plate with a chamfer."""
    work = plate()
    chamfer_edges(work, [(30.0, 0.0, TOP)], 2.0)
    return work


def sloped_corner() -> Work:
    """Return a bar whose inside corner is filled with a slope: hollow, but flat."""
    return bar([(0, 0), (60, 0), (60, 10), (34, 10), (30, 14), (30, 25), (0, 25)], 30.0, (60.0, 30.0, 25.0))


def splayed_from_a_point() -> TopoDS_Shape:
    """Return a plate with a sunk pocket, sharp at its floor, whose walls and corners lean outwards by 45 degrees.

    Its corners are cones that begin at nothing: no ball rolls there.
    """
    along_x = prism(polygon([(20, 12, 14), (40, 12, 14), (46, 12, 20), (14, 12, 20)]), (0, 16, 0))
    along_y = prism(polygon([(20, 12, 14), (20, 28, 14), (20, 34, 20), (20, 6, 20)]), (20, 0, 0))
    corners = [taper((x, y, 14), 0, 12, 6) for x in (20, 40) for y in (12, 28)]
    return cut(box((0, 0, 0), (60, 40, 20)), along_x, along_y, *corners)


SILENT = [
    pytest.param(plate, id="plain-block"),
    pytest.param(splayed_from_a_point, id="cones-that-begin-at-nothing"),
    pytest.param(stepped, id="sharp-step"),
    pytest.param(rounded, id="edge-round"),
    pytest.param(drilled, id="hole"),
    pytest.param(obround(through=False), id="obround-slot"),
    pytest.param(obround(through=True), id="obround-window"),
    pytest.param(pocketed(0.0), id="sharp-pocket"),
    pytest.param(chamfered, id="chamfer"),
    pytest.param(sloped_corner, id="slope-in-the-corner"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), rod((-1, 20, 20), 10, 70, (1, 0, 0))), id="round-channel"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), ball((30, 20, 24), 16)), id="ball-dimple"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), rod((30, -2, -1), 10, 30)), id="round-bite"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", SILENT)
def test_what_is_no_fillet_is_not_taken_for_one(build: Build, pose: str) -> None:
    """Outside rounds, holes, slot ends, channels and slopes are no fillets."""
    facts = recognised(build, POSES[pose])
    assert listed(of_family(facts, Fillet)) == []
    assert every_face_once(facts)


def test_a_variable_fillet_names_its_least_and_largest_radius() -> None:
    """From 1 to 4: the cutter must not be larger than 1."""
    (found,) = of_family(recognised(variable), Fillet)
    assert isinstance(found, Fillet)
    assert found.radius_mm == pytest.approx(1.0, abs=0.05)
    assert found.largest_radius_mm == pytest.approx(4.0, abs=0.05)


def test_the_callout() -> None:
    """A radius as drawings write it."""
    (found,) = of_family(recognised(one), Fillet)
    assert found.callout() == "R3"
