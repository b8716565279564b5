"""What fails the gate, for all models and for some."""

from dataclasses import dataclass, replace
from fnmatch import fnmatchcase
from typing import Annotated, ClassVar

from annotated_types import Ge, Le, MinLen
from pydantic import ConfigDict

from analyzers.model.finding import Level
from analyzers.model.triage import Bucket
from analyzers.settings.file_values import FILE_KEYS


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """What a policy says otherwise of some models: those whose path matches `files`; None = as for all.

    `files` is a shell pattern of the path as it was given, in which * stands for folders too ("castings/*"), or of the
    file name alone where it holds no slash ("proto_*.step"). Of several that match, later ones go before earlier ones.
    """

    __pydantic_config__: ClassVar[ConfigDict] = FILE_KEYS

    files: Annotated[str, MinLen(1)]
    fail_levels: tuple[Level, ...] | None = None
    fail_rules: tuple[str, ...] | None = None
    allow_rules: tuple[str, ...] | None = None
    fail_buckets: tuple[Bucket, ...] | None = None
    max_difficulty: Annotated[float, Ge(0.0), Le(100.0)] | None = None
    required_measures: tuple[str, ...] | None = None
    note: str = ""

    def matches(self, path: str) -> bool:
        """Return whether this is about a model at that path."""
        path = path.replace("\\", "/")
        return fnmatchcase(path if "/" in self.files else path.rpartition("/")[2], self.files)


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
    override: tuple[Override, ...] = ()  # [[override]] tables

    def for_model(self, path: str) -> "Policy":
        """Return the policy as it stands for the model at a path."""
        if not self.override:
            return self
        told: dict[str, object] = {}
        for each in self.override:
            if each.matches(path):
                said = {name: getattr(each, name) for name in _SAID}
                told |= {name: value for name, value in said.items() if value is not None}
        return replace(self, override=(), **told)  # type: ignore[arg-type]  # names and types of this very class


_SAID = ("fail_levels", "fail_rules", "allow_rules", "fail_buckets", "max_difficulty", "required_measures")
