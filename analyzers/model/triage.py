"""How hard the part is, and why."""

from dataclasses import dataclass
from typing import Literal

from analyzers.model.plan import Minutes

Bucket = Literal["routine", "involved", "demanding", "not_as_modelled"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Driver:
    """One reason for the difficulty and the points it adds."""

    name: str
    points: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Triage:
    """Difficulty 0..100 = the drivers' points added up, capped; the bucket follows from it and from what is unmade."""

    difficulty: float
    bucket: Bucket
    drivers: tuple[Driver, ...]  # largest first
    machining_minutes: Minutes
    summary: str  # the reason for the bucket in one sentence
