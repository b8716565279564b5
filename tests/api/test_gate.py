"""The release gate, end to end: accept, change, move, expire; only what changed; nothing made twice."""

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from OCP.Interface import Interface_Static
from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer
from OCP.TopoDS import TopoDS_Shape

from tests.api.command import partsieve
from tests.compare._latch import Latch
from tests.kernel._files import write_shapes
from tests.kernel._solids import moved, turned_by

ASKEW = turned_by((0.3, -0.5, 0.8), 41.9, (31.7, -12.3, 55.1))
STRICT = ("--fail-on", "note", "--no-html")
MODELS = ("sharp_window.step", "lid_plate.step")


@pytest.fixture
def here(tmp_path: Path, parts: Path) -> Path:
    """Make a folder of three models."""
    (tmp_path / "models").mkdir()
    for name in MODELS:
        shutil.copy(parts / name, tmp_path / "models" / name)
    write_shapes([Latch().work().shape], tmp_path / "models" / "latch.step")
    return tmp_path


def written_otherwise(shape: TopoDS_Shape, path: Path) -> None:
    """Write a shape with the plain writer in the AP214 schema instead of AP242 with a product structure."""
    before = Interface_Static.CVal_s("write.step.schema")
    writer = STEPControl_Writer()
    Interface_Static.SetCVal_s("write.step.schema", "AP214IS")
    writer.Transfer(shape, STEPControl_StepModelType.STEPControl_AsIs)
    writer.Write(str(path))
    Interface_Static.SetCVal_s("write.step.schema", before)


def accepted(here: Path, *more: str) -> None:
    """Accept all that fails now."""
    done = partsieve("check", "models", *STRICT, "--accept", "accepted.toml", "--reason", "as agreed", *more, cwd=here)
    assert done.returncode == 0, done.stderr


def failing(here: Path, *more: str) -> list[Any]:
    """Gate the folder against the accepted findings; return what fails, as (file, rule)."""
    done = partsieve("check", "models", *STRICT, "--baseline", "accepted.toml", "--format", "sarif", *more, cwd=here)
    results = json.loads(done.stdout)["runs"][0]["results"]
    found = [each for each in results if not each.get("suppressions")]
    assert done.returncode == (1 if found else 0), done.stderr
    return [
        (each["locations"][0]["physicalLocation"]["artifactLocation"]["uri"], each["ruleId"])
        for each in found
        if each["level"] == "error"
    ]


def test_what_was_accepted_passes_until_something_changes(here: Path) -> None:
    """Accept all: nothing fails. One radius in one part changed: that finding and no other."""
    assert partsieve("check", "models", *STRICT, cwd=here).returncode == 1
    accepted(here)
    assert failing(here) == []
    write_shapes([Latch(corner=3.0).work().shape], here / "models" / "latch.step")
    assert failing(here) == [("models/latch.step", "corner_radius_at_cutter")]


def test_another_pose_and_writer_change_nothing(here: Path) -> None:
    """The part turned, shifted and exported by another writer in another schema passes as before."""
    accepted(here)
    written_otherwise(moved(Latch().work().shape, ASKEW), here / "models" / "latch.step")
    assert failing(here) == []


def test_what_was_put_right_is_named(here: Path) -> None:
    """An entry without its finding can go, and accepting again drops it."""
    accepted(here)
    write_shapes([Latch(corner=4.6).work().shape], here / "models" / "latch.step")
    done = partsieve("check", "models", *STRICT, "--baseline", "accepted.toml", cwd=here)
    assert "fixed: latch.step" in done.stderr
    before = (here / "accepted.toml").read_text("utf-8").count("[[accepted]]")
    accepted(here, "--baseline", "accepted.toml")
    assert (here / "accepted.toml").read_text("utf-8").count("[[accepted]]") < before


def test_an_acceptance_ends(here: Path) -> None:
    """After its last day a finding fails again, and is said to have expired."""
    accepted(here)
    text = (here / "accepted.toml").read_text("utf-8")
    (here / "accepted.toml").write_text(text.replace("reason =", "expires = 2020-01-31\nreason ="), "utf-8")
    assert failing(here)


def test_a_policy_may_ask_less_of_one_folder(here: Path) -> None:
    """The override of a pattern holds for its models and for no other."""
    (here / "policy.toml").write_text(
        'name = "shop floor"\nfail_levels = ["error"]\n[[override]]\nfiles = "*/sharp_*.step"\nfail_levels = []\n',
        "utf-8",
    )
    assert partsieve("check", "models", "--no-html", cwd=here).returncode == 1
    assert partsieve("check", "models", "--no-html", "--policy", "policy.toml", cwd=here).returncode == 0


def test_a_rule_nobody_knows_in_an_override_is_a_mistake(here: Path) -> None:
    """The line is named."""
    (here / "policy.toml").write_text(
        'name = "x"\nfail_levels = []\n[[override]]\nfiles = "*"\nallow_rules = ["no_such_rule"]\n', "utf-8"
    )
    done = partsieve("check", "models", "--policy", "policy.toml", cwd=here)
    assert done.returncode == 2
    assert "policy.toml, line 5" in done.stderr


def test_accepting_needs_a_reason(here: Path) -> None:
    """Whoever reads the file wants to know why."""
    done = partsieve("check", "models", "--accept", "accepted.toml", cwd=here)
    assert done.returncode == 2
    assert "--reason" in done.stderr


def test_unchanged_models_are_not_made_anew(here: Path) -> None:
    """The second run makes no report again; a changed model and --fresh do."""
    assert "unchanged" not in partsieve("check", "models", "--no-html", cwd=here).stderr
    first = (here / "reports" / "latch" / "report.json").stat().st_mtime_ns
    assert "3 unchanged, not made anew" in partsieve("check", "models", "--no-html", cwd=here).stderr
    assert (here / "reports" / "latch" / "report.json").stat().st_mtime_ns == first
    write_shapes([Latch(corner=3.0).work().shape], here / "models" / "latch.step")
    assert "2 unchanged, not made anew" in partsieve("check", "models", "--no-html", cwd=here).stderr
    assert "unchanged" not in partsieve("check", "models", "--no-html", "--fresh", cwd=here).stderr


def test_other_settings_make_every_report_anew(here: Path) -> None:
    """Ten pieces are another question than one; a page that is missing is made."""
    partsieve("check", "models", "--no-html", cwd=here)
    assert "unchanged" not in partsieve("check", "models", "--no-html", "--quantity", "10", cwd=here).stderr
    assert "unchanged" not in partsieve("check", "models", "--quantity", "10", cwd=here).stderr
    (here / "reports" / "latch" / "report.html").unlink()
    assert "2 unchanged" in partsieve("check", "models", "--quantity", "10", cwd=here).stderr


@pytest.fixture
def tree(here: Path) -> Path:
    """Make the folder a git work tree with everything committed."""
    for command in (
        ["init", "-q"],
        ["add", "models"],
        ["-c", "user.name=T", "-c", "user.email=t@example.com", "commit", "-qm", "first"],
    ):
        subprocess.run(["git", "-C", str(here), *command], check=True)
    return here


def test_only_what_differs_from_a_revision(tree: Path, parts: Path) -> None:
    """A changed and a new model are checked, the others are not."""
    write_shapes([Latch(corner=3.0).work().shape], tree / "models" / "latch.step")
    shutil.copy(parts / "link_bar.step", tree / "models" / "new one.step")
    done = partsieve("check", "models", "--since", "HEAD", "--no-html", "--format", "jsonl", cwd=tree)
    files = sorted(json.loads(line)["source"]["file_name"] for line in done.stdout.splitlines())
    assert files == ["latch.step", "new one.step"]


def test_nothing_changed_passes(tree: Path) -> None:
    """No model, no failure."""
    assert partsieve("check", "models", "--since", "HEAD", cwd=tree).returncode == 0


@pytest.mark.parametrize("revision", ["no-such-branch", "--output=x"])
def test_an_unknown_revision_is_exit_status_2(tree: Path, revision: str) -> None:
    """What looks like an option of git is taken for a revision, not for an option."""
    done = partsieve("check", "models", f"--since={revision}", cwd=tree)
    assert done.returncode == 2
    assert "--since" in done.stderr
    assert not (tree / "x").exists()


def test_outside_a_work_tree_it_says_so(here: Path) -> None:
    """One line, naming the option."""
    done = partsieve("check", "models", "--since", "HEAD", cwd=here)
    assert done.returncode == 2
    assert "git" in done.stderr


def test_lines_name_path_level_rule_and_fingerprint(here: Path) -> None:
    """As compilers print, so that build servers show findings beside the file."""
    done = partsieve("check", "models", "--no-html", "--format", "lines", cwd=here)
    line = next(each for each in done.stdout.splitlines() if "sharp_internal_corner" in each)
    assert line.startswith("models/sharp_window.step:1: error: ")
    assert line.endswith("]")


def test_a_git_lfs_pointer_is_explained(here: Path) -> None:
    """What lies there instead of the model, and what to do."""
    (here / "models" / "pointer.step").write_text(
        "version https://git-lfs.github.com/spec/v1\noid sha256:" + "0" * 64 + "\nsize 12345\n", "utf-8"
    )
    done = partsieve("check", "models/pointer.step", "--no-html", "--format", "lines", cwd=here)
    assert done.returncode == 3
    assert "git lfs pull" in done.stdout


def test_the_page_over_all_is_made_again_only_when_a_report_was(here: Path) -> None:
    """An unchanged folder keeps it; a changed model, or its absence, makes it anew."""
    page = here / "reports" / "index.html"

    def made() -> int:
        partsieve("check", "models", cwd=here)
        return page.stat().st_mtime_ns

    first = made()
    assert made() == first
    write_shapes([Latch(corner=3.0).work().shape], here / "models" / "latch.step")
    second = made()
    assert second != first
    page.unlink()
    assert made() != second
