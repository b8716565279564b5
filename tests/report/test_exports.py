"""Workbook, feature list and glTF, each read back with a library that did not write it."""

import csv
import io
import shutil
import struct
import subprocess
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pygltflib
import pytest

from analyzers.model.report import Report
from analyzers.pipeline import analyse_file
from analyzers.report.as_csv import features_csv
from analyzers.report.as_glb import M_PER_MM, REST, to_glb
from analyzers.report.as_json import to_json
from analyzers.report.as_xlsx import to_xlsx
from analyzers.settings import load_settings
from tests.report import _builders as build

PARTS = Path(__file__).parents[2] / "fixtures" / "parts"
NAMES = ("press_assembly", "oil_manifold")
OFFICE = shutil.which("soffice")


@cache
def report(name: str) -> Report:
    """Return the report of an example part, ordered seven times."""
    return analyse_file(PARTS / f"{name}.step", load_settings(None, None, None, 7)).report


def documents() -> list[dict[str, Any]]:
    """Return two reports as documents: four bodies, some of them several times, and one body."""
    return [to_json(report(name)) for name in NAMES]


def column(rows: list[tuple[Any, ...]], name: str) -> list[Any]:
    """Return the cells below a head, without the sum."""
    at = rows[0].index(name)
    return [row[at] for row in rows[1:] if row[1] is not None]


def sums(rows: list[tuple[Any, ...]]) -> dict[str, Any]:
    """Return what the line of sums says under each head."""
    last = next(row for row in rows if row[0] == "sum")
    return {head: value for head, value in zip(rows[0], last, strict=True) if value is not None and head != "file"}


def sheet_rows(book: openpyxl.Workbook, title: str) -> list[tuple[Any, ...]]:
    """Return all rows of a sheet as values."""
    return [tuple(row) for row in book[title].iter_rows(values_only=True)]


def test_workbook_holds_every_feature_finding_and_hole() -> None:
    """As many lines as the reports have features and findings; the hole chart counts each hole once."""
    book = openpyxl.load_workbook(io.BytesIO(to_xlsx(documents())))
    bodies = [body for document in documents() for body in document["bodies"]]
    features = [each for body in bodies for each in body["features"]]
    assert column(sheet_rows(book, "Features"), "callout") == [each["callout"] for each in features]
    assert len(column(sheet_rows(book, "Findings"), "rule")) == sum(len(body["findings"]) for body in bodies)
    holes = sum(each["kind"].endswith("_hole") for each in features)
    assert sum(column(sheet_rows(book, "Hole chart"), "quantity")) == holes
    assert len(column(sheet_rows(book, "Questions"), "question")) == sum(len(body["questions"]) for body in bodies)


def check_sums(rows: dict[str, list[tuple[Any, ...]]]) -> None:
    """Check the sums of a workbook against the documents that it was made from."""
    bodies = [body for document in documents() for body in document["bodies"]]
    minutes = sum(body["count"] * body["triage"]["machining_minutes"]["likely"] for body in bodies)
    assert any(body["count"] > 1 for body in bodies), "an example that could not show the difference"
    found = sums(rows["Bodies"])
    assert found["minutes of all"] == pytest.approx(minutes, rel=1e-6)
    assert found["count"] == sum(body["count"] for body in bodies)
    assert found["notes"] == sum(each["level"] == "note" for body in bodies for each in body["findings"])
    shares = sum(body["count"] * share["minutes"] for body in bodies for share in body["plan"]["time_shares"])
    assert sums(rows["Estimate"])["minutes of all"] == pytest.approx(shares, rel=1e-6)


def test_sums_as_written_are_right() -> None:
    """The values stored beside the formulas are what a viewer without a calculator shows."""
    book = openpyxl.load_workbook(io.BytesIO(to_xlsx(documents())), data_only=True)
    check_sums({title: sheet_rows(book, title) for title in book.sheetnames})


@pytest.mark.skipif(OFFICE is None, reason="NO OFFICE: install libreoffice-calc-nogui; formulas are not recalculated")
def test_sums_as_an_office_program_calculates_them(tmp_path: Path) -> None:
    """LibreOffice opens the workbook, calculates every formula itself, and comes to the right sums."""
    stale = tmp_path / "stale.xlsx"
    book = openpyxl.load_workbook(io.BytesIO(to_xlsx(documents())))  # formulas only: stored values are dropped
    book.save(stale)
    assert OFFICE
    subprocess.run(
        [OFFICE, f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}", "--headless", "--convert-to",
         "xlsx:Calc MS Excel 2007 XML", "--outdir", str(tmp_path / "out"), str(stale)],
        check=True, capture_output=True, timeout=180,
    )  # fmt: skip
    again = openpyxl.load_workbook(tmp_path / "out" / "stale.xlsx", data_only=True)
    assert again.sheetnames == book.sheetnames
    check_sums({title: sheet_rows(again, title) for title in again.sheetnames})


def test_text_of_a_model_is_never_a_formula() -> None:
    """A part called like a formula is text in the workbook and in the list."""
    attack = '=HYPERLINK("http://example.invalid";"x")'
    document = to_json(build.report(build.body(1, build.plate(attack))))
    document["bodies"][0]["features"][0]["callout"] = attack
    book = openpyxl.load_workbook(io.BytesIO(to_xlsx([document])))
    for title, at in (("Bodies", "C2"), ("Features", "E2")):
        assert book[title][at].data_type == "s"
        assert book[title][at].hyperlink is None
    line = list(csv.reader(io.StringIO(features_csv([document]))))[1]
    assert line[4].startswith("'=")


def test_a_file_that_was_not_read_is_a_line_with_its_reason() -> None:
    """A workbook over many files leaves none out."""
    book = openpyxl.load_workbook(io.BytesIO(to_xlsx([to_json(build.unreadable())])))
    first = sheet_rows(book, "Bodies")[1]
    assert first[0] == "clamp_plate.step"
    assert "PNG" in first[-1]


def test_feature_list_says_what_the_document_says() -> None:
    """Each line's diameter is that feature's; a pocket has none."""
    document = to_json(report("press_assembly"))
    lines = list(csv.DictReader(io.StringIO(features_csv([document]))))
    features = [each for body in document["bodies"] for each in body["features"]]
    assert [line["feature"] for line in lines] == [each["id"] for each in features]
    for line, each in zip(lines, features, strict=True):
        assert line["diameter mm"] == ("" if each.get("diameter_mm") is None else str(each["diameter_mm"]))


def points(model: pygltflib.GLTF2, mesh: int) -> np.ndarray[Any, Any]:
    """Return (N, 3) the positions of a mesh."""
    accessor = model.accessors[model.meshes[mesh].primitives[0].attributes.POSITION]
    view = model.bufferViews[accessor.bufferView]
    start = (view.byteOffset or 0) + (accessor.byteOffset or 0)
    data = model.binary_blob()[start : start + accessor.count * 12]
    return np.array(list(struct.iter_unpack("<3f", data)))


def test_gltf_has_a_node_for_each_feature_of_the_right_size() -> None:
    """Names are body, feature and callout; together the meshes are as large as the part, in metres, y up."""
    wanted = report("oil_manifold")
    body = wanted.bodies[0]
    model = pygltflib.GLTF2.load_from_bytes(to_glb(wanted))
    nodes = {node.name: node for node in model.nodes if node.mesh is not None}
    expected = {f"{body.id} {each.id} {each.callout()}" for each in body.facts.features} | {f"{body.id} {REST}"}
    assert set(nodes) == expected
    every = []
    for node in nodes.values():
        matrix = np.array(node.matrix).reshape(4, 4).T
        every.append(points(model, node.mesh) @ matrix[:3, :3].T)
    low, high = np.concatenate(every).min(axis=0), np.concatenate(every).max(axis=0)
    x, y, z = body.facts.part.size_mm
    assert (high - low) / M_PER_MM == pytest.approx([x, z, y], rel=1e-5)
    hole = body.facts.features[0]
    own = points(model, nodes[f"{body.id} {hole.id} {hole.callout()}"].mesh) / M_PER_MM
    mesh = body.facts.part.mesh
    corners = mesh.point_mm[mesh.triangle[np.isin(mesh.triangle_face, hole.faces)]].reshape(-1, 3)
    assert own.min(axis=0) == pytest.approx(corners.min(axis=0), rel=1e-5, abs=1e-4)
    assert own.max(axis=0) == pytest.approx(corners.max(axis=0), rel=1e-5, abs=1e-4)


def test_gltf_of_nothing_says_so() -> None:
    """A file without a body has nothing to draw."""
    with pytest.raises(ValueError, match="found no body"):
        to_glb(build.unreadable())
