"""How a body could be made in a shop: blank, setups, cutters, minutes."""

from analyzers.plan.drawn_units import drawn_in
from analyzers.plan.layout import Layout, layout_for, relaid
from analyzers.plan.minutes import FIXTURE_SETUPS, feature_mm3
from analyzers.plan.planner import make_plan
from analyzers.plan.threading import tap_for, thread_depth_mm, thread_of

__all__ = [
    "FIXTURE_SETUPS",
    "Layout",
    "drawn_in",
    "feature_mm3",
    "layout_for",
    "make_plan",
    "relaid",
    "tap_for",
    "thread_depth_mm",
    "thread_of",
]
