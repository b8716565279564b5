"""The text of a STEP file before any geometry is read (ISO 10303-21)."""

import gzip
import hashlib
import io
import zipfile
from pathlib import Path

import pytest

from analyzers.errors import UnreadableFile
from analyzers.kernel.header import read_header

DATA = "DATA;\n#1=CARTESIAN_POINT('',(0.,0.,0.));\nENDSEC;\nEND-ISO-10303-21;\n"


def step_text(
    name: str = "'plate.step'",
    stamp: str = "'2024-03-01T08:00:00'",
    author: str = "('A. Person','B. Person')",
    organization: str = "('invented workshop')",
    preprocessor: str = "'a translator'",
    system: str = "'a modeller 7'",
    authorisation: str = "'none'",
    schema: str = "('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }')",
    data: str = DATA,
) -> str:
    """Return an exchange structure with these header fields, each as it is written in the file."""
    fields = ",".join((name, stamp, author, organization, preprocessor, system, authorisation))
    return (
        "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION(('a part; (one)'),'2;1');\n"
        f"FILE_NAME({fields});\nFILE_SCHEMA({schema});\nENDSEC;\n{data}"
    )


def written(folder: Path, content: bytes | str) -> Path:
    """Return the path of a file with that content."""
    path = folder / "model.step"
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    return path


def zipped() -> bytes:
    """Return a zip archive with one member."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("plate.step", step_text())
    return buffer.getvalue()


LFS = b"version https://git-lfs.github.com/spec/v1\noid sha256:00\nsize 12\n"

NOT_STEP = [
    pytest.param(b"", "empty file (0 bytes)", id="empty"),
    pytest.param(b" \r\n\t\n", "nothing but blanks", id="blanks"),
    pytest.param(b"\x89PNG\r\n\x1a\n" + bytes(64), "PNG picture", id="png"),
    pytest.param(b"\xff\xd8\xff\xe0" + bytes(64), "JPEG picture", id="jpeg"),
    pytest.param(b"%PDF-1.7\n%\xe2\xe3\n", "PDF document", id="pdf"),
    pytest.param(zipped(), "zip archive", id="zip"),
    pytest.param(gzip.compress(step_text().encode()), "gzip", id="gzip"),
    pytest.param(LFS, "git lfs pull", id="lfs-pointer"),
    pytest.param(b"solid block\n facet normal 0 0 1\n", "ASCII STL", id="stl"),
    pytest.param(b"<?xml version='1.0'?><uos/>", "XML or HTML", id="xml"),
    pytest.param(b'{"asset": {"version": "2.0"}}', "JSON", id="json"),
    pytest.param(step_text().encode("utf-16"), "UTF-16", id="utf-16"),
    pytest.param(b"Dear shop, the model follows.\n", "other text", id="letter"),
    pytest.param(bytes(range(256)) * 8, "binary data", id="binary"),
    pytest.param(b"ISO-10303-22;\nHEADER;\n", "other text", id="another-standard"),
    pytest.param(
        b"ISO-10303-21;\nHEADER;\nFILE_NAME('','');\nENDSEC;\nEND-ISO-10303-21;\n", "no data section", id="header-only"
    ),
]


@pytest.mark.parametrize(("content", "says"), NOT_STEP)
def test_what_is_no_step_file_is_named(content: bytes, says: str, tmp_path: Path) -> None:
    """One line says which file, what was found in it and what was expected."""
    with pytest.raises(UnreadableFile) as caught:
        read_header(written(tmp_path, content))
    message = str(caught.value)
    assert message.startswith("model.step: ")
    assert says in message
    assert "expected a" in message
    assert "\n" not in message


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    """A path without a file is an unreadable file, with the system's reason."""
    with pytest.raises(UnreadableFile, match=r"gone\.step: cannot be opened \(No such file"):
        read_header(tmp_path / "gone.step")


FIELDS = [
    pytest.param({}, {}, id="plain"),
    pytest.param({"author": "('')", "organization": "('')"}, {}, id="empty-lists"),
    pytest.param({"author": "('a','b','c','d')"}, {}, id="four-authors"),
    pytest.param({"name": "'it''s.step'"}, {"name": "it's.step"}, id="doubled-apostrophe"),
    pytest.param({"name": "'plate (2);rev,b.step'"}, {"name": "plate (2);rev,b.step"}, id="brackets-in-a-string"),
    pytest.param({"name": "''"}, {"name": None}, id="empty-name"),
    pytest.param({"name": "$"}, {"name": None}, id="unset-name"),
    pytest.param({"stamp": "''"}, {"time_stamp": None}, id="empty-stamp"),
    pytest.param({"stamp": "$"}, {"time_stamp": None}, id="unset-stamp"),
    pytest.param({"authorisation": "$"}, {}, id="unset-authorisation"),
    pytest.param({"system": "''"}, {"originating_system": None}, id="empty-system"),
    pytest.param({"system": "$"}, {"originating_system": None}, id="unset-system"),
    pytest.param({"preprocessor": "/* ', */ 'x'"}, {}, id="comment"),
    pytest.param({"schema": "('CONFIG_CONTROL_DESIGN')"}, {"step_schema": "CONFIG_CONTROL_DESIGN"}, id="ap203"),
    pytest.param({"name": r"'Tr\X2\00E4\X0\ger'"}, {"name": "Träger"}, id="two-byte-letters"),
    pytest.param({"name": r"'Tr\S\dger'"}, {"name": "Träger"}, id="latin-page-letters"),
    pytest.param({"name": r"'Tr\X\E4ger'"}, {"name": "Träger"}, id="one-byte-letters"),
    pytest.param({"name": r"'a\X4\0001F529\X0\b'"}, {"name": "a🔩b"}, id="four-byte-letters"),
    pytest.param({"name": r"'c:\\temp'"}, {"name": "c:\\temp"}, id="doubled-backslash"),
]


@pytest.mark.parametrize(("wrote", "differs"), FIELDS)
def test_each_field_is_the_one_written(wrote: dict[str, str], differs: dict[str, str | None], tmp_path: Path) -> None:
    """Name, time stamp, schema and originating system keep their places and letters (ISO 10303-21, clauses 6.4, 8)."""
    expected = {
        "name": "plate.step",
        "time_stamp": "2024-03-01T08:00:00",
        "step_schema": "AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }",
        "originating_system": "a modeller 7",
    } | differs
    header = read_header(written(tmp_path, step_text(**wrote)))
    assert {key: getattr(header, key) for key in expected} == expected


def test_size_digest_and_end_are_those_of_the_bytes(tmp_path: Path) -> None:
    """Size and SHA-256 count every byte; a file with its closing line is complete."""
    content = step_text().encode()
    header = read_header(written(tmp_path, content))
    assert header.size_bytes == len(content)
    assert header.sha256 == hashlib.sha256(content).hexdigest()
    assert header.complete


@pytest.mark.parametrize("before", ["", "\ufeff", "\r\n \t"], ids=["nothing", "byte-order-mark", "blanks"])
def test_what_stands_before_the_first_line_does_no_harm(before: str, tmp_path: Path) -> None:
    """A byte order mark or blanks before the first keyword are skipped."""
    assert read_header(written(tmp_path, before + step_text())).name == "plate.step"


def test_a_file_without_its_closing_line_is_not_complete(tmp_path: Path) -> None:
    """A cut-off file is told by its missing last keyword, and by the line at which it ends."""
    text = step_text()
    header = read_header(written(tmp_path, text[: text.index("ENDSEC;\nEND-ISO")]))
    assert not header.complete
    assert header.n_lines == text[: text.index("ENDSEC;\nEND-ISO")].count("\n")


@pytest.mark.parametrize(("loops", "long"), [(1, False), (250, False), (350, True), (5000, True)])
def test_a_face_of_very_many_loops_is_seen(tmp_path: Path, loops: int, long: bool) -> None:
    """The limit of 300 lies between; entries are broken over lines, as programs write them."""
    bounds = ",\n".join(f"#{number}" for number in range(10, 10 + loops))
    data = DATA.replace("ENDSEC", f"#2=ADVANCED_FACE('',({bounds}),#3,.T.);\nENDSEC", 1)
    assert read_header(written(tmp_path, step_text(data=data))).long_boundary is long


@pytest.mark.parametrize(("edges", "long"), [(4, False), (250, False), (350, True)])
def test_a_loop_of_very_many_edges_is_seen(tmp_path: Path, edges: int, long: bool) -> None:
    """As with loops of a face."""
    chain = ",".join(f"#{number}" for number in range(10, 10 + edges))
    data = DATA.replace("ENDSEC", f"#2=EDGE_LOOP('',({chain}));\nENDSEC", 1)
    assert read_header(written(tmp_path, step_text(data=data))).long_boundary is long
