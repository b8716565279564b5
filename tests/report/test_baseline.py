"""The file of accepted findings."""

import datetime
from pathlib import Path

import pytest

from analyzers.errors import SettingsError
from analyzers.report.baseline import Accepted, read_baseline

WHOLE = """
[[accepted]]
fingerprint = "9f2c51d07b3a44e8"
file = "plate.step"
reason = "the customer wants this corner sharp"
owner = "M. Example"
expires = 2027-06-30

[[accepted]]
fingerprint = "0011223344556677"
reason = "agreed"
"""


def written(folder: Path, text: str) -> Path:
    """Write a baseline."""
    path = folder / "accepted.toml"
    path.write_text(text, "utf-8")
    return path


def test_a_whole_file_is_read(tmp_path: Path) -> None:
    """Every field arrives; what may be left out is None."""
    assert read_baseline(written(tmp_path, WHOLE)) == (
        Accepted(
            fingerprint="9f2c51d07b3a44e8",
            file="plate.step",
            reason="the customer wants this corner sharp",
            owner="M. Example",
            expires=datetime.date(2027, 6, 30),
        ),
        Accepted(fingerprint="0011223344556677", reason="agreed"),
    )


def test_an_empty_file_accepts_nothing(tmp_path: Path) -> None:
    """It is no mistake."""
    assert read_baseline(written(tmp_path, "")) == ()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        pytest.param("[[accepted]]\nreason='x'", "finding 1: found no fingerprint, expected one", id="no-fingerprint"),
        pytest.param("[[accepted]]\nfingerprint='x'", "finding 1: found no reason, expected one", id="no-reason"),
        pytest.param(
            f"{WHOLE}\n[[accepted]]\nwhy='x'", "finding 3: found 'why', expected fingerprint, ", id="misspelt"
        ),
        pytest.param("[[acepted]]\n", "found 'acepted', expected [[accepted]]", id="misspelt-table"),
        pytest.param("[accepted]\nreason='x'", "double brackets", id="single-brackets"),
        pytest.param(WHOLE.replace("2027-06-30", "'June'"), "expires: found 'June', expected a date", id="date"),
        pytest.param(WHOLE.replace("2027-06-30", "2027-06-30T12:00:00"), "expected a date", id="time-of-day"),
        pytest.param(WHOLE.replace('"agreed"', "7"), "finding 2: reason: found 7, expected text", id="number"),
        pytest.param("[[accepted", "expected a TOML file", id="no-toml"),
    ],
)
def test_a_mistake_is_named_in_one_line(tmp_path: Path, text: str, said: str) -> None:
    """The file, the entry, what was found, what was expected."""
    path = written(tmp_path, text)
    with pytest.raises(SettingsError) as error:
        read_baseline(path)
    assert str(error.value).startswith(str(path))
    assert said in str(error.value)
    assert "\n" not in str(error.value)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    """So is one that is no text."""
    with pytest.raises(SettingsError, match="no such file, expected a TOML file"):
        read_baseline(tmp_path / "missing.toml")
    (tmp_path / "binary.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(SettingsError, match="expected a TOML file"):
        read_baseline(tmp_path / "binary.toml")
