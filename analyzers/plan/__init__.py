"""How a body could be made in a shop: blank, setups, cutters, minutes."""

from analyzers.plan.layout import Layout, layout_for, relaid
from analyzers.plan.minutes import FIXTURE_SETUPS, feature_mm3
from analyzers.plan.planner import make_plan

__all__ = ["FIXTURE_SETUPS", "Layout", "feature_mm3", "layout_for", "make_plan", "relaid"]
