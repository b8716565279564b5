from dataclasses import replace

import pytest

from analyzers.model.feature import FaceClass
from analyzers.model.part import Surface
from analyzers.rules._base import Case
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "freeform_share"


def with_share(share: float) -> Case:
    """Return a body of two faces of which one is free-form and has that share of the area."""
    faces = [
        solids.Face(Surface.BSPLINE, solids.UP, area=100.0 * share),
        solids.plane(solids.UP, area=100.0 * (1.0 - share)),
    ]
    one = build.case(build.region(faces=(0,)), part=solids.part_of(faces))
    classes: tuple[FaceClass, FaceClass] = ("freeform", "outer")
    return replace(one, facts=replace(one.facts, face_class=classes))


@pytest.mark.parametrize(("share", "level", "limit"), [(0.2, "note", 0.1), (0.5, "warning", 0.4)])
def test_fires(share: float, level: str, limit: float) -> None:
    """A fifth, and half of the surface."""
    (found,) = build.ask(RULE, with_share(share))
    assert build.told(found) == (level, pytest.approx(share), limit)
    assert (found.features, found.faces) == (("F1",), (0,))
    assert "10 µm" in found.suggestion


@pytest.mark.parametrize("share", [0.0, 0.05, pytest.param(0.1, id="exactly-at-the-limit")])
def test_stays_silent(share: float) -> None:
    """Little of it."""
    assert build.ask(RULE, with_share(share)) == []
