"""The command, run as people run it: in a process of its own."""

import os
import subprocess
import sys
from pathlib import Path

COMMAND = [sys.executable, "-c", "import sys; sys.argv[0] = 'partsieve'; from api.cli import main; main()"]


def environment(**more: str) -> dict[str, str]:
    """Return the environment of a plain terminal, so that the tester's own settings change nothing."""
    kept = {name: value for name, value in os.environ.items() if name not in {"NO_COLOR", "FORCE_COLOR", "COLUMNS"}}
    return {**kept, "TERM": "xterm", **more}


def partsieve(*arguments: str | Path, cwd: Path, stdin: str = "", **env: str) -> subprocess.CompletedProcess[str]:
    """Run the command to its end, without a terminal."""
    return subprocess.run(
        [*COMMAND, *map(str, arguments)],
        cwd=cwd,
        input=stdin,
        capture_output=True,
        text=True,
        encoding="utf-8",
        env=environment(**env),
        timeout=300,
        check=False,
    )
