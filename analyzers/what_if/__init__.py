"""What would clear a finding: the changed part planned and judged again, never a stock phrase.

A rule proposes ways (which dimension, towards which value); here each is put into the facts, laid out, planned and
judged anew, and the smallest value after which the rule is silent, without another rule warning in its stead, is kept
with what it does to minutes, cutters and setups.

The facts are edited, not the geometry: what depends on a dimension directly (depth ratio, floor left below, walls
beside, sharp corners, upright reach) follows it; what a direction sees stays as modelled. The round trips in
`tests/what_if` build the changed part for true and look again.
"""

from analyzers.what_if.bench import MOST_TRIALS
from analyzers.what_if.search import try_changes
from analyzers.what_if.words import PARAMETERS

__all__ = ["MOST_TRIALS", "PARAMETERS", "try_changes"]
