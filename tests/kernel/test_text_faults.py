"""Text faults are named, harmless oddities of the text are read over, and healthy files are accused of nothing."""

from pathlib import Path

import pytest

from analyzers.kernel.plain_text import LONGEST_STRING, made_plain
from analyzers.kernel.step_file import load


@pytest.fixture
def healthy(parts: Path) -> bytes:
    """Return a sound file."""
    return (parts / "lid_plate.step").read_bytes()


def said(folder: Path, data: bytes) -> list[str]:
    """Return the problems of a file with these bytes."""
    path = folder / "model.step"
    path.write_bytes(data)
    return [each.message for each in load(path).problems]


def test_a_sound_file_has_no_problem(healthy: bytes, tmp_path: Path) -> None:
    """Nothing is made plain and nothing is said."""
    assert made_plain(healthy) is None
    assert said(tmp_path, healthy) == []


@pytest.mark.parametrize(
    "changed",
    [
        lambda text: b"\xef\xbb\xbf" + text,
        lambda text: text.replace(b"\n", b"\r\n\t"),
        lambda text: text.replace(b"\n", b"\t\n\t\t"),
        lambda text: text.replace(b",", b",\t"),
    ],
    ids=["byte-order-mark", "crlf-and-tabs", "tabs", "tab-after-comma"],
)
def test_odd_blanks_change_nothing(changed: object, healthy: bytes, tmp_path: Path) -> None:
    """The same solid with the same volume is read, without a word."""
    assert callable(changed)
    path = tmp_path / "model.step"
    path.write_bytes(changed(healthy))
    file = load(path)
    assert file.problems == ()
    assert len(file.solids) == 1


@pytest.mark.parametrize("filling", [b"A", b"\\X2\\00E4\\X0\\"], ids=["letters", "coded"])
def test_an_endless_name_is_cut(filling: bytes, healthy: bytes, tmp_path: Path) -> None:
    """The parser takes no string of 70,000 bytes; the part is read and it is said that one was cut."""
    name = (filling * 70_000)[: 70_000 - 70_000 % len(filling)]
    start = healthy.index(b"PRODUCT('") + len(b"PRODUCT('")
    end = healthy.index(b"'", start)
    assert said(tmp_path, healthy[:start] + name + healthy[end:]) == [
        f"a string was longer than {LONGEST_STRING} bytes and cut there"
    ]


def test_a_number_given_twice_is_named(healthy: bytes, tmp_path: Path) -> None:
    """Which of the two is meant nobody can know."""
    twice = healthy.replace(b"ENDSEC;\nEND-ISO", b"#10 = CARTESIAN_POINT('',(0.,0.,0.));\nENDSEC;\nEND-ISO")
    assert any("#10 is given to several entities" in each for each in said(tmp_path, twice))


def test_a_reference_that_leads_nowhere_is_named(healthy: bytes, tmp_path: Path) -> None:
    """A face that is gone leaves its number in the shell."""
    start = healthy.index(b"ADVANCED_FACE")
    line = healthy.rindex(b"\n", 0, start) + 1
    number = healthy[line:].split(b" ", 1)[0].split(b"=")[0].decode()
    without = healthy[:line] + healthy[healthy.index(b";", start) + 1 :]
    messages = said(tmp_path, without)
    assert any(f"entity {number} is referred to and not in the file" in each for each in messages), messages


def test_a_shell_that_contains_itself_is_named(healthy: bytes, tmp_path: Path) -> None:
    """The loop is cut by the parser, which the report has to say."""
    start = healthy.index(b"CLOSED_SHELL('',(") + len(b"CLOSED_SHELL('',(")
    line = healthy.rindex(b"\n", 0, start) + 1
    number = healthy[line:].split(b"=")[0].strip()
    messages = said(tmp_path, healthy[:start] + number + b"," + healthy[start:])
    assert messages == [
        "one closed shell is not as ISO 10303 defines them: something of the shape may be missing or wrong"
    ]


def test_real_files_are_accused_of_nothing(corpora: Path) -> None:
    """At most 2 of 100 healthy files of real exporters have a fault of text; they were all seen to be sound."""
    words = ("several entities", "not in the file", "not as ISO 10303")
    files = sorted(corpora.glob("real/*.st*p"))[::4]
    accused = [path.name for path in files if any(w in each.message for each in load(path).problems for w in words)]
    assert len(accused) <= 0.02 * len(files), accused
