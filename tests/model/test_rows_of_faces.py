"""Edges and triangles of some faces, found by index, against looking at every row."""

import numpy as np
import pytest

from tests.report import _builders as build


@pytest.mark.parametrize("faces", [(0,), (5, 6), (6, 0, 3, 0), tuple(range(7)), ()])
def test_the_rows_are_those_that_a_look_at_all_finds(faces: tuple[int, ...]) -> None:
    """Rising, each once, for one face, several, a repeated one, all and none."""
    part = build.plate()
    on = np.isin(part.edge_faces, faces)
    assert part.edges_of(faces).tolist() == np.flatnonzero(on.any(axis=1)).tolist()
    assert part.edges_within(faces).tolist() == np.flatnonzero(on.all(axis=1)).tolist()
    triangles = np.flatnonzero(np.isin(part.mesh.triangle_face, faces))
    assert part.mesh.rows_of(faces).tolist() == triangles.tolist()
