"""A face that cannot be triangulated costs what is measured on it, and nothing else. Met in shaken and cut models."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from OCP.TopoDS import TopoDS_Face, TopoDS_Shape

from analyzers import analyse
from analyzers.features._surfaces import surface_numbers
from analyzers.kernel import arrays
from analyzers.kernel.mesh import triangulate
from analyzers.model.arrays import Floats
from analyzers.model.part import Mesh
from analyzers.settings import load_settings


def blind_to(kinds: set[str], path: Path, monkeypatch: pytest.MonkeyPatch) -> set[int]:
    """Make the mesher fail on every other face of the features of some kinds, or of the outside; return the faces."""
    (body,) = analyse(path, load_settings()).bodies
    own = {face for each in body.facts.features if each.kind in kinds for face in each.faces}
    if "outer" in kinds:
        own |= {face for face, name in enumerate(body.facts.face_class) if name == "outer" and face % 2}

    def failing(shape: TopoDS_Shape, faces: list[TopoDS_Face], chord_mm: float, box: Floats) -> Mesh:
        mesh = triangulate(shape, faces, chord_mm, box)
        kept = ~np.isin(mesh.triangle_face, list(own))
        return replace(mesh, triangle=mesh.triangle[kept], triangle_face=mesh.triangle_face[kept])

    monkeypatch.setattr(arrays, "triangulate", failing)
    return own


@pytest.mark.parametrize(
    ("name", "kinds"),
    [
        ("boss_cover", {"boss"}),
        ("boss_cover", {"outer"}),
        ("wedge_block", {"outer"}),
        ("two_level_tray", {"step", "slot", "closed_pocket", "open_pocket"}),
        ("turned_bush", {"round_hole", "outer"}),
    ],
    ids=lambda value: value if isinstance(value, str) else "+".join(sorted(value)),
)
def test_the_rest_is_measured_and_planned(
    name: str, kinds: set[str], parts: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The body is in the report with its plan; the faces are told, and no stage stopped."""
    blind = blind_to(kinds, parts / f"{name}.step", monkeypatch)
    assert blind
    report = analyse(parts / f"{name}.step", load_settings())
    assert [each.message for each in report.problems if each.stage not in {"arrays", "measure"}] == []
    (body,) = report.bodies
    (told,) = [each for each in report.health.defects if each.code == "unmeshed_face"]
    assert told.count == len(blind)
    assert body.plan.setups


@pytest.mark.parametrize("far", [np.nan, np.inf, 1e300], ids=str)
def test_a_face_beyond_every_model_lies_on_no_other(far: float, parts: Path) -> None:
    """Places that are no numbers, or too large to be squared, join no two faces, and raise nothing."""
    (body,) = analyse(parts / "wedge_block.step", load_settings()).bodies
    part = body.facts.part
    origin = part.face_origin_mm.copy()
    origin[:2] = far
    numbers = surface_numbers(replace(part, face_origin_mm=origin))
    assert len(set(numbers[:2].tolist()) & set(numbers[2:].tolist())) == 0
