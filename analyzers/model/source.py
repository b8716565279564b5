"""Where a part came from: the file and what its header says."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Source:
    """One file as received. A field the file does not give is None."""

    file_name: str
    sha256: str
    size_bytes: int
    step_schema: str | None = None
    length_unit: str | None = None  # "mm", "inch", "m", ... as written in the file
    originating_system: str | None = None
    product_name: str | None = None
    time_stamp: str | None = None


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that could not be done or cannot be trusted, in plain words."""

    stage: str  # "load", "recognise", "measure", ...
    message: str
    body: str | None = None  # id of the body it concerns; None = the whole file
