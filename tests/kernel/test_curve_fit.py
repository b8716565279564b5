"""Free curves that are lines, circles or ellipses; the truth is the formula that the points were made from."""

import math

import numpy as np
import pytest
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder

from analyzers.kernel.curve_fit import fit_curve
from analyzers.model.arrays import Floats
from analyzers.model.part import Curve
from tests.kernel._solids import as_splines, moved, part_of, turned_by

CENTRE = np.array([110.0, -35.0, 7.5])
ROWS = np.linalg.qr(np.array([[0.3, 0.9, -0.2], [0.8, -0.1, 0.4], [0.1, 0.2, 0.9]]))[0]
ASKEW = turned_by((0.3, -0.5, 0.8), 41.9, (31.7, -12.3, 55.1))


def arc(radius: float, turn_deg: float, start_deg: float = 33.0, other_radius: float | None = None) -> Floats:
    """Return 17 points of a tilted circle or ellipse, not evenly spread."""
    at = np.radians(start_deg + turn_deg * np.linspace(0.0, 1.0, 17) ** 1.2)
    across = radius if other_radius is None else other_radius
    return CENTRE + radius * np.cos(at)[:, None] * ROWS[0] + across * np.sin(at)[:, None] * ROWS[1]


def line(length: float) -> Floats:
    """Return 17 points of a line."""
    return CENTRE + length * np.linspace(0.0, 1.0, 17)[:, None] * ROWS[0]


@pytest.mark.parametrize("radius", [0.25, 4.0, 310.0])
@pytest.mark.parametrize("turn_deg", [360.0, -270.0, 90.0, 11.0])
def test_a_circle_is_found_with_its_numbers(radius: float, turn_deg: float) -> None:
    """Whole and part circles of any size: centre, radius, and the axis about which it runs as a screw."""
    found = fit_curve(arc(radius, turn_deg))
    assert found is not None
    assert found.kind == Curve.CIRCLE
    assert found.radius == pytest.approx(radius, abs=1e-7 * max(1.0, radius))
    assert found.centre == pytest.approx(CENTRE, abs=1e-6)
    assert np.array(found.axis) @ np.cross(ROWS[0], ROWS[1]) == pytest.approx(math.copysign(1.0, turn_deg), abs=1e-9)


def test_a_circle_off_by_less_than_the_tolerance_is_one() -> None:
    """What exporters round, 2e-5 mm here, is looked through; the radius is right to 1e-4."""
    found = fit_curve(arc(8.0, 200.0) + np.random.default_rng(1).uniform(-2e-5, 2e-5, (17, 3)))
    assert found is not None
    assert found.kind == Curve.CIRCLE
    assert found.radius == pytest.approx(8.0, abs=1e-4)


@pytest.mark.parametrize(
    ("points", "kind"),
    [
        pytest.param(line(40.0), Curve.LINE, id="a-line"),
        pytest.param(line(40.0) + 5e-5 * np.sin(np.arange(17))[:, None] * ROWS[2], Curve.LINE, id="a-line-nearly"),
        pytest.param(arc(20.0, 0.3), Curve.CIRCLE, id="an-arc-that-bows-by-2e-5"),
        pytest.param(arc(9.0, 300.0, other_radius=5.0), Curve.ELLIPSE, id="an-ellipse"),
    ],
)
def test_the_plainest_kind_is_taken(points: Floats, kind: Curve) -> None:
    """A line within the tolerance is a line, unless an arc fits far better."""
    found = fit_curve(points)
    assert found is not None
    assert found.kind == kind


@pytest.mark.parametrize(
    "points",
    [
        pytest.param(line(40.0) + 3e-4 * np.sin(np.arange(17))[:, None] * ROWS[2], id="a-wavy-line"),
        pytest.param(arc(8.0, 200.0) + 4e-4 * np.sin(np.arange(17))[:, None] * ROWS[2], id="a-circle-out-of-plane"),
        pytest.param(arc(8.0, 360.0) + np.linspace(0, 2, 17)[:, None] * ROWS[2], id="a-helix"),
        pytest.param(np.r_[arc(8.0, 90.0), arc(8.0, 90.0)[::-1]], id="an-arc-to-and-fro"),
        pytest.param(line(4.0)[:4], id="too-few-points"),
        pytest.param(np.full((17, 3), 2.0), id="a-point"),
        pytest.param(CENTRE + np.linspace(-3, 3, 17)[:, None] ** np.array([1, 2, 9]) * 1e-2, id="a-space-curve"),
        pytest.param(np.full((17, 3), math.nan), id="no-numbers"),
    ],
)
def test_other_curves_stay_free(points: Floats) -> None:
    """Off by more than the tolerance, or no such curve at all."""
    assert fit_curve(points) is None


@pytest.mark.parametrize(
    "solid",
    [
        pytest.param(lambda: BRepPrimAPI_MakeBox(31.0, 17.0, 9.0).Shape(), id="block"),
        pytest.param(lambda: BRepPrimAPI_MakeCylinder(6.5, 21.0).Shape(), id="round-bar"),
        pytest.param(lambda: BRepPrimAPI_MakeCylinder(6.5, 21.0, math.radians(250)).Shape(), id="part-of-a-bar"),
        pytest.param(lambda: BRepPrimAPI_MakeCone(8.0, 3.0, 12.0).Shape(), id="cone"),
    ],
)
def test_a_solid_written_as_splines_has_the_edges_it_had(solid: object) -> None:
    """Kind, length, middle, tangent, centre, axis and radius of every edge, on a tilted body off the origin."""
    shape = moved(solid(), ASKEW)  # type: ignore[operator] # pytest passes the builder through untyped
    plain, spline = part_of(shape), part_of(as_splines(shape))
    pair = [int(np.argmin(np.linalg.norm(spline.edge_mid_mm - mid, axis=1))) for mid in plain.edge_mid_mm]
    real = plain.edge_curve != Curve.DEGENERATE
    assert (spline.edge_curve[pair] == plain.edge_curve).all()
    for name, within in (("length_mm", 1e-6), ("mid_mm", 1e-6), ("centre_mm", 1e-6), ("radius_mm", 1e-6)):
        here, there = getattr(plain, f"edge_{name}"), getattr(spline, f"edge_{name}")[pair]
        assert there == pytest.approx(here, abs=within, nan_ok=True), name
    for name in ("tangent", "axis"):
        here, there = getattr(plain, f"edge_{name}")[real], getattr(spline, f"edge_{name}")[pair][real]
        assert np.abs(np.einsum("ij,ij->i", here, there)) == pytest.approx(
            np.einsum("ij,ij->i", here, here), abs=1e-9, nan_ok=True
        ), name
