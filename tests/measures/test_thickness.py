"""Thickness behind every triangle, as the ball that touches both faces."""

import math
from collections.abc import Sequence

import numpy as np
import pytest
from OCP.TopoDS import TopoDS_Shape

from analyzers.measures import take_all
from analyzers.measures._thickness import thickness_of_triangles
from analyzers.model.arrays import Floats, Ints
from analyzers.model.part import Part, Surface
from tests.measures._shapes import askew, ball, box, common, cut, loaded, prism, rod


def loaded_wedge(outline: Sequence[tuple[float, float]]) -> tuple[Part, Floats, Ints]:
    """Return the prism of an outline, the thickness behind its triangles, and those that look straight down."""
    facts, geometry = loaded(prism(outline, 20))
    down = np.flatnonzero(facts.part.face_normal[facts.part.mesh.triangle_face][:, 2] < -0.99)
    return facts.part, thickness_of_triangles(facts.part, geometry), down


@pytest.mark.parametrize("included_deg", [5.0, 10.0, 40.0])
def test_a_wedge_holds_a_ball_of_twice_x_times_the_tangent_of_half_its_angle(included_deg: float) -> None:
    """Table row T11: at x from the apex along a face of a wedge of angle 2a the ball measures 2 x tan(a)."""
    rise = 50.0 * math.tan(math.radians(included_deg))
    part, thickness, down = loaded_wedge([(0, 0), (50, 0), (50, rise)])
    x = part.mesh.point_mm[part.mesh.triangle[down]].mean(axis=1)[:, 0]
    assert len(x) >= 2
    assert thickness[down] == pytest.approx(2.0 * x * math.tan(math.radians(included_deg / 2.0)), rel=1e-5)


def test_the_worked_figures_of_the_wedge() -> None:
    """Included angle 10 degrees, 10 mm from the apex: 1.7633 straight across, 1.7498 by the ball."""
    across = 10.0 * math.tan(math.radians(10.0))
    assert across == pytest.approx(1.7633, abs=5e-5)
    assert across * (1.0 - math.tan(math.radians(5.0)) ** 2) == pytest.approx(1.7498, abs=5e-5)


def test_a_tapered_plate_is_a_hair_thinner_by_the_ball() -> None:
    """Table row T12, 2 to 4 mm over 100: the flat face by the wedge's formula from its virtual apex."""
    part, thickness, down = loaded_wedge([(0, 0), (100, 0), (100, 4), (0, 2)])
    x = 100.0 + part.mesh.point_mm[part.mesh.triangle[down]].mean(axis=1)[:, 0]
    assert thickness[down] == pytest.approx(2.0 * x * math.tan(0.5 * math.atan(0.02)), rel=1e-6)
    assert (thickness[down] < 0.02 * x).all()


@pytest.mark.parametrize(
    ("shape", "expected"),
    [
        pytest.param(cut(ball((0, 0, 0), 20), ball((0, 0, 0), 17)), 3.0, id="spheres"),
        pytest.param(cut(rod((0, 0, 0), 10, 30), rod((0, 0, -1), 8, 32)), 2.0, id="tube"),
        pytest.param(
            common(cut(ball((0, 0, 0), 20), ball((0, 0, 0), 17)), box((-30, -30, 0), (30, 30, 30))), 3.0, id="domes"
        ),
    ],
)
def test_a_shell_is_as_thick_all_over(shape: TopoDS_Shape, expected: float) -> None:
    """Concentric faces are R2 - R1 apart at every triangle, inside and out (table rows T04, T05, T07)."""
    facts, geometry = loaded(askew(shape))
    thickness = thickness_of_triangles(facts.part, geometry)
    mesh = facts.part.mesh
    corner = mesh.point_mm[mesh.triangle]
    wide = np.linalg.norm(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1) > 1e-9
    round_faces = facts.part.face_surface[mesh.triangle_face] != Surface.PLANE
    assert (~wide).sum() <= 4  # at the poles of the spheres
    assert thickness[round_faces & wide] == pytest.approx(expected, abs=1e-6)


def test_the_facts_carry_it_row_for_row_and_read_only() -> None:
    """One number per triangle of the shared mesh; nothing may write to it."""
    facts, geometry = loaded(box((0, 0, 0), (40, 60, 3)))
    thickness = take_all(facts, geometry)[0].thickness_mm
    assert thickness is not None
    assert len(thickness) == len(facts.part.mesh.triangle)
    assert sorted({round(each, 3) for each in thickness.tolist()}) == [3.0, 40.0, 60.0]
    assert not thickness.flags.writeable


def test_a_failure_costs_the_picture_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the thickness of triangles the measures stand, and a problem says what is missing."""

    def broken(*given: object) -> None:
        raise ZeroDivisionError(len(given))

    monkeypatch.setattr("analyzers.measures.thickness_of_triangles", broken)
    facts, problems = take_all(*loaded(box((0, 0, 0), (40, 60, 3))))
    assert facts.thickness_mm is None
    assert [each.stage for each in problems] == ["measure"]
    least = facts.measure("min_wall_mm")
    assert least is not None
    assert least.value == pytest.approx(3.0)
