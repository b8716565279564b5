"""The shop, the policy and the order's material and quantity, as one frozen object."""

from analyzers.settings.files import check_policy, check_shop, load_settings
from analyzers.settings.policy import Policy
from analyzers.settings.settings import Settings
from analyzers.settings.shop import Cutter, Holder, LimitOverride, Machine, Material, Refusal, Shop, Stock

__all__ = [
    "Cutter",
    "Holder",
    "LimitOverride",
    "Machine",
    "Material",
    "Policy",
    "Refusal",
    "Settings",
    "Shop",
    "Stock",
    "check_policy",
    "check_shop",
    "load_settings",
]
