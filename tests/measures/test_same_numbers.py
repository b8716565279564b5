"""The same file gives the same numbers: in every process, with any number of jobs, whatever the seed of its hashes."""

import json
from pathlib import Path
from typing import Any

from tests.api.command import partsieve

STEMS = ("filter_tray", "slide_base", "spout", "thin_tray", "wedge_block", "press_roller", "drilling_sampler")
REAL = (
    "mesospim-mvx-10-bracket-v5.stp",
    "openeai-clamping_jaw_v3.step",
    "amazinghand-balljoint_rod_-_length_toolings.step",
)


def documents(files: list[Path], jobs: int, seed: int, folder: Path) -> list[dict[str, Any]]:
    """Return the documents of some files without their times."""
    done = partsieve(
        "check",
        *files,
        "--no-html",
        "--format",
        "json",
        "--out",
        f"{jobs}-{seed}",
        "--jobs",
        str(jobs),
        cwd=folder,
        PYTHONHASHSEED=str(seed),
    )
    found: list[dict[str, Any]] = json.loads(done.stdout)
    for each in found:
        del each["timings_s"]
    return found


def test_examples_are_measured_alike_by_one_and_by_four(parts: Path, tmp_path: Path) -> None:
    """Walls, gaps, setups, cutters, height maps, minutes: equal to the last digit, forwards and backwards."""
    files = [parts / f"{stem}.step" for stem in STEMS]
    once = documents(files, 1, 0, tmp_path)
    assert [each["status"] for each in once] == ["complete"] * len(STEMS)
    assert documents(files, 4, 1, tmp_path) == once
    assert documents(files[::-1], 2, 2, tmp_path)[::-1] == once


def test_real_parts_are_measured_alike(corpora: Path, tmp_path: Path) -> None:
    """Free surfaces and thousands of sight lines as well."""
    files = [corpora / "real" / name for name in REAL]
    assert documents(files, 1, 7, tmp_path) == documents(files, 3, 8, tmp_path)
