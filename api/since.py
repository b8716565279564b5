"""Which models changed since a revision, in a git work tree."""

import subprocess
from collections.abc import Iterable, Iterator
from pathlib import Path

from analyzers.errors import SettingsError


def changed_since(revision: str, folders: Iterable[Path]) -> frozenset[Path]:
    """Return the files of the work trees around some folders that differ from a revision or are new to git.

    Raises
    ------
    SettingsError : one line: no git, no work tree there, or no such revision
    """
    tops = {_top(folder) for folder in folders}
    return frozenset(path for top in sorted(tops) for path in _changed(top, revision))


def _top(folder: Path) -> Path:
    return Path(_git(folder, "rev-parse", "--show-toplevel").rstrip("\n"))


def _changed(top: Path, revision: str) -> Iterator[Path]:
    differs = _git(top, "diff", "--name-only", "-z", "--diff-filter=d", "--end-of-options", revision, "--")
    untracked = _git(top, "ls-files", "--others", "--exclude-standard", "-z")
    for name in (differs + untracked).split("\0"):
        if name:
            yield (top / name).resolve()


def _git(folder: Path, *arguments: str) -> str:
    """Return what a git command prints.

    Raises
    ------
    SettingsError : it fails, or there is no git
    """
    try:
        done = subprocess.run(["git", "-C", str(folder), *arguments], capture_output=True, check=False)
    except FileNotFoundError:
        raise SettingsError("--since: found no git on this machine, expected one") from None
    if done.returncode:
        said = done.stderr.decode("utf-8", "replace").strip().splitlines()
        raise SettingsError(
            f"--since: {folder}: {said[0] if said else 'git failed'}; expected a revision of a git work tree"
        )
    return done.stdout.decode("utf-8", "surrogateescape")
