"""Archives that mean well and archives that do not."""

import contextlib
import gzip
import io
import stat
import struct
import tempfile
import zipfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzers.errors import UnreadableFile
from worker import archive
from worker.archive import is_archive, members, safe_name, unpack

MODEL = b"ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\n#1=CARTESIAN_POINT('',(0.,0.,0.));\nENDSEC;\nEND-ISO-10303-21;\n"


def zipped(path: Path, **content: bytes) -> Path:
    """Write a zip file; double underscores in names stand for what a keyword cannot hold."""
    return zipped_names(path, {name.replace("__", "."): data for name, data in content.items()})


def zipped_names(path: Path, content: dict[str, bytes]) -> Path:
    """Write a zip file with these members."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data in content.items():
            file.writestr(name, data)
    return path


def test_models_are_found_by_their_suffix_in_any_case(tmp_path: Path) -> None:
    """STEP members are listed by name; drawings, notes and folders are passed over."""
    path = zipped_names(
        tmp_path / "order.zip", {"b/Plate.STP": MODEL, "a.step": MODEL, "c.p21": MODEL, "note.txt": b"hello", "d/": b""}
    )
    assert [each.name for each in members(path)] == ["a.step", "b/Plate.STP", "c.p21"]
    assert all(each.refused is None for each in members(path))


def test_a_member_comes_out_as_it_went_in(tmp_path: Path) -> None:
    """The bytes are the same, and the file bears the member's last name."""
    path = zipped_names(tmp_path / "order.zip", {"b/Plate.STP": MODEL})
    out = unpack(path, "b/Plate.STP", tmp_path)
    assert (out.parent, out.name, out.read_bytes()) == (tmp_path, "Plate.STP", MODEL)


@pytest.mark.parametrize("name", ["plate.stpz", "plate.stp.gz", "plate.step.gz"])
def test_a_gzip_file_holds_one_model(tmp_path: Path, name: str) -> None:
    """A .stpz may be gzip instead of zip; its model is called after the file."""
    path = tmp_path / name
    path.write_bytes(gzip.compress(MODEL))
    (only,) = members(path)
    assert only.name.startswith("plate.st")
    assert unpack(path, only.name, tmp_path).read_bytes() == MODEL


@pytest.mark.parametrize(
    "name", ["../evil.step", "a/../../evil.step", "/etc/evil.step", "..\\..\\evil.step", "C:\\evil.step"]
)
def test_a_name_that_leads_out_is_refused(tmp_path: Path, name: str) -> None:
    """The member is named with the reason, and asking for it all the same writes nothing."""
    path = zipped_names(tmp_path / "slip.zip", {name: MODEL})
    (only,) = members(path)
    assert only.refused == "its name leads out of the folder"
    with pytest.raises(UnreadableFile, match="leads out"):
        unpack(path, only.name, tmp_path)
    assert [each.name for each in tmp_path.iterdir()] == ["slip.zip"]


@pytest.mark.parametrize("name", ["..plate.step", "a..b/plate.step", "plate...step"])
def test_dots_inside_a_name_are_no_way_out(tmp_path: Path, name: str) -> None:
    """Only a whole part of two dots leads up."""
    (only,) = members(zipped_names(tmp_path / "fine.zip", {name: MODEL}))
    assert only.refused is None


def test_a_bomb_is_refused_by_its_own_claim(tmp_path: Path) -> None:
    """Two megabytes of blanks deflate a thousandfold: refused before a byte is written."""
    path = zipped_names(tmp_path / "bomb.zip", {"a.step": b" " * (2 << 20)})
    (only,) = members(path)
    assert only.refused is not None
    assert "100 times" in only.refused


def test_a_bomb_that_lies_about_its_size_is_stopped_on_the_way(tmp_path: Path) -> None:
    """What counts is what comes out, not what the header claims."""
    path = zipped_names(tmp_path / "bomb.zip", {"a.step": b" " * (8 << 20)})
    data = path.read_bytes()
    true_size, small = struct.pack("<I", 8 << 20), struct.pack("<I", 5000)
    assert data.count(true_size) == 2
    path.write_bytes(data.replace(true_size, small))
    assert members(path)[0].refused is None
    with pytest.raises(UnreadableFile):
        unpack(path, "a.step", tmp_path)
    assert (tmp_path / "a.step").stat().st_size <= archive.FREE_BYTES


def test_a_gzip_bomb_is_stopped_on_the_way(tmp_path: Path) -> None:
    """A gzip file makes no claim that could be checked beforehand."""
    path = tmp_path / "bomb.stpz"
    path.write_bytes(gzip.compress(b" " * (8 << 20)))
    with pytest.raises(UnreadableFile, match=r"^bomb\.stpz refused: .* 100 times"):
        unpack(path, members(path)[0].name, tmp_path)


def test_a_small_member_may_deflate_well(tmp_path: Path) -> None:
    """Up to a megabyte the ratio does not matter."""
    path = zipped_names(tmp_path / "fine.zip", {"a.step": MODEL + b" " * 900_000})
    assert members(path)[0].refused is None
    assert unpack(path, "a.step", tmp_path).stat().st_size == len(MODEL) + 900_000


def test_a_large_member_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The size has a limit of its own, whatever the ratio."""
    monkeypatch.setattr(archive, "MEMBER_BYTES", len(MODEL) - 1)
    (only,) = members(zipped(tmp_path / "a.zip", a__step=MODEL))
    assert only.refused is not None
    assert "MiB" in only.refused


def test_encrypted_members_links_and_doubles_are_refused(tmp_path: Path) -> None:
    """Each with its own reason."""
    path = tmp_path / "odd.zip"
    with zipfile.ZipFile(path, "w") as file:
        link = zipfile.ZipInfo("link.step")
        link.external_attr = (stat.S_IFLNK | 0o777) << 16
        file.writestr(link, "/etc/passwd")
        file.writestr("twice.step", MODEL)
        with pytest.warns(UserWarning, match="Duplicate"):
            file.writestr("twice.step", MODEL)
        file.writestr("locked.step", MODEL)
        file.infolist()[-1].flag_bits |= 1
    reasons = {each.name: each.refused for each in members(path)}
    assert reasons == {
        "link.step": "it is a link",
        "locked.step": "it is encrypted",
        "twice.step": "its name occurs twice",
    }


@pytest.mark.parametrize(
    ("content", "found"),
    [
        pytest.param({"a.pdf": b"x", "b.dwg": b"x"}, "no STEP file (.dwg, .pdf)", id="other-kinds"),
        pytest.param({}, "no STEP file (empty)", id="empty"),
        pytest.param({"readme": b"x"}, "no STEP file (no suffix)", id="no-suffix"),
    ],
)
def test_an_archive_without_a_model_says_what_it_holds(tmp_path: Path, content: dict[str, bytes], found: str) -> None:
    """The message names what was found and what was expected."""
    with pytest.raises(UnreadableFile) as error:
        members(zipped_names(tmp_path / "order.zip", content))
    assert found in str(error.value)
    assert "expected one with .p21, .step, .stp" in str(error.value)


def test_too_many_members_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The directory of an archive is not believed to be short."""
    monkeypatch.setattr(archive, "MEMBERS", 2)
    with pytest.raises(UnreadableFile, match="3 members"):
        members(zipped(tmp_path / "many.zip", a__step=MODEL, b__step=MODEL, c__step=MODEL))


def test_only_the_first_bytes_tell_an_archive(tmp_path: Path) -> None:
    """A STEP file named .zip is a STEP file, a zip file named .step is an archive, a missing file is none."""
    (tmp_path / "model.zip").write_bytes(MODEL)
    zipped(tmp_path / "archive.step", a__step=MODEL)
    assert not is_archive(tmp_path / "model.zip")
    assert is_archive(tmp_path / "archive.step")
    assert not is_archive(tmp_path / "missing.zip")


@given(st.binary(max_size=600), st.integers(0, 400), st.binary(min_size=1, max_size=40))
def test_a_damaged_archive_is_a_clear_error(tail: bytes, at: int, patch: bytes) -> None:
    """Whatever bytes follow a zip's or gzip's beginning: models or one named error, nothing else."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("a.step", MODEL)
    good = buffer.getvalue()
    at = min(at, len(good) - 1)
    damaged = good[:at] + patch + good[at + len(patch) :]
    for data in (damaged, b"PK\x03\x04" + tail, b"\x1f\x8b" + tail):
        check_that_it_opens_or_says_why(data)


def check_that_it_opens_or_says_why(data: bytes) -> None:
    """List and unpack everything in a folder of its own."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "x.zip"
        path.write_bytes(data)
        if not is_archive(path):
            return
        with contextlib.suppress(UnreadableFile):
            for each in members(path):
                unpack(path, each.name, Path(folder))


@given(st.text())
def test_a_safe_name_stays_where_it_is_put(text: str) -> None:
    """No text can become a path that leads elsewhere, or no name at all."""
    name = safe_name(text)
    folder = Path("/reports")
    assert (folder / name).parent == folder
    assert name not in {"", ".", ".."}
    assert len(name.encode("utf-8", "replace")) <= 255
    assert safe_name(name) == name
