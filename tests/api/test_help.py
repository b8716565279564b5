"""Help and the small commands answer without the geometry kernel."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.api.command import partsieve


@pytest.mark.parametrize("arguments", [["--help"], ["check", "--help"], ["--version"], ["rules", "--help"]])
def test_help_loads_nothing_heavy(arguments: list[str]) -> None:
    """Neither OpenCascade nor numpy nor the report is loaded to show help; loading them is what takes the time."""
    code = (
        "import sys\n"
        "from api.cli import main\n"
        f"try: main({arguments!r}, prog_name='partsieve')\n"
        "except SystemExit as end: assert not end.code\n"
        "print([each for each in ('OCP', 'numpy', 'scipy', 'jinja2', 'pydantic', 'rich') if each in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
    assert len(done.stdout) > 20


def test_only_what_is_there_is_listed(tmp_path: Path) -> None:
    """Every command that help names runs, at least as far as its own help."""
    listed = partsieve("--help", cwd=tmp_path).stdout.partition("Commands:")[2].split("\n")
    names = [line.split()[0] for line in listed if line.startswith("  ") and not line.startswith("   ")]
    assert names == ["check", "compare", "rules", "schema", "serve", "shop", "token", "worker"]
    for name in names:
        assert partsieve(name, "--help", cwd=tmp_path).returncode == 0


def test_schema_is_a_json_schema(tmp_path: Path) -> None:
    """It can be written to a file and used."""
    from jsonschema import Draft202012Validator

    done = partsieve("schema", cwd=tmp_path)
    Draft202012Validator.check_schema(json.loads(done.stdout))
    assert done.returncode == 0


def test_rules_are_explained_with_their_sources(tmp_path: Path) -> None:
    """Every rule is there, with what, why, instead, and each limit with its source in brackets."""
    folder = Path(__file__).parents[2] / "analyzers" / "rules"
    names = sorted(each.stem for each in folder.glob("*.py") if not each.stem.startswith("_"))
    text = partsieve("rules", cwd=tmp_path).stdout
    assert [line.partition(":")[0] for line in text.splitlines() if line and line[0] != " "] == names
    for word in ("What:", "Why:", "Instead:"):
        assert text.count(f"  {word}") == len(names)


def test_one_rule_can_be_asked_for(tmp_path: Path) -> None:
    """An unknown one is an error that names the known ones."""
    done = partsieve("rules", "thin_wall", cwd=tmp_path)
    assert done.stdout.startswith("thin_wall: ")
    done = partsieve("rules", "thick_wall", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("thick_wall: no such rule; expected one of ")
    assert "thin_wall" in done.stderr


def test_the_example_shop_is_without_mistakes(tmp_path: Path) -> None:
    """What `shop` prints can be saved, and passes `shop --check`."""
    (tmp_path / "our.toml").write_text(partsieve("shop", cwd=tmp_path).stdout, "utf-8")
    done = partsieve("shop", "--check", "our.toml", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (0, "our.toml: no mistakes\n")


def test_a_shop_file_with_mistakes_is_told_all_of_them(tmp_path: Path) -> None:
    """One line each, on stderr, exit status 2."""
    text = partsieve("shop", cwd=tmp_path).stdout
    broken = text.replace('unit = "mm"', 'unit = "furlong"', 1) + "\n[limits.thick_wall]\nx = 3\n"
    (tmp_path / "our.toml").write_text(broken, "utf-8")
    done = partsieve("shop", "--check", "our.toml", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert "furlong" in done.stderr
    assert "thick_wall" in done.stderr
    assert all(line.startswith("our.toml") for line in done.stderr.splitlines())
