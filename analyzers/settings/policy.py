"""What fails the gate."""

from dataclasses import dataclass
from typing import Annotated, ClassVar

from annotated_types import Ge, Le, MinLen
from pydantic import ConfigDict

from analyzers.model.finding import Level
from analyzers.model.triage import Bucket
from analyzers.settings.file_values import FILE_KEYS


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """A file fails when any of these says so; rules in `allow_rules` never fail it, whatever their level."""

    __pydantic_config__: ClassVar[ConfigDict] = FILE_KEYS

    name: Annotated[str, MinLen(1)]
    fail_levels: tuple[Level, ...]
    fail_rules: tuple[str, ...] = ()
    allow_rules: tuple[str, ...] = ()
    fail_buckets: tuple[Bucket, ...] = ()
    max_difficulty: Annotated[float, Ge(0.0), Le(100.0)] | None = None
    required_measures: tuple[str, ...] = ()  # fails where one of these could not be taken
    note: str = ""
