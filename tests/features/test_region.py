"""Free-form regions: what follows no elementary surface, with the ball that fits into it."""

import math
from collections.abc import Callable

import pytest
from OCP.BRepBuilderAPI import BRepBuilderAPI_GTransform
from OCP.gp import gp_GTrsf
from OCP.TopoDS import TopoDS_Shape

from analyzers.features.region import Region
from fixtures.make.vocabulary.blends import round_edges
from fixtures.make.vocabulary.freeform import cut_above
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.recesses import pocket
from fixtures.make.vocabulary.rings import face_groove
from fixtures.make.vocabulary.stock import Length, block, turned
from fixtures.make.vocabulary.work import Work
from tests.features._bench import (
    POSES,
    Build,
    ball,
    box,
    common,
    cut,
    every_face_once,
    joined,
    listed,
    of_family,
    plate,
    recognised,
    rod,
    taper,
)
from tests.kernel._solids import as_splines


def under(height: Callable[[float, float], float]) -> Build:
    """Return a block of 60 x 40 cut off above a free surface."""

    def build() -> Work:
        work = block((60.0, 40.0, 40.0))
        cut_above(work, (60.0, 40.0), height)
        return work

    return build


def dome(x: float, y: float) -> float:
    """Return the height of a surface that bulges everywhere."""
    return 30.0 - ((x - 30.0) / 12.0) ** 2 - ((y - 20.0) / 9.0) ** 2


def bowl(x: float, y: float) -> float:
    """Return the height of a paraboloid that is hollow everywhere: its radius at the bottom is 1 / (2 / 40) = 20."""
    return 15.0 + ((x - 30.0) ** 2 + (y - 20.0) ** 2) / 40.0


def saddle(x: float, y: float) -> float:
    """Return the height of a saddle: hollow one way with a radius of 25, bulging the other."""
    return 22.0 + (x - 30.0) ** 2 / 50.0 - (y - 20.0) ** 2 / 60.0


def stretched(shape: TopoDS_Shape, factor: float) -> TopoDS_Shape:
    """Return a shape stretched along x: its round faces become free."""
    stretch = gp_GTrsf()
    stretch.SetValue(1, 1, factor)
    return BRepBuilderAPI_GTransform(shape, stretch, True).Shape()


def elliptic_pin() -> TopoDS_Shape:
    """Return an upright pin of elliptic section."""
    return stretched(rod((0, 0, 0), 20, 15), 1.7)


FIRES = [
    pytest.param(under(dome), None, id="dome"),
    pytest.param(under(bowl), 20.0, id="bowl"),
    pytest.param(under(saddle), 25.0, id="saddle"),
    pytest.param(elliptic_pin, None, id="elliptic-pin"),
    pytest.param(lambda: stretched(ball((0, 0, 0), 20), 1.7), None, id="ellipsoid"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "radius"), FIRES)
def test_a_free_form_is_found_with_the_ball_that_fits(build: Build, radius: float | None, pose: str) -> None:
    """One region; its smallest hollow radius by the formula of its surface, None where it is nowhere hollow."""
    facts = recognised(build, POSES[pose])
    (region,) = of_family(facts, Region)
    assert isinstance(region, Region)
    if radius is None:
        assert region.min_concave_radius_mm is None
    else:  # the spline through a grid of points comes within a hundredth of the formula's bend
        assert region.min_concave_radius_mm == pytest.approx(radius, rel=0.02)
    assert region.area_mm2 == pytest.approx(float(facts.part.face_area_mm2[list(region.faces)].sum()))
    assert every_face_once(facts)


def test_two_dimples_are_two_regions() -> None:
    """Free faces that do not touch are regions of their own."""
    one, two = stretched(ball((8, 20, 24), 16), 1.6), stretched(ball((28, 20, 24), 14), 1.6)
    facts = recognised(lambda: cut(box((-10, 0, 0), (80, 40, 20)), one, two))
    assert len(of_family(facts, Region)) == 2


def test_touching_free_faces_are_one_region() -> None:
    """The halves of an elliptic pin belong together."""
    pin = elliptic_pin()
    halves = joined(cut(pin, box((0, -20, -1), (30, 20, 16))), cut(pin, box((-30, -20, -1), (0, 20, 16))))
    (region,) = of_family(recognised(lambda: halves), Region)
    assert len(region.faces) >= 2


def full_of_rounds() -> Work:
    """Return a plate with cylinders, cones, spheres and tori."""
    work = plate()
    pocket(work, (17.0, 20.0, 20.0), 24.0, 24.0, 8.0, corner_radius=5.0, floor_radius=2.0)
    drill(work, (40.0, 30.0, 20.0), 6.0, 12.0)
    face_groove(work, (45.0, 13.0, 20.0), 14.0, 2.0, 1.5)
    round_edges(work, [(30.0, 0.0, 20.0), (60.0, 20.0, 20.0), (60.0, 0.0, 10.0)], 2.0)
    return work


SILENT = [
    pytest.param(plate, id="plain-block"),
    pytest.param(full_of_rounds, id="cylinders-cones-spheres-tori"),
    pytest.param(lambda: as_splines(full_of_rounds().shape), id="the-same-as-splines"),
    pytest.param(lambda: turned([Length(20, 20, 30), Length(20, 30, 25)], size=(30.0, 30.0, 55.0)), id="taper-shaft"),
    pytest.param(lambda: ball((0, 0, 0), 30), id="ball"),
    pytest.param(lambda: common(ball((0, 0, 0), 30), box((-20, -20, 0), (20, 20, 20))), id="half-ball"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), taper((30, 20, 12), 2, 30, 9)), id="dish"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", SILENT)
def test_elementary_surfaces_are_no_free_form(build: Build, pose: str) -> None:
    """Planes, cylinders, cones, spheres and tori are none, however they are written."""
    facts = recognised(build, POSES[pose])
    assert listed(of_family(facts, Region)) == []
    assert every_face_once(facts)


def test_the_callout_names_the_largest_ball() -> None:
    """The smallest hollow radius, or nothing where there is none."""
    (hollow,) = of_family(recognised(under(bowl)), Region)
    (bulging,) = of_family(recognised(under(dome)), Region)
    assert hollow.callout().startswith("FREEFORM R")
    assert math.isclose(float(hollow.callout().split("R")[-1].split()[0]), 20.0, rel_tol=0.02)
    assert bulging.callout() == "FREEFORM"
