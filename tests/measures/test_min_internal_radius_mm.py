"""The smallest inside radius."""

from dataclasses import replace

import numpy as np
import pytest
from OCP.GeomLProp import GeomLProp_CLProps
from OCP.TopoDS import TopoDS_Shape

from analyzers.model.part import Surface
from tests.measures._shapes import (
    as_splines,
    askew,
    ball,
    box,
    broken,
    cut,
    featured,
    hole,
    loaded,
    ring,
    rod,
    taken,
    taper,
    wave,
    wavy_strip,
)

BLOCK = box((0, 0, 0), (60, 40, 20))
ROUNDED_POCKET = cut(BLOCK, broken(box((10, 10, 8), (50, 30, 40)), 4.0, rounded=True))


@pytest.mark.parametrize(
    ("shape", "expected"),
    [
        pytest.param(ROUNDED_POCKET, 4.0, id="pocket-rounded-at-wall-and-floor"),
        pytest.param(as_splines(ROUNDED_POCKET), 4.0, id="the-same-as-splines"),
        pytest.param(cut(BLOCK, rod((30, 20, 12), 9, 20)), 9.0, id="round-pocket"),
        pytest.param(cut(BLOCK, ball((30, 20, 22), 7)), 7.0, id="ball-hollow"),
        pytest.param(cut(rod((0, 0, 0), 10, 40), ring((0, 0, 20), 10, 3)), 3.0, id="round-groove-in-a-shaft"),
        pytest.param(cut(BLOCK, taper((30, 20, 12), 3, 9, 10)), 3.0, id="taper-at-its-narrow-end"),
    ],
)
def test_the_radius_is_that_of_the_cut(shape: TopoDS_Shape, expected: float) -> None:
    """Every kind of hollow face gives its smallest radius of curvature."""
    radius = taken("min_internal_radius_mm", *loaded(askew(shape)))
    assert radius.value == pytest.approx(expected, abs=1e-4)
    assert len(radius.faces) == 1
    assert radius.point_mm is not None


@pytest.mark.parametrize(
    "heights",
    [(0.0, 9.0, 2.0, 0.0), (0.0, 6.0, -3.0, 8.0, -5.0, 4.0, 0.0), (0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 9.0, 0.0)],
    ids=["one-hump", "three-humps", "one-among-many"],
)
def test_a_free_hollow_is_as_sharp_as_its_curve(heights: tuple[float, ...]) -> None:
    """The radius of a free face is the smallest along the curve it was swept from, found by a fine walk.

    Both sides of the strip are such faces: the hollows of one are the humps of the other.
    """
    curve = wave(*heights)
    steps = np.linspace(curve.FirstParameter(), curve.LastParameter(), 4001)
    sharpest = max(GeomLProp_CLProps(curve, t, 2, 1e-9).Curvature() for t in steps.tolist())
    radius = taken("min_internal_radius_mm", *loaded(wavy_strip(curve, 3.0, 20.0)))
    assert radius.value == pytest.approx(1.0 / sharpest, rel=2e-3)


@pytest.mark.parametrize(
    "shape",
    [
        pytest.param(broken(BLOCK, 3.0, rounded=True), id="rounded-outside"),
        pytest.param(rod((0, 0, 0), 10, 30), id="rod"),
        pytest.param(cut(BLOCK, box((10, 10, 8), (50, 30, 40))), id="sharp-pocket"),
        pytest.param(cut(BLOCK, taper((30, 20, 12), 0, 9, 10)), id="tip-of-a-cone"),
    ],
)
def test_outside_rounds_and_sharp_corners_have_no_inside_radius(shape: TopoDS_Shape) -> None:
    """A body without hollow faces has none, and nothing is wrong; a sharp corner is no radius of 0."""
    radius = taken("min_internal_radius_mm", *loaded(askew(shape)))
    assert radius.value is None
    assert not radius.applies


def test_a_tip_that_rounding_moves_is_still_a_tip() -> None:
    """Some files begin a cone 3e-15 mm beside its tip: that is no radius."""
    facts, geometry = loaded(cut(BLOCK, taper((30, 20, 12), 0, 9, 10)))
    along = facts.part.face_along_mm.copy()
    along[facts.part.face_surface == Surface.CONE, 0] = 2.7e-15
    facts = replace(facts, part=replace(facts.part, face_along_mm=along))
    assert taken("min_internal_radius_mm", facts, geometry).value is None


def test_holes_do_not_count() -> None:
    """A 3 mm drilled hole beside a pocket with 4 mm radii: 4 mm."""
    facts, geometry = loaded(cut(ROUNDED_POCKET, rod((5, 5, -1), 1.5, 30)))
    assert taken("min_internal_radius_mm", facts, geometry).value == pytest.approx(1.5)
    facts = featured(facts, hole(facts.part, (4, 4, 5), (6, 6, 15)))
    assert taken("min_internal_radius_mm", facts, geometry).value == pytest.approx(4.0)
