"""The audit of dependencies passes, and would not if one of them were under another licence."""

import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]
AUDIT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["pip-licenses"]


def audited(*arguments: str) -> "subprocess.CompletedProcess[str]":
    """Run the audit as `poe check` does, with further arguments."""
    program = Path(sys.executable).with_name("pip-licenses")
    return subprocess.run([program, *arguments], cwd=ROOT, capture_output=True, text=True)


def test_all_that_is_installed_may_be_used() -> None:
    """Every package is under one of the licences that are let pass, or is named with its reason."""
    done = audited()
    assert done.returncode == 0, done.stderr


def test_the_audit_can_fail() -> None:
    """With one licence fewer it names a package that is under it."""
    done = audited("--allow-only", AUDIT["allow-only"].replace("BSD;", "").replace("Redistribution and use", "none"))
    assert done.returncode == 1
    assert "BSD" in done.stderr
