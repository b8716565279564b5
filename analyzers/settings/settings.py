"""All that can change a verdict about a part, in one frozen object with a digest."""

import hashlib
import json
from dataclasses import asdict, dataclass, field

from analyzers.settings.policy import Policy
from analyzers.settings.shop import Material, Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """The shop, the policy, what was ordered, whether a model that is not sound is repaired before it is measured.

    `digest` follows from these, not from how the files are laid out.
    """

    shop: Shop
    policy: Policy
    material: Material
    quantity: int = 1
    repair: bool = False
    digest: str = field(init=False)

    def __post_init__(self) -> None:
        if self.quantity < 1:
            raise ValueError(f"quantity is {self.quantity}, expected 1 or more")
        object.__setattr__(self, "digest", _digest(self))


def _digest(settings: Settings) -> str:
    """Return the sha256 of the canonical JSON of everything given; repair only where it is asked for."""
    content = {
        "shop": asdict(settings.shop),
        "policy": asdict(settings.policy),
        "material": asdict(settings.material),
        "quantity": settings.quantity,
    }
    if settings.repair:
        content["repair"] = True
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False)
    return hashlib.sha256(text.encode("ascii")).hexdigest()
