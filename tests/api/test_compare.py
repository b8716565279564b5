"""`partsieve compare`, end to end on real files."""

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from tests.api.command import partsieve
from tests.compare._latch import Latch
from tests.kernel._files import write_shapes
from tests.kernel._solids import moved, turned_by

ASKEW = turned_by((0.3, -0.5, 0.8), 41.9, (31.7, -12.3, 55.1))


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory, parts: Path) -> Path:
    """Make a folder with two revisions, a turned copy of the first, and a broken file."""
    folder = tmp_path_factory.mktemp("revisions")
    first = Latch().work().shape
    write_shapes([first], folder / "rev_a.step")
    write_shapes([moved(first, ASKEW)], folder / "rev_a_turned.step")
    write_shapes([moved(replace(Latch(), dowel=8.0).work().shape, ASKEW)], folder / "rev_b.step")
    shutil.copy(parts.parent / "broken" / "cut_off.step", folder / "broken.step")
    return folder


def test_a_change_is_exit_status_1_and_told(here: Path) -> None:
    """The one wider hole is in the table, in the document and on the page, though the new revision lies askew."""
    done = partsieve("compare", "rev_a.step", "rev_b.step", "--out", "found", cwd=here)
    assert done.returncode == 1, done.stderr
    assert "~ hole ⌀6 THRU → ⌀8 THRU: diameter 6 → 8 mm" in done.stdout
    document = json.loads((here / "found" / "comparison.json").read_text("utf-8"))
    (body,) = document["bodies"]
    assert [each["differences"] for each in body["changed"]] == [[{"field": "diameter_mm", "old": 6.0, "new": 8.0}]]
    page = (here / "found" / "comparison.html").read_text("utf-8")
    assert "diameter 6 → 8 mm" in page
    assert "script-src" not in page  # the page runs nothing: default-src 'none'


def test_the_same_part_turned_is_exit_status_0(here: Path) -> None:
    """Lying elsewhere is no change of the part, and nothing but that is said."""
    done = partsieve("compare", "rev_a.step", "rev_a_turned.step", "--out", "same", "--no-html", cwd=here)
    assert done.returncode == 0, done.stdout
    assert done.stdout.strip() == "rev_a.step → rev_a_turned.step: Same geometry, lying elsewhere or turned."
    assert not (here / "same" / "comparison.html").exists()


def test_as_markdown_and_as_json(here: Path) -> None:
    """What is printed is the whole answer in the form asked for."""
    text = partsieve("compare", "rev_a.step", "rev_b.step", "--format", "markdown", "--no-html", cwd=here).stdout
    assert "| changed | hole ⌀6 THRU → ⌀8 THRU: diameter 6 → 8 mm |" in text
    printed = partsieve("compare", "rev_a.step", "rev_b.step", "--format", "json", "--no-html", cwd=here).stdout
    assert json.loads(printed)["same"] is False


def test_a_broken_model_is_exit_status_3(here: Path) -> None:
    """It is said which revision cannot be read and why; nothing is called added or removed."""
    done = partsieve("compare", "broken.step", "rev_a.step", "--out", "broken", cwd=here)
    assert done.returncode == 3
    assert "the old revision could not be analysed" in done.stdout
    assert json.loads((here / "broken" / "comparison.json").read_text("utf-8"))["added_bodies"] == []


def test_no_such_file_is_exit_status_2(here: Path) -> None:
    """The path is named."""
    done = partsieve("compare", "rev_a.step", "rev_c.step", cwd=here)
    assert done.returncode == 2
    assert "rev_c.step" in done.stderr


def test_a_folder_of_several_is_exit_status_2(here: Path) -> None:
    """A revision is one model."""
    done = partsieve("compare", ".", "rev_a.step", cwd=here)
    assert done.returncode == 2
    assert "expected one STEP file" in done.stderr
