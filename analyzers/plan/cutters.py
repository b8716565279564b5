"""Which cutters make a feature from a direction: asks the family that knows."""

from analyzers.features.boss import Boss
from analyzers.features.chamfer import Chamfer
from analyzers.features.edge_round import EdgeRound
from analyzers.features.fillet import Fillet
from analyzers.features.groove import Groove
from analyzers.features.hole import Hole
from analyzers.features.outer_round import OuterRound
from analyzers.features.pocket import Pocket
from analyzers.features.region import Region
from analyzers.features.slot import Slot
from analyzers.features.step import Step
from analyzers.model.arrays import Floats
from analyzers.model.feature import Feature
from analyzers.plan.bench import Bench, Making
from analyzers.plan.blending import make_chamfer, make_edge_round, make_fillet, make_region
from analyzers.plan.drilling import make_hole
from analyzers.plan.lathe import make_groove, make_outer_round
from analyzers.plan.milling import make_boss, make_cavity


def make(feature: Feature, bench: Bench, direction: Floats) -> Making:
    """Return how a feature is made from a direction on a bench, or why not.

    Raises
    ------
    TypeError : a kind of feature that no family here knows
    """
    refused = next((each for each in bench.shop.refuses if each.what == "feature" and each.name == feature.kind), None)
    if refused is not None:
        return Making((), f"the shop does not take it on: {refused.why}")
    match feature:
        case Hole():
            return make_hole(feature, bench)
        case Pocket() | Slot() | Step():
            return make_cavity(feature, bench, direction)
        case Boss():
            return make_boss(feature, bench, direction)
        case Fillet():
            return make_fillet(feature, bench, direction)
        case EdgeRound():
            return make_edge_round(feature, bench, direction)
        case Chamfer():
            return make_chamfer(feature, bench, direction)
        case Region():
            return make_region(feature, bench, direction)
        case OuterRound():
            return make_outer_round(feature, bench, direction)
        case Groove():
            return make_groove(feature, bench)
    raise TypeError(f"{type(feature).__name__} is no kind of feature that the plan knows")
