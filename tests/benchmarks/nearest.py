"""How long one of 100,000 stored parts is looked for: `python -m tests.benchmarks.nearest`, milliseconds."""

import sys
import time

import numpy as np

from analyzers.signature import LENGTH, Signature, nearest

STORED, SEARCHES = 100_000, 50


def main() -> None:
    """Print the median and the longest search."""
    chance = np.random.default_rng(1)
    numbers, hands = chance.normal(size=(STORED, LENGTH)), chance.normal(size=(STORED, 2))
    taken = []
    for row in range(SEARCHES):
        start = time.perf_counter()
        found = nearest(Signature(numbers[row] + 1e-6, hands[row]), numbers, hands)
        taken.append(1e3 * (time.perf_counter() - start))
        assert found[0].row == row
    sys.stdout.write(f"{STORED} stored: median {np.median(taken):.1f} ms, longest {max(taken):.1f} ms\n")


if __name__ == "__main__":
    main()
