"""Diameters that a model's own drawing states are the diameters of the holes that are recognised.

The models are NIST's test cases for product and manufacturing information (public domain; corpora/real/SOURCES.md):
their semantic dimensions were drawn by NIST, not by us, and the files come from several CAD systems.
"""

from collections import Counter
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from analyzers.features import recognise
from analyzers.features.hole import Hole
from analyzers.kernel.arrays import read_part
from analyzers.kernel.exact import ExactGeometry
from analyzers.kernel.step_file import load
from analyzers.model.feature import Feature
from analyzers.model.report import Facts
from analyzers.model.tolerance_note import ToleranceNote

CTC_01 = "nist_ctc_01_asme1_ap242.stp"
SAME_PART = ["nist_ctc_01_asme1_ap203.stp", "brlcad-nist_mbe_pmi_1.stp"]  # without semantic dimensions
WITHIN = 1e-4  # mm


@dataclass(frozen=True)
class Row:
    """One diameter of a file, beside the feature at which it points."""

    file: str
    note: ToleranceNote
    feature: Feature | None
    outcome: str  # agreed | differed | not found | no hole | no value


@cache
def read(path: Path) -> tuple[Facts, tuple[ToleranceNote, ...]]:
    """Return what is recognised on the one solid of a file, and what the file says about it."""
    (solid,) = load(path).solids
    part = read_part(solid.shape, solid.name, 1)
    return recognise(part, ExactGeometry(solid.shape, part)), solid.tolerances


def diameters(hole: Hole) -> list[float]:
    """Return every diameter of a hole: of the drilled part, of its steps, of its counterbore or countersink."""
    fields = [value for key, value in hole.dimensions().items() if key.endswith("diameter_mm")]
    return [*fields, *(value for each in hole.segments for value in (each.diameter_mm, each.end_diameter_mm))]


def table(path: Path) -> list[Row]:
    """Return a row for each diameter or radius that the file states at a face."""
    facts, notes = read(path)
    owner = {face: each for each in facts.features for face in each.faces}
    rows = []
    for note in notes:
        if note.kind not in ("diameter", "radius") or not note.faces:
            continue
        feature = owner.get(note.faces[0])
        size = None if note.nominal_mm is None else note.nominal_mm * (2.0 if note.kind == "radius" else 1.0)
        hollow = bool(facts.part.face_concave[list(note.faces)].all()) and feature is not None
        if size is None:
            outcome = "no value"
        elif not isinstance(feature, Hole):
            round_ = hollow and bool((facts.part.face_span_deg[list(note.faces)] > 180.0).all())
            outcome = "not found" if round_ else "no hole"
        elif not set(note.faces) <= set(feature.faces):
            outcome = "not found"
        else:
            outcome = "agreed" if min(abs(each - size) for each in diameters(feature)) <= WITHIN else "differed"
        rows.append(Row(path.name, note, feature, outcome))
    return rows


def test_every_stated_diameter_is_that_of_the_hole_it_points_at(corpora: Path) -> None:
    """All NIST models: nothing differed, nothing was missed; CTC 01 states seven sizes and two more without a value."""
    files = sorted((corpora / "real").glob("*nist*.stp"))
    assert len(files) == 7
    rows = [row for path in files for row in table(path)]
    listed = "\n".join(f"{row.file} {row.note.callout()} {row.feature and row.feature.callout()}" for row in rows)
    assert Counter(row.outcome for row in rows) == {"agreed": 7, "no value": 2}, listed
    assert {row.file for row in rows} == {CTC_01}


def test_a_diameter_without_a_value_points_at_a_hole_that_has_one(corpora: Path) -> None:
    """The two that the file leaves open stand at holes whose size another dimension of the file states."""
    rows = table(corpora / "real" / CTC_01)
    known = {row.feature.id for row in rows if row.outcome == "agreed" and row.feature is not None}
    assert {row.feature.id for row in rows if row.outcome == "no value" and row.feature is not None} <= known


@pytest.mark.parametrize("name", SAME_PART)
def test_the_same_part_from_other_systems_has_the_same_holes(name: str, corpora: Path) -> None:
    """CTC 01 as other CAD systems wrote it (split faces, other schema, other place): every hole of the AP242 file."""
    here, _ = read(corpora / "real" / CTC_01)
    there, _ = read(corpora / "real" / name)
    shift = np.mean(there.part.box_mm, axis=0) - np.mean(here.part.box_mm, axis=0)
    for hole in here.features:
        if not isinstance(hole, Hole):
            continue
        at = np.array(hole.position_mm) + shift
        same = [
            each
            for each in there.features
            if isinstance(each, Hole) and np.linalg.norm(np.array(each.position_mm) - at) <= 0.01
        ]
        assert [each.callout() for each in same] == [hole.callout()]
        assert same[0].diameter_mm == pytest.approx(hole.diameter_mm, abs=WITHIN)
