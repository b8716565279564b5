"""Two revisions of a part: laid onto one another, feature by feature, number by number."""

from analyzers.compare.bodies import compare
from analyzers.compare.changes import BodyComparison, Comparison, Difference, FeatureChange, FeatureMet, Move

__all__ = ["BodyComparison", "Comparison", "Difference", "FeatureChange", "FeatureMet", "Move", "compare"]
