"""What the HTTP interface takes and gives, as OpenAPI shows it."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field, StringConstraints

from worker.ledger import Entry, State
from worker.registry import NamedFile

Name = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9_.-]{0,63}$")]
Text = Annotated[str, StringConstraints(min_length=1, max_length=200, pattern=r"^[^\x00-\x1f\x7f]+$")]
Day = Annotated[str, StringConstraints(pattern=r"^\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$")]
JobId = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{32}$")]
Quantity = Annotated[int, Field(ge=1, le=10_000_000)]
Priority = Annotated[int, Field(ge=-100, le=100)]


class Job(BaseModel):
    """One job. Lengths are mm; `bucket` and what follows it are null until it is done."""

    id: str
    number: int
    file_name: str
    member: str | None
    file_digest: str
    size_bytes: int
    material: str | None
    quantity: int
    settings_digest: str
    priority: int
    due: str | None
    customer: str | None
    state: State
    stage: str
    tries: int
    status: Literal["complete", "partial", "unreadable"] | None
    problem: str | None
    seconds: float | None
    bucket: str | None
    difficulty: float | None
    minutes: float | None
    setups: int | None
    questions: int | None
    min_internal_radius_mm: float | None
    summary: dict[str, Any] | None
    submitted_at: str
    started_at: str | None
    ended_at: str | None

    @classmethod
    def of(cls, entry: Entry) -> "Job":
        """Return an entry of the ledger as the outside sees it."""
        return cls(**{name: getattr(entry, name) for name in cls.model_fields})


class Jobs(BaseModel):
    """Some jobs."""

    jobs: list[Job]


class JobPage(Jobs):
    """One page of the list; `next_cursor` is null on the last."""

    next_cursor: str | None


class Settings(BaseModel):
    """A named shop or policy file."""

    kind: Literal["shop", "policy"]
    name: str
    digest: str
    changed_at: str

    @classmethod
    def of(cls, file: NamedFile) -> "Settings":
        """Return a named file as the outside sees it."""
        return cls(kind=file.kind, name=file.name, digest=file.digest, changed_at=file.changed_at)


class SettingsList(BaseModel):
    """All named files of a kind."""

    files: list[Settings]
