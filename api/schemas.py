"""What the HTTP interface takes and gives, as OpenAPI shows it."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field, StringConstraints

from worker.ledger import Entry, State
from worker.listing import MOST, SortKey, Wanted
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
    material_used: str | None
    quantity: int
    repair: bool
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


class Filter(BaseModel):
    """Which jobs, in which order; what is not said lets all pass."""

    state: list[State] = []
    bucket: Text | None = None
    material: Annotated[Text | None, Field(description="The material that it is judged in.")] = None
    customer: Text | None = None
    name: Annotated[Text | None, Field(description="Part of the file's name, in any case.")] = None
    max_setups: Annotated[int | None, Field(ge=0, le=1000)] = None
    max_internal_radius_mm: Annotated[float | None, Field(ge=0, le=1e6)] = None
    due_until: Day | None = None
    sort: SortKey = "arrival"
    falling: bool = False

    def wanted(self, limit: int = MOST, cursor: str | None = None) -> Wanted:
        """Return it as the list takes it."""
        said = self.model_dump(exclude={"state", "name", "limit", "cursor"})
        return Wanted(states=tuple(self.state), name_contains=self.name, limit=limit, cursor=cursor, **said)


class PageFilter(Filter):
    """The same, and which page of it."""

    limit: Annotated[int, Field(ge=1, le=MOST)] = 50
    cursor: Annotated[str | None, Field(max_length=1000)] = None


class Overview(BaseModel):
    """What there is."""

    states: dict[str, int]  # jobs in each
    materials: list[str]  # that jobs are judged in
    shops: list[str]
    policies: list[str]
    workers_here: int  # 0 = they are elsewhere


class Which(BaseModel):
    """Some jobs by their ids."""

    jobs: Annotated[list[JobId], Field(min_length=1, max_length=MOST)]


class Struck(BaseModel):
    """What has become of them."""

    struck: int


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
