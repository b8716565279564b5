"""The functions that cost most in each stage: `python -m tests.benchmarks.hot FILE ...` prints Markdown.

Processor time under Python's profiler, which makes small functions look dearer than they are; what OpenCascade does
counts for the function that called it. All files together, each once.
"""

import cProfile
import logging
import pstats
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from OCP.Message import Message

from analyzers.pipeline import analyse_file
from analyzers.settings import load_settings
from tests.benchmarks.stages import ROOT, SETS, STAGES

MOST: Final = 10
Place = tuple[str, int, str]


def profiled(paths: Sequence[Path]) -> dict[str, cProfile.Profile]:
    """Return the profile of each stage over all files."""
    settings = load_settings()
    analyse_file(SETS["fixtures"] / "link_bar.step", settings)  # whatever is loaded at first use is loaded now
    profiles = {stage: cProfile.Profile(time.process_time) for stage in STAGES}
    for path in paths:
        running: list[cProfile.Profile] = []

        def begun(stage: str, running: list[cProfile.Profile] = running) -> None:
            while running:
                running.pop().disable()
            if stage:
                running.append(profiles[stage])
                running[0].enable()

        analyse_file(path, settings, begun)
        begun("")
    return profiles


def lines(profile: cProfile.Profile) -> list[str]:
    """Return the dearest functions with their own share of the stage and the number of their calls."""
    found = pstats.Stats(profile)
    whole = found.total_tt  # type: ignore[attr-defined]  # not in the stubs
    own = sorted(found.stats.items(), key=lambda entry: -entry[1][2])  # type: ignore[attr-defined]
    rows = [f"| {_name(place)} | {100 * cost[2] / whole:.0f} % | {cost[1]} |" for place, cost in own[:MOST]]
    return [f"{whole:.2f} s", "", "| where | own share | calls |", "| --- | ---: | ---: |", *rows]


def _name(place: Place) -> str:
    """Return file, line and function, or what built-in function it is; no folder of this machine."""
    path, line, function = place
    if path == "~":
        return f"`{function}`"
    known = Path(path)
    shown = known.relative_to(ROOT) if known.is_relative_to(ROOT) else Path(*known.parts[-2:])
    return f"`{shown}:{line} {function}`"


def main(words: Sequence[str]) -> None:
    """Print a table for each stage."""
    logging.disable()
    Message.DefaultMessenger_s().ChangePrinters().Clear()
    for stage, profile in profiled(list(map(Path, words))).items():
        sys.stdout.write("\n".join([f"### {stage}: ", *lines(profile), "", ""]).replace(": \n", ": ", 1))


if __name__ == "__main__":
    main(sys.argv[1:])
