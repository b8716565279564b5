"""A part with other numbers in a column: what it remembers is what a part made anew works out."""

from dataclasses import fields, replace
from functools import cached_property

import numpy as np
import pytest

from analyzers.model.part import _WORKED_OUT, Part
from tests.report import _builders as build

FACES = (0, 1, 2, 5)


def remembered(part: Part) -> tuple[list[int], list[int], float, tuple[float, ...]]:
    """Return all that a part works out and keeps."""
    return part.edges_of(FACES).tolist(), part.edges_within(FACES).tolist(), part.diagonal_mm, part.size_mm


@pytest.mark.parametrize(
    "columns",
    [
        pytest.param(("volume_mm3",), id="nothing-hangs-on-it"),
        pytest.param(("edge_faces",), id="edges"),
        pytest.param(("vertex_mm", "edge_mid_mm"), id="corners"),
        pytest.param(("box_mm",), id="box"),
    ],
)
def test_it_answers_as_one_made_anew(columns: tuple[str, ...]) -> None:
    """Whichever column changed, and whatever had been asked before."""
    part = build.plate()
    remembered(part)
    changes = {name: 2.0 * getattr(part, name) for name in columns}
    if "edge_faces" in columns:
        changes["edge_faces"] = np.roll(part.edge_faces, 1, axis=0)
    assert remembered(part.changed(**changes)) == remembered(replace(part, **changes))


def test_all_that_is_remembered_is_listed_with_columns_that_exist() -> None:
    """One that is not listed would merely be worked out again; a column that is not there would keep what is stale."""
    kept = {name for name, value in vars(Part).items() if isinstance(value, cached_property)}
    assert set(_WORKED_OUT) == kept
    assert {column for used in _WORKED_OUT.values() for column in used} <= {each.name for each in fields(Part)}
