"""What holds for the project as a whole; the order of the layers is proved by import-linter (pyproject.toml)."""

import ast
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGES = ("analyzers", "worker", "api")
FOUND_BY_FOLDER = ("features", "measures", "rules")


def modules(*folders: str) -> list[Path]:
    """Return the source files below folders of the project."""
    return [each for folder in folders for each in sorted((ROOT / folder).rglob("*.py"))]


def imports(source: str) -> Iterator[str]:
    """Yield the full name of everything a module imports, wherever the import stands."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (each.name for each in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{each.name}" for each in node.names)


def siblings_known(source: str, package: str, own: str, siblings: set[str]) -> set[str]:
    """Return the siblings that a module imports."""
    found = {
        each.removeprefix(f"{package}.").split(".")[0] for each in imports(source) if each.startswith(f"{package}.")
    }
    return (found & siblings) - {own}


@pytest.mark.parametrize("folder", FOUND_BY_FOLDER)
def test_siblings_do_not_know_each_other(folder: str) -> None:
    """A recogniser, measure or rule imports no other; what they share stands in files that begin with an underscore."""
    paths = [each for each in modules(f"analyzers/{folder}") if not each.stem.startswith("_")]
    names = {each.stem for each in paths}
    assert len(names) > 1
    known = {each.stem: siblings_known(each.read_text(), f"analyzers.{folder}", each.stem, names) for each in paths}
    assert {name: found for name, found in known.items() if found} == {}


@pytest.mark.parametrize(
    ("line", "known"),
    [
        ("from analyzers.rules.thin_wall import check", {"thin_wall"}),
        ("from analyzers.rules import thin_wall", {"thin_wall"}),
        ("def f():\n    import analyzers.rules.thin_wall", {"thin_wall"}),
        ("from analyzers.rules._base import Case", set()),
        ("from analyzers.rules.own import check", set()),
        ("from analyzers.features.thin_wall import Hole", set()),
    ],
)
def test_the_proof_above_finds_siblings(line: str, known: set[str]) -> None:
    """An import of a sibling is found in every form; shared files, oneself and other folders are none."""
    assert siblings_known(line, "analyzers.rules", "own", {"thin_wall", "own"}) == known


def test_nothing_is_pickled() -> None:
    """Processes and stores exchange JSON: a pickle runs what its writer likes."""
    forbidden = {"pickle", "shelve", "marshal", "dill", "cloudpickle", "multiprocessing"}
    users = {
        str(path.relative_to(ROOT)): found
        for path in modules(*PACKAGES)
        if (found := forbidden & {each.split(".")[0] for each in imports(path.read_text())})
    }
    assert users == {}


def test_the_light_packages_do_not_load_opencascade() -> None:
    """Settings, reports, the worker's own side and the command can be imported without OpenCascade."""
    light = ["analyzers.settings", "analyzers.report", "analyzers.rules", "worker.batch", "worker.sandbox", "api.check"]
    code = f"import {', '.join(light)}, sys; print(sorted(each for each in sys.modules if each.split('.')[0] == 'OCP'))"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert result.stdout.strip() == "[]"


def test_every_dependency_is_used() -> None:
    """What is installed with the project is imported by it."""
    names = {"cadquery-ocp-novtk": "OCP", "pillow": "PIL", "httptools": "uvicorn"}  # uvicorn takes it where it is there
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    wanted = {each.split(">")[0].split("[")[0].strip() for each in project["dependencies"]}
    imported = {name.split(".")[0] for path in modules(*PACKAGES) for name in imports(path.read_text())}
    assert {each for each in wanted if names.get(each, each.replace("-", "_")) not in imported} == set()
