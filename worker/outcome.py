"""How the work on one file ended. All of these are results; none is an exception."""

import signal
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from worker.limits import Limits

if TYPE_CHECKING:
    from worker.job import Job

How = Literal["finished", "failed", "crashed", "killed", "out_of_time", "out_of_memory", "cancelled"]
"""`failed`: ended by itself without a result (an exception); `crashed`: died by a signal of its own making;
`killed`: by SIGKILL, which nobody sends to himself: an administrator, or the kernel where memory ran out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ending:
    """How one child process ended."""

    how: How
    result: dict[str, Any] | None = None  # what the child's function returned; only where it finished
    stage: str = ""  # the last stage the child had named
    message: str = ""  # in plain words, why there is no result
    detail: str = ""  # the end of what the child wrote to its stderr: tracebacks, for the log
    seconds: float = 0.0
    peak_mib: float = 0.0
    again: bool = False  # the child had other jobs before, and the fault may be theirs
    missing: tuple[str, ...] = ()  # walls that this platform does not put around a child, each with its reason

    def __post_init__(self) -> None:
        if (self.how == "finished") != (self.result is not None):
            raise ValueError(f"{self.how}: a result belongs to a finished child and to no other")


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of one job; its report lies in the job's folder."""

    job: "Job"
    status: str  # complete | partial | unreadable
    analysed: bool  # at least one body is in the report
    problem: str | None  # the first problem of the report
    ending: Ending
    reused: bool = False  # of an earlier run, which this one would only have repeated


def explain(how: How, limits: Limits, stage: str, signal_number: int | None = None, last_words: str = "") -> str:
    """Return one sentence on why a file has no result.

    Examples
    --------
    >>> explain("crashed", Limits(), "load", 11)
    'The analysis crashed (SIGSEGV) in stage "load".'
    >>> explain("failed", Limits(), "plan", last_words="no such face")
    'The analysis failed in stage "plan": no such face.'
    >>> explain("out_of_time", Limits(seconds=2.5), "")
    'The analysis was stopped after its time limit of 2.5 s.'
    """
    where = f' in stage "{stage}"' if stage else ""
    match how:
        case "out_of_time":
            return f"The analysis was stopped after its time limit of {limits.seconds:g} s{where}."
        case "out_of_memory":
            return f"The analysis was stopped at its memory limit of {limits.memory_mib} MiB{where}."
        case "cancelled":
            return f"The analysis was cancelled{where}."
        case "killed":
            return f"The analysis was killed from outside{where}."
        case "crashed":
            return f"The analysis crashed ({signal_name(signal_number)}){where}."
        case _:
            return f"The analysis failed{where}: {last_words.rstrip('.') or 'it left no word why'}."


def signal_name(number: int | None) -> str:
    """Return for example "SIGSEGV"; a number the platform does not name stays a number."""
    try:
        return signal.Signals(number or 0).name
    except ValueError:
        return f"signal {number}"
