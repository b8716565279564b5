"""How a body could be made in a shop: blank, setups, cutters, minutes."""

from analyzers.plan.planner import make_plan

__all__ = ["make_plan"]
