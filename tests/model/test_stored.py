"""Facts go to disk and come back the same, and nothing that is read runs."""

import json
import zipfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from analyzers.model.finding import Finding
from analyzers.model.measure import Measure
from analyzers.model.report import Facts
from analyzers.model.source import Source
from analyzers.model.stored import FORMAT, StoredDamaged, restore, stored
from analyzers.pipeline import Measured, analyse_file, judge_again
from analyzers.report.as_html import to_html
from analyzers.report.as_json import to_json
from analyzers.settings import load_settings

PARTS = ("oil_manifold", "turned_bush", "wedge_block", "drilling_sampler")


@pytest.mark.parametrize("stem", PARTS)
def test_a_report_from_stored_facts_is_the_same(parts: Path, tmp_path: Path, stem: str) -> None:
    """Every number and every pixel: document and page are those made from the facts in memory."""
    settings = load_settings(quantity=3)
    analysis = analyse_file(parts / f"{stem}.step", settings)
    first = analysis.drawn()
    assert analysis.measured is not None
    (tmp_path / "facts").write_bytes(stored(analysis.measured.drawn_as(first)))
    second = judge_again(restore(Measured, tmp_path / "facts"), settings).drawn()
    for each in (first, second):
        each.timings_s.clear()
    assert to_json(first)["bodies"]
    assert to_json(first) == to_json(second)
    assert to_html(first) == to_html(second)


def test_restored_arrays_are_read_only_and_numbers_exact(parts: Path, tmp_path: Path) -> None:
    """Bit for bit, nan and infinity included, and as fixed as they were."""
    (body,) = analyse_file(parts / "turned_bush.step", load_settings()).report.bodies
    (tmp_path / "facts").write_bytes(stored(body.facts))
    again = restore(Facts, tmp_path / "facts")
    for name in ("face_radius_mm", "face_min_radius_mm", "edge_angle_deg", "vertex_mm"):
        before, after = getattr(body.facts.part, name), getattr(again.part, name)
        assert before.tobytes() == after.tobytes()
        assert before.dtype == after.dtype
        assert not after.flags.writeable
    assert again.features == body.facts.features


def test_what_cannot_be_stored_is_said(tmp_path: Path) -> None:
    """Only this package's dataclasses and plain values."""

    @dataclass(frozen=True)
    class Foreign:
        x: int = 1

    for value in (Foreign(), Source("a", "b", {1}), Measure(name="n", value=Path("x"))):  # type: ignore[arg-type]
        with pytest.raises(TypeError, match="cannot be stored"):
            (tmp_path / "facts").write_bytes(stored(value))


@pytest.mark.parametrize(
    "tree",
    [
        pytest.param(["class", "os", "system", {}], id="not-ours"),
        pytest.param(["class", "analyzers.model.stored", "restore", {}], id="a-function"),
        pytest.param(["class", "analyzers.model.stored", "Path", {}], id="imported-from-elsewhere"),
        pytest.param(["class", "analyzers.nothing", "X", {}], id="no-such-module"),
        pytest.param(["class", "analyzers.model.source", "Source", {"nonsense": 1}], id="no-such-field"),
        pytest.param(["class", "analyzers.model.source", "Source", 3], id="no-fields"),
        pytest.param(["array", 7, "<f8", [3], "C"], id="no-such-array"),
        pytest.param(["array", -8, "<f8", [1], "C"], id="before-the-first-array"),
        pytest.param(["array", 0, "<f8", [-1], "C"], id="no-such-shape"),
        pytest.param(["array", 0, "no kind", [1], "C"], id="no-such-kind-of-array"),
        pytest.param(["eval", "1"], id="no-such-kind"),
        pytest.param({}, id="an-object"),
    ],
)
def test_a_tampered_file_is_damaged_and_runs_nothing(tmp_path: Path, tree: object) -> None:
    """Whatever it names: one error, which says what was found."""
    path = tmp_path / "facts"
    with zipfile.ZipFile(path, "w") as file:
        file.writestr("tree.json", json.dumps([FORMAT, tree]))
        file.writestr("arrays", bytes(16))
    with pytest.raises(StoredDamaged, match=r"^facts: found "):
        restore(Source, path)


def test_an_array_of_objects_is_neither_stored_nor_read(tmp_path: Path) -> None:
    """Its bytes would be addresses."""
    path = tmp_path / "facts"
    with pytest.raises(TypeError, match="an array of object cannot be stored"):
        path.write_bytes(stored(Source("a.step", "0" * 64, np.array([{}], dtype=object))))  # type: ignore[arg-type]
    with zipfile.ZipFile(path, "w") as file:
        file.writestr("tree.json", json.dumps([FORMAT, ["array", 0, "|O", [1], "C"]]))
        file.writestr("arrays", bytes(16))
    with pytest.raises(StoredDamaged, match="an array of object"):
        restore(Source, path)


def test_arrays_come_back_in_their_order_of_memory(tmp_path: Path) -> None:
    """By rows or by columns: sums over them round alike; empty ones and single numbers keep their shape."""
    rows = np.arange(6.0).reshape(2, 3)
    given = (rows, np.asfortranarray(rows), rows[:, ::2], np.zeros((0, 3)), np.array(4), np.array(["a", "bcd"]))
    (tmp_path / "facts").write_bytes(stored(Measure(name="n", value=given)))  # type: ignore[arg-type]
    again = restore(Measure, tmp_path / "facts").value
    assert isinstance(again, tuple)
    for before, after in zip(given, again, strict=True):
        assert before.dtype == after.dtype
        assert before.shape == after.shape
        assert before.tobytes() == after.tobytes()
        assert before.flags.f_contiguous == after.flags.f_contiguous


def test_other_content_is_damaged(tmp_path: Path) -> None:
    """No file, half a file, another format, another class."""
    path = tmp_path / "facts"
    with pytest.raises(StoredDamaged):
        restore(Source, path)
    path.write_bytes(stored(Source("a.step", "0" * 64, 3)))
    assert restore(Source, path) == Source("a.step", "0" * 64, 3)
    with pytest.raises(StoredDamaged, match="expected Finding"):
        restore(Finding, path)
    path.write_bytes(path.read_bytes()[:60])
    with pytest.raises(StoredDamaged):
        restore(Source, path)
