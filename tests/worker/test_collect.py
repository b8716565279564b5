"""From what people name to the list of models."""

import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.worker.test_archive import MODEL, zipped_names
from worker.collect import Model, collect, folders


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in an empty folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def write(*names: str) -> None:
    """Write a small model under each name."""
    for name in names:
        Path(name).parent.mkdir(parents=True, exist_ok=True)
        Path(name).write_bytes(MODEL)


def names(*named: str) -> list[str]:
    """Return the names of the models found; there must be no complaint."""
    found = collect(named)
    assert found.complaints == []
    return [each.name for each in found.models]


def test_a_folder_is_searched_with_all_below(here: Path) -> None:
    """Every promised suffix in any case, in the order of the names, and nothing else."""
    write("in/b.STEP", "in/a.stp", "in/deep/er/c.P21", "in/d.Stpz", "in/note.txt", "in/e.stl")
    assert names("in") == ["in/a.stp", "in/b.STEP", "in/d.Stpz", "in/deep/er/c.P21"]


def test_a_file_is_taken_whatever_its_name(here: Path) -> None:
    """Whoever names a file means it."""
    write("model.txt")
    assert names("model.txt") == ["model.txt"]


def test_what_is_named_twice_is_analysed_once(here: Path) -> None:
    """By path, by folder, by another spelling or by a link: one file is one model."""
    write("in/a.stp")
    Path("link.stp").symlink_to("in/a.stp")
    assert names("in/a.stp", "in", "in/../in/a.stp", "link.stp") == ["in/a.stp"]


def test_a_loop_of_links_ends(here: Path) -> None:
    """A folder that links to itself is searched once."""
    write("in/a.stp")
    Path("in/again").symlink_to(".")
    assert names("in") == ["in/a.stp"]


def test_each_member_of_an_archive_is_a_model(here: Path) -> None:
    """A refused member stays in the list with its reason, so that it gets a report."""
    zipped_names(Path("order.zip"), {"x/a.step": MODEL, "../b.step": MODEL})
    found = collect(["order.zip"])
    assert [each.name for each in found.models] == ["order.zip/../b.step", "order.zip/x/a.step"]
    assert [bool(each.refused) for each in found.models] == [True, False]
    assert "'../b.step' refused" in str(found.models[0].refused)


def test_a_broken_archive_is_one_refused_model(here: Path) -> None:
    """The others are not affected."""
    write("a.stp")
    Path("broken.zip").write_bytes(b"PK\x03\x04 and no more")
    found = collect(["broken.zip", "a.stp"])
    assert [each.name for each in found.models] == ["broken.zip", "a.stp"]
    assert "found damaged" in str(found.models[0].refused)


def test_what_is_not_there_is_said_and_the_rest_goes_on(here: Path) -> None:
    """One line each: what was found, what was expected."""
    write("a.stp")
    Path("empty").mkdir()
    found = collect(["missing.stp", "empty", "a.stp"])
    assert [each.name for each in found.models] == ["a.stp"]
    assert found.complaints == [
        "missing.stp: found nothing there; expected a STEP file or a folder",
        "empty: found a folder without STEP files; expected .p21, .step, .stp, .stpz, .zip in it or below",
    ]


def test_a_pipe_is_not_waited_for(here: Path) -> None:
    """What is no regular file is refused without being opened."""
    os.mkfifo("pipe.stp")
    (only,) = collect(["pipe.stp"]).models
    assert "no regular file" in str(only.refused)


@given(st.lists(st.sampled_from(["a", "A", "a-2", "a-3", "b", "...", ".", "A-2", "ä"]), max_size=12))
def test_folders_are_distinct_and_safe(stems: list[str]) -> None:
    """One folder for each model on any file system; a first comer keeps its stem."""
    models = [Model(Path(f"{number}/{stem}.stp")) for number, stem in enumerate(stems)]
    found = folders(models)
    assert len({each.casefold() for each in found}) == len(models)
    assert not {"", ".", ".."} & set(found)
    for number, each in enumerate(models):
        if each.stem.casefold() not in {other.stem.casefold() for other in models[:number]}:
            assert found[number] == each.stem
