"""Feet and normals from the arrays, against the kernel and against what a foot is."""

import numpy as np
import pytest
from OCP.TopoDS import TopoDS_Shape

from analyzers.measures._surface import analytic, dot, feet, outward
from tests.measures._shapes import askew, ball, box, cut, loaded, ring, rod, taper

SHAPES = {
    "plane": box((0, 0, 0), (6, 4, 3)),
    "cylinder": rod((0, 0, 0), 4, 9),
    "hole": cut(box((-9, -9, 0), (9, 9, 9)), rod((0, 0, -1), 4, 12)),
    "cone": taper((0, 0, 0), 6, 2, 9),
    "countersink": cut(box((-9, -9, 0), (9, 9, 9)), taper((0, 0, 0), 2, 6, 9)),
    "ball": ball((0, 0, 0), 5),
    "hollow": cut(box((-9, -9, 0), (9, 9, 9)), ball((0, 0, 9), 5)),
    "ring": ring((0, 0, 0), 9, 3),
    "round-groove": cut(rod((0, 0, 0), 10, 40), ring((0, 0, 20), 10, 3)),
}


@pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES.keys())
def test_normals_are_the_kernels(shape: TopoDS_Shape) -> None:
    """On every analytic face the outward normal from the arrays is the kernel's own."""
    facts, geometry = loaded(askew(shape))
    part = facts.part
    face = part.mesh.triangle_face
    point = part.mesh.point_mm[part.mesh.triangle].mean(axis=1)
    assert analytic(part, face).all()
    assert outward(part, face, point) == pytest.approx(geometry.normals(face, point), abs=1e-6)


@pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES.keys())
def test_a_foot_lies_on_the_face_and_square_below(shape: TopoDS_Shape) -> None:
    """From points lifted off a face along its normal the foot comes back to where they were lifted from."""
    part = loaded(askew(shape))[0].part
    face = part.mesh.triangle_face
    on = feet(part, face, part.mesh.point_mm[part.mesh.triangle].mean(axis=1))
    assert feet(part, face, on) == pytest.approx(on, abs=1e-9)
    lifted = on + 0.7 * outward(part, face, on)
    assert feet(part, face, lifted) == pytest.approx(on, abs=1e-9)


def test_a_foot_stays_within_the_length_of_a_cylinder() -> None:
    """A point beyond the end of a rod falls on its rim, not on the axis' prolongation."""
    part = loaded(rod((0, 0, 0), 4, 9))[0].part
    face = np.flatnonzero(part.face_concave | (part.face_radius_mm > 0))
    foot = feet(part, face, np.array([[8.0, 0.0, 20.0]]))
    assert foot == pytest.approx(np.array([[4.0, 0.0, 9.0]]))


def test_a_point_on_the_axis_still_has_a_foot() -> None:
    """All directions are equally near there; any one will do, but it must lie on the face."""
    part = loaded(rod((0, 0, 0), 4, 9))[0].part
    face = np.flatnonzero(part.face_radius_mm > 0)
    foot = feet(part, face, np.array([[0.0, 0.0, 3.0]]))
    assert float(np.hypot(foot[0, 0], foot[0, 1])) == pytest.approx(4.0)
    assert foot[0, 2] == pytest.approx(3.0)
    assert dot(outward(part, face, foot), foot)[0] > 0
