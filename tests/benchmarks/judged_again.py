"""How long a measured part takes to be judged again: `python -m tests.benchmarks.judged_again FILE ...`.

Processor time by stage, the least of three, with the facts restored from their store as the service does it; pages are
not in it.
"""

import logging
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Final

from OCP.Message import Message

from analyzers.model.stored import restore, stored
from analyzers.pipeline import Measured, analyse_file, judge_again
from analyzers.settings import load_settings

RUNS: Final = 3


def main(words: Sequence[str]) -> None:
    """Print milliseconds for each file, and their medians."""
    logging.disable()
    Message.DefaultMessenger_s().ChangePrinters().Clear()
    settings = load_settings()
    restored, judged = [], []
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / "facts"
        for path in map(Path, words):
            measured = analyse_file(path, settings).measured
            if measured is None:
                continue
            kept.write_bytes(stored(measured))
            restored.append(_least(partial(restore, Measured, kept)))
            again = restore(Measured, kept)
            judged.append(_least(partial(judge_again, again, settings)))
            faces = sum(each.facts.part.n_faces for each in measured.bodies)
            sys.stdout.write(f"{path.stem}, {faces} faces: restored {restored[-1]:.0f}, judged {judged[-1]:.0f} ms\n")
    sys.stdout.write(f"median: restored {statistics.median(restored):.0f}, judged {statistics.median(judged):.0f} ms\n")


def _least(work: Callable[[], object]) -> float:
    """Return the milliseconds of the quickest of a few runs."""
    taken = []
    for _ in range(RUNS):
        start = time.process_time()
        work()
        taken.append(1e3 * (time.process_time() - start))
    return min(taken)


if __name__ == "__main__":
    main(sys.argv[1:])
