"""Whatever comes in from outside is read, or refused by the one error that is meant for it: nothing else is raised.

`PARTSIEVE_FUZZ_EXAMPLES=20000 pytest tests/properties/test_fuzz.py` is the long run. The HTTP interface has its own
(`tests/api/test_contract.py`), models have theirs (`tests.worker.mutation_campaign`).
"""

import csv
import gzip
import io
import json
import os
import tempfile
import tomllib
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analyzers.errors import SettingsError, UnreadableFile
from analyzers.kernel.header import read_header
from analyzers.kernel.part21 import decoded, header_fields
from analyzers.model.finding import Finding
from analyzers.model.stored import StoredDamaged, restore, stored
from analyzers.report.as_csv import features_csv, to_csv
from analyzers.report.as_json import to_json
from analyzers.report.as_junit import to_junit
from analyzers.report.as_lines import to_lines
from analyzers.report.as_markdown import to_markdown
from analyzers.report.as_sarif import to_sarif
from analyzers.report.as_table import to_table
from analyzers.report.baseline import read_baseline
from analyzers.rules import known_limits
from analyzers.settings import load_settings
from tests.report import _builders as build
from tests.worker.mutations import zipped
from worker.archive import members, unpack
from worker.intake import Terms
from worker.reuse import Memory
from worker.sidecar import read_sidecar

ROOT = Path(__file__).parents[2]
SHOP, POLICY = (
    (ROOT / "analyzers" / "data" / f"{name}.toml").read_text("utf-8") for name in ("example_shop", "default_policy")
)
BASELINE = """
[[accepted]]
fingerprint = "0123456789abcdef"
reason = "agreed"
file = "plate.step"
what = "thin wall"
owner = "somebody"
expires = 2030-01-01
"""
SIDECAR = 'material = "6061-T6"\nquantity = 3\npriority = 1\ndue = 2026-12-01\ncustomer = "somebody"\n'
SIDECAR_JSON = json.dumps(tomllib.loads(SIDECAR), default=str)

KNOWN = known_limits()
FUZZ = settings(
    max_examples=int(os.environ.get("PARTSIEVE_FUZZ_EXAMPLES", "40")),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
TOKENS = st.one_of(
    st.sampled_from(
        [
            *("", "=", "[", "]", "[[", "]]", '"', "'''", '"""', "\n", ".", ",", "{", "}", "#", "\\u0000", "\\", "\x00"),
            *("-1", "0", "1e999", "nan", "inf", "-inf", "true", "99999999999999999999", "1e-320", "0x7f", "2026-13-01"),
            *('"mm"', '"µm"', "[]", "{}", "[[]]", "[" * 2000, "a.b.c = 1\n", "\ufeff", "\u202e", "\ud7ff", "=" * 5000),
            *("[limits]\n", "[[machines]]\n", "[[cutters]]\n", "[[override]]\n", 'name = ""\n', "unit = 3\n"),
        ]
    ),
    st.text(max_size=8),
    st.integers().map(str),
    st.floats().map(repr),
)
EDITS = st.lists(st.tuples(st.floats(0, 1), st.integers(0, 40), TOKENS), min_size=1, max_size=4)
PIECES = st.lists(st.tuples(st.floats(0, 1), st.binary(max_size=4)), max_size=4)
VALUES = st.recursive(
    st.none() | st.text(max_size=5) | st.integers(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


def edited(text: str, edits: list[tuple[float, int, str]]) -> str:
    """Return a text in which some places are written over."""
    for share, length, token in edits:
        at = int(share * len(text))
        text = text[:at] + token + text[at + length :]
    return text


def overwritten(content: bytes, edits: list[tuple[float, bytes]]) -> bytes:
    """Return bytes in which some places are written over."""
    for share, piece in edits:
        at = int(share * len(content))
        content = content[:at] + piece + content[at + len(piece) :]
    return content


def bytes_of(text: str) -> bytes:
    """Return what a file of this text holds, lone surrogates among it."""
    return text.encode("utf-8", "surrogatepass")


def only(error: type[Exception], act: Callable[[], Any]) -> Any:
    """Return what comes of an act, None where it is refused in one line; any other error is a failure."""
    try:
        return act()
    except error as refused:
        words = str(refused)
    assert words.strip()
    assert len(words.splitlines()) == 1
    return None


READERS: dict[str, tuple[str, str, Callable[[Path], Any]]] = {
    "shop": (".toml", SHOP, lambda path: load_settings(path, known_limits=KNOWN)),
    "policy": (".toml", POLICY, lambda path: load_settings(None, path, known_limits=KNOWN)),
    "baseline": (".toml", BASELINE, read_baseline),
    "sidecar-toml": (".toml", SIDECAR, lambda path: read_sidecar(path, Terms())),
    "sidecar-json": (".json", SIDECAR_JSON, lambda path: read_sidecar(path, Terms())),
}


@pytest.mark.parametrize("name", READERS)
def test_the_texts_below_are_sound(name: str, tmp_path: Path) -> None:
    """Before anything is changed each is read: the runs below begin within the fence."""
    suffix, text, read = READERS[name]
    path = tmp_path / f"file{suffix}"
    path.write_bytes(bytes_of(text))
    assert read(path)


@pytest.mark.parametrize("name", READERS)
@FUZZ
@given(edits=EDITS)
def test_settings_and_their_like(name: str, edits: list[tuple[float, int, str]]) -> None:
    """A written-over shop, policy, baseline or sidecar is read or refused."""
    suffix, text, read = READERS[name]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, f"file{suffix}")
        path.write_bytes(bytes_of(edited(text, edits)))
        only(SettingsError, lambda: read(path))


@pytest.mark.parametrize("name", READERS)
@FUZZ
@given(content=st.one_of(st.binary(max_size=200), st.text(max_size=200).map(bytes_of)))
def test_anything_instead_of_settings(name: str, content: bytes) -> None:
    """So is whatever else lies there under that name."""
    suffix, _, read = READERS[name]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, f"file{suffix}")
        path.write_bytes(content)
        only(SettingsError, lambda: read(path))


MODEL = (ROOT / "fixtures" / "broken" / "open_shell.step").read_text("ascii")
ARCHIVES = {"zip": zipped([("a/part.step", bytes_of(MODEL))]), "gz": gzip.compress(bytes_of(MODEL), mtime=0)}


@FUZZ
@given(edits=EDITS)
def test_headers_of_models(edits: list[tuple[float, int, str]]) -> None:
    """The text of a model is looked at, or said to be none."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "model.step")
        path.write_bytes(bytes_of(edited(MODEL, edits)))
        only(UnreadableFile, lambda: read_header(path))


@FUZZ
@given(string=st.text(st.sampled_from("\\XSPN024DEFabc'\n\r/ä\ud800\x00"), max_size=60))
def test_coded_letters(string: str) -> None:
    """Every string of a model says something, whatever is wrong with its codes."""
    assert isinstance(decoded(string), str)
    assert isinstance(header_fields(f"FILE_NAME({string}", "FILE_NAME"), list)


@FUZZ
@given(edits=PIECES, kind=st.sampled_from(["zip", "gz"]))
def test_archives(edits: list[tuple[float, bytes]], kind: str) -> None:
    """What lies in a damaged archive is listed and unpacked, or refused by name."""
    content = overwritten(ARCHIVES[kind], edits)
    with tempfile.TemporaryDirectory() as folder:
        path, out = Path(folder, "model.stpz"), Path(folder, "out")
        path.write_bytes(content)
        out.mkdir()
        for each in only(UnreadableFile, lambda: members(path)) or ():
            only(UnreadableFile, lambda name=each.name: unpack(path, name, out))  # type: ignore[misc]
        assert all(each.parent == out for each in out.rglob("*"))


@FUZZ
@given(text=st.text(max_size=80))
def test_writers_of_reports(text: str) -> None:
    """Names and messages of any letters are written in every form, and read again."""
    body = build.body()
    found = [Finding(**{**_fields(each), "message": text or "?"}) for each in body.findings]
    report = build.report(build.body(findings=tuple(found)))
    document = to_json(report)
    document["source"]["file_name"] = document["source"]["product_name"] = document["bodies"][0]["name"] = text
    documents = [json.loads(json.dumps(document))]
    ET.fromstring(to_junit(documents))  # noqa: S314  # our own
    assert len(list(csv.reader(io.StringIO(to_csv(documents))))) == 2
    assert list(csv.reader(io.StringIO(features_csv(documents))))
    json.dumps(to_sarif(documents), allow_nan=False)
    assert len(to_table(documents, 120).splitlines()) == 2
    for write in (to_markdown, to_lines):
        assert isinstance(write(documents), str)


def _fields(finding: Finding) -> dict[str, Any]:
    return {name: getattr(finding, name) for name in finding.__dataclass_fields__}


@FUZZ
@given(edits=PIECES)
def test_stored_facts(edits: list[tuple[float, bytes]]) -> None:
    """Facts on disk that somebody has changed are read, or said to be damaged."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "facts")
        path.write_bytes(stored(build.body().facts.part))
        path.write_bytes(overwritten(path.read_bytes(), edits))
        only(StoredDamaged, lambda: restore(type(build.body().facts.part), path))


@FUZZ
@given(content=st.one_of(st.binary(max_size=100), VALUES.map(lambda value: json.dumps(value).encode())))
def test_the_memory_of_a_folder(content: bytes) -> None:
    """A damaged memory of what was checked is none."""
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, ".checked.json").write_bytes(content)
        Memory(Path(folder)).save()
