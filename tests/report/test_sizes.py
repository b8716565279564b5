"""How large a page may be: 1.5 MB for 200 faces, 6 MB for 5,000, with features, findings and a mesh to match."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analyzers.kernel.drawing import MOST_HIDDEN
from analyzers.model.drawing import LineDrawing
from analyzers.model.part import Part
from analyzers.model.report import Report
from analyzers.report.as_html import to_html
from analyzers.report.views import STANDARD_VIEWS, best_corner
from tests.report import _builders as build

PIECES_PER_FACE = 20
CHAIN = 8
"""Lines of one view for each face, and how many go on from one another: 11 to 15 and more were counted on parts of 139
to 295 faces."""


def tiled(tiles: int) -> Part:
    """Return many plates of seven faces in a field as one part."""
    one = build.plate()
    mesh, points = one.mesh, len(one.mesh.point_mm)
    shift = np.array([[90.0 * (i % 32), 60.0 * (i // 32), 0.0] for i in range(tiles)])
    many = replace(
        mesh,
        point_mm=(mesh.point_mm[None] + shift[:, None]).reshape(-1, 3),
        triangle=(mesh.triangle[None] + points * np.arange(tiles)[:, None, None]).reshape(-1, 3),
        triangle_face=(mesh.triangle_face[None] + one.n_faces * np.arange(tiles)[:, None]).ravel(),
    )
    arrays = [name for name in one.__dataclass_fields__ if isinstance(getattr(one, name), np.ndarray)]
    per_face: dict[str, Any] = {
        name: np.concatenate([getattr(one, name)] * tiles) for name in arrays if name.startswith("face_")
    }
    per_face["face_point_mm"] = (one.face_point_mm[None] + shift[:, None]).reshape(-1, 3)
    return replace(one, mesh=many, **per_face)


def crowded(faces: int) -> Report:
    """Return a report with a hole in every seven faces, a finding for every five holes, and line drawings."""
    tiles = faces // 7
    part = tiled(tiles)
    holes = tuple(
        build.hole(i + 1, faces=(7 * i + build.HOLE_FACE,), diameter_mm=4.0 + i % 40 / 10) for i in range(tiles)
    )
    random = np.random.default_rng(1)
    facts = replace(
        build.facts(part),
        features=holes,
        face_class=(("outer",) * 6 + ("hole",)) * tiles,
        thickness_mm=random.uniform(0.5, 40.0, len(part.mesh.triangle)),
    )
    said = tuple(
        build.finding(feature=each.id, faces=each.faces, message=f"Hole {each.id} sits {2 + i % 7} mm from a wall.")
        for i, each in enumerate(holes[::5])
    )
    start = random.uniform(0.0, 3000.0, (faces * PIECES_PER_FACE // CHAIN, 1, 2))
    points = start + np.cumsum(random.uniform(-9.0, 9.0, (len(start), CHAIN + 1, 2)), axis=1)
    lines = np.stack([points[:, :-1], points[:, 1:]], axis=2).reshape(-1, 2, 2)
    half = len(lines) // 2
    hidden = lines[half:] if len(lines) - half <= MOST_HIDDEN else lines[:0]  # as the kernel leaves them
    drawings = tuple(
        LineDrawing(view, lines[:half].copy(), lines[:0].copy(), hidden.copy())
        for view in (best_corner(facts), *STANDARD_VIEWS)
    )
    return build.report(replace(build.body(facts=facts, findings=said), drawings=drawings))


@pytest.mark.parametrize(("faces", "most"), [(203, 1_500_000), (4998, 6_000_000)])
def test_pages_stay_small(faces: int, most: int) -> None:
    """Everything that grows with the part is there: features, findings, mesh, thickness, lines of four views."""
    report = crowded(faces)
    assert report.bodies[0].facts.part.n_faces == faces
    assert len(to_html(report).encode()) <= most
