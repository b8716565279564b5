"""Scores of recognition on two labelled sets from elsewhere, by the sets' own scoring script.

mfcad: 200 parts of the MFCAD data set (GitHub hducg/MFCAD, MIT licence; Cao et al., IDETC-CIE 2020), planar faces only.
mfinst: 150 parts made with the generator published with AAGNet (GitHub whjdark/AAGNet, MIT licence; Wu et al., RCIM
2024), 24 classes, half of the features intersect. Neither is committed here.
"""

import json
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from analyzers.features import recognise
from analyzers.kernel.arrays import read_part
from analyzers.kernel.exact import ExactGeometry
from analyzers.kernel.step_file import load
from analyzers.model.report import Facts


def as_report(facts: Facts) -> dict[str, Any]:
    """Return the part of a report that the sets' adapter reads, in the words of the contract."""
    part = facts.part
    faces = [
        {"index": index, "centroid_mm": part.face_centroid_mm[index].tolist(), "area_mm2": float(area)}
        for index, area in enumerate(part.face_area_mm2)
    ]
    features = [
        {"id": each.id, "kind": each.kind, "faces": list(each.faces), "through": each.dimensions().get("through")}
        for each in facts.features
    ]
    return {"bodies": [{"faces": faces, "features": features}]}


def write_report(path: Path, folder: Path) -> None:
    """Recognise the first solid of a file and write its report."""
    solid = load(path).solids[0]
    part = read_part(solid.shape, solid.name, solid.count)
    facts = recognise(part, ExactGeometry(solid.shape, part))
    folder.mkdir(parents=True)
    (folder / "report.json").write_text(json.dumps(as_report(facts)), encoding="utf-8")


@pytest.fixture(scope="session")
def scores(corpora: Path, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Return a function that scores one set once; skipped where the set or its scripts are missing."""

    @cache
    def score(name: str) -> dict[str, Any]:
        files = sorted((corpora / name).glob("*.step"))
        if not files or not all((corpora / each).is_file() for each in ("adapt_report.py", "score_faces.py")):
            pytest.skip(f"no {name} parts, or no scoring scripts, at {corpora}: set PARTSIEVE_CORPORA")
        work = tmp_path_factory.mktemp(name)
        for path in files:
            write_report(path, work / "reports" / path.stem)
        adapt = [sys.executable, str(corpora / "adapt_report.py"), str(work / "reports"), str(work / "predictions")]
        subprocess.run(adapt, check=True, capture_output=True)
        out = work / "scores.json"
        command = [sys.executable, str(corpora / "score_faces.py"), str(corpora / name), str(work / "predictions")]
        subprocess.run([*command, "--json", str(out)], check=True, capture_output=True)
        found: dict[str, Any] = json.loads(out.read_text(encoding="utf-8"))
        assert found["counts"]["parts"] == len(files)
        return found

    return score


FACES = [("mfcad", "face_accuracy", 0.995), ("mfinst", "face_accuracy", 0.95)]
FEATURES = [("mfcad", "strict", 0.99)]


@pytest.mark.parametrize(("name", "key", "least"), FACES)
def test_faces_get_the_class_of_the_label(scores: Any, name: str, key: str, least: float) -> None:
    """Share of faces whose class is the label's, strictly; a face that was not matched counts as wrong."""
    assert scores(name)[key] >= least


@pytest.mark.parametrize(("name", "kind", "least"), FEATURES)
def test_features_hold_the_faces_of_the_label(scores: Any, name: str, kind: str, least: float) -> None:
    """F1 of features whose set of faces and class are the label's exactly."""
    assert scores(name)["features"][kind]["f1"] >= least


@pytest.mark.parametrize("name", ["mfcad", "mfinst"])
def test_every_face_of_the_set_was_found_again(scores: Any, name: str) -> None:
    """Centroids and areas agree with those of the labels: else the scores above would measure something else."""
    assert scores(name)["counts"].get("unmatched truth faces", 0) == 0
