"""How a body could be made in a shop: blank, setups, cutters, minutes."""

from analyzers.plan.layout import Layout, layout_for, relaid
from analyzers.plan.planner import make_plan

__all__ = ["Layout", "layout_for", "make_plan", "relaid"]
