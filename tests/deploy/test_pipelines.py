"""The commands of the example pipelines run as they stand there, on a repository laid out as they expect."""

import json
import os
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
import yaml

from tests.api.command import environment

HERE = Path(__file__).parents[2] / "deploy" / "ci"


def commands(node: Any) -> Iterator[str]:
    """Yield every command line of an example that starts the program."""
    if isinstance(node, dict):
        for each in node.values():
            yield from commands(each)
    elif isinstance(node, list):
        for each in node:
            yield from commands(each)
    elif isinstance(node, str):
        yield from (line.strip() for line in node.splitlines() if line.strip().startswith("partsieve "))


def of_file(name: str) -> list[str]:
    """Return the command lines of an example file, which must be sound YAML."""
    return list(commands(yaml.safe_load((HERE / name).read_text("utf-8"))))


def shell(line: str, cwd: Path, **more: str) -> subprocess.CompletedProcess[str]:
    """Run a line as a build server would."""
    bin_folder = Path(sys.executable).parent
    env = environment() | {"PATH": f"{bin_folder}{os.pathsep}{os.environ['PATH']}"} | more
    return subprocess.run(["bash", "-c", line], cwd=cwd, env=env, capture_output=True, text=True, check=False)


@pytest.fixture
def repository(tmp_path: Path, parts: Path) -> Path:
    """Make a repository of two models with the gate's files, and commit; one model fails."""
    (tmp_path / "models").mkdir()
    (tmp_path / "gate").mkdir()
    for name in ("sharp_window.step", "lid_plate.step"):
        shutil.copy(parts / name, tmp_path / "models" / name)
    shutil.copy(HERE / "policy.toml", tmp_path / "gate" / "policy.toml")
    (tmp_path / "gate" / "accepted.toml").write_text("", "utf-8")
    for line in (
        "git init -q -b main . && git add . && git -c user.name=T -c user.email=t@example.com commit -qm first",
        "git update-ref refs/remotes/origin/main HEAD",
    ):
        assert shell(line, tmp_path).returncode == 0
    return tmp_path


def change(repository: Path) -> None:
    """Change the failing model, so that it differs from the base revision."""
    path = repository / "models" / "sharp_window.step"
    path.write_bytes(path.read_bytes() + b"\n")


def test_the_pull_request_pipeline(repository: Path) -> None:
    """It fails on the changed model, names it in SARIF by its path, and writes the summary."""
    gate, summary = of_file("github-actions.yml")
    base = {"GITHUB_BASE_REF": "main", "GITHUB_STEP_SUMMARY": str(repository / "summary.md")}
    assert shell(gate, repository, **base).returncode == 0  # nothing differs from the base
    change(repository)
    assert shell(gate, repository, **base).returncode == 1
    results = json.loads((repository / "gate.sarif").read_text("utf-8"))["runs"][0]["results"]
    places = {each["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] for each in results}
    assert places == {"models/sharp_window.step"}
    shell(summary, repository, **base)
    assert "sharp\\_window.step" in (repository / "summary.md").read_text("utf-8")


def test_the_merge_request_pipeline(repository: Path) -> None:
    """Its JUnit file has the failure."""
    (line,) = of_file("gitlab-ci.yml")
    change(repository)
    assert shell(line, repository, CI_MERGE_REQUEST_DIFF_BASE_SHA="HEAD").returncode == 1
    assert ElementTree.parse(repository / "gate.xml").getroot().findall(".//failure")  # noqa: S314  # our own file


def test_the_hook_before_a_commit(repository: Path) -> None:
    """It gets the committed files as arguments, and passes or fails on them alone."""
    (line,) = of_file("pre-commit-config.yaml")
    assert shell(f"{line} models/lid_plate.step", repository).returncode == 0
    done = shell(f"{line} models/sharp_window.step", repository)
    assert done.returncode == 1
    assert "sharp_internal_corner" in done.stdout
    assert shell("git status --short", repository).stdout == ""  # the reports lie where git does not look


def test_the_command_that_accepts(repository: Path) -> None:
    """The README's line writes down what fails; after it nothing new fails but the bucket, which cannot be accepted."""
    text = (HERE / "README.md").read_text("utf-8")
    line = next(each for each in text.splitlines() if each.startswith("partsieve check") and "--accept" in each)
    assert "--reason" in shlex.split(line)
    shell(line, repository)
    assert (repository / "gate" / "accepted.toml").read_text("utf-8").count("[[accepted]]") == 2
