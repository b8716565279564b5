"""Thousands of broken files through the real batch and the real service; afterwards nothing may be lost or left.

    python -m tests.worker.mutation_campaign --files 20000 --service 5000 --log campaign.jsonl

Every file has to end in a report or a clear error within its limits. No process but the children may die, and of
the children, their files, their lines and their memory nothing may be left. Prints the outcomes (status and reason),
what was left over, and each breach; exit status 1 where there is one. A fault found is had again by its number:
`--first 4711 --files 1`.
"""

import argparse
import contextlib
import json
import logging
import os
import re
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, Final, Protocol

import httpx

from analyzers.rules import known_limits
from analyzers.settings import load_settings
from tests.worker.mutations import Mutant, mutant, small_bases
from tests.worker.processes import ROOT, children, free_port, wait_until
from worker.batch import run_batch
from worker.collect import collect
from worker.job import Job, make_jobs
from worker.limits import Limits, memory_use
from worker.outcome import Outcome
from worker.sandbox import Sandbox
from worker.store import DOCUMENT, read_document

CHUNK: Final = 50
_IDLE_S: Final = 10.0
_LATE_S: Final = 2.0
_OVER_MIB: Final = 300
"""What a child may be over its limits when it is caught: it is looked at every 50 ms, on a machine with other work."""

_BASE_BYTES: Final = 20_000
_REASONS: Final = (
    (re.compile(r"crashed \((\S+)\)"), "crashed, {0}"),
    (re.compile(r"stopped after its time limit"), "over its time"),
    (re.compile(r"stopped at its memory limit"), "over its memory"),
    (re.compile(r"killed from outside|died under this file"), "killed"),
    (re.compile(r"The analysis failed"), "exception"),
    (re.compile(r"the analysis of this body stopped"), "exception in a body"),
)


@dataclass(frozen=True, slots=True)
class Ended:
    """How one model of a mutant ended."""

    mutant: str
    kind: str
    way: str
    status: str
    reason: str
    problem: str
    seconds: float
    breach: str | None


class Way(Protocol):
    """One way of having models analysed."""

    name: str

    def process(self) -> int:
        """Return the process whose memory shall not grow."""

    def run(self, mutants: Sequence[Mutant]) -> Iterator[Ended]:
        """Have each mutant analysed and tell how each of its models ended."""


# --- what a report must be ------------------------------------------------------------------------------------------


def reason_of(document: dict[str, Any]) -> str:
    """Return in a few words what kept the analysis from being complete, from the report alone."""
    problems = document["problems"]
    for pattern, words in _REASONS:
        for problem in problems:
            if found := pattern.search(problem["message"]):
                return words.format(*found.groups()) + f" in {problem['stage']}"
    return f"named problem in {problems[0]['stage']}" if problems else ""


def breach_in(document: dict[str, Any]) -> str | None:
    """Return what a report lacks that every report must have; None where it is as it should be."""
    status, problems = document["status"], document["problems"]
    if status not in {"complete", "partial", "unreadable"}:
        return f"the status is {status}"
    if status != "complete" and not all(each["stage"] and each["message"] for each in problems):
        return "a problem without stage or words"
    if status != "complete" and not problems:
        return f"{status}, and no problem is named"
    if status == "complete" and not document["bodies"]:
        return "complete without a body"
    return None


def _ended(way: str, name: str, document: dict[str, Any], seconds: float, breach: str | None) -> Ended:
    first = document["problems"][0]["message"] if document["problems"] else ""
    kind = name.split("-")[1]
    return Ended(
        name, kind, way, document["status"], reason_of(document), first, seconds, breach or breach_in(document)
    )


# --- the two ways ---------------------------------------------------------------------------------------------------


class BatchWay:
    """As `partsieve check` does it: one sandbox for all files; the parent is this process."""

    name = "batch"

    def __init__(self, folder: Path, limits: Limits, sandbox: Sandbox) -> None:
        self._folder, self._limits, self._sandbox = folder, limits, sandbox
        self._settings = load_settings(known_limits=known_limits())
        folder.mkdir()

    def process(self) -> int:
        """Return this process."""
        return os.getpid()

    def run(self, mutants: Sequence[Mutant]) -> Iterator[Ended]:
        """Write the files, run them as one batch, look at each report and remove all."""
        with tempfile.TemporaryDirectory(dir=self._folder) as folder:
            files = [Path(folder, each.file_name) for each in mutants]
            for path, each in zip(files, mutants, strict=True):
                path.write_bytes(each.content)
            jobs = make_jobs(collect(map(str, files)).models, Path(folder, "out"), self._settings, html=False)
            yield from map(self._look, run_batch(jobs, self._settings, self._sandbox, self._limits, 1, _Deaf()))

    def _look(self, outcome: Outcome) -> Ended:
        ending, document = outcome.ending, read_document(Path(outcome.job.out) / DOCUMENT)
        breach = None
        if ending.seconds > self._limits.seconds + _LATE_S:
            breach = f"took {ending.seconds:g} s"
        elif ending.peak_mib > self._limits.memory_mib + _OVER_MIB:
            breach = f"took {ending.peak_mib:g} MiB"
        return _ended(self.name, Path(outcome.job.path).name, document, ending.seconds, breach)


class _Deaf:
    """Watches a batch and tells nobody."""

    def begun(self, job: Job) -> None:
        """Hear nothing."""

    def stage(self, job: Job, stage: str) -> None:
        """Hear nothing."""

    def ended(self, job: Job, outcome: Outcome) -> None:
        """Hear nothing."""


class ServiceWay:
    """As `partsieve serve` does it, with page, kept facts and ledger: sent in over HTTP, fetched, deleted."""

    name = "service"

    def __init__(self, folder: Path, limits: Limits, temporary: Path) -> None:
        folder.mkdir()
        port = free_port()
        self._limits, self.state = limits, folder / "state"
        arguments = ["--state", str(self.state), "--port", str(port), "--jobs", "1", "--rate", "0"]
        arguments += ["--timeout", str(limits.seconds), "--memory", str(limits.memory_mib)]
        environment = {**os.environ, "PYTHONPATH": str(ROOT), "TMPDIR": str(temporary)}
        self._log = (folder / "log").open("wb")
        self._process = subprocess.Popen(
            [sys.executable, "-m", "api", "serve", *arguments], env=environment, stderr=self._log, cwd=folder
        )
        self._client = httpx.Client(base_url=f"http://127.0.0.1:{port}", timeout=60, trust_env=False)
        wait_until("the service answers", self._answers, seconds=120)

    def __enter__(self) -> "ServiceWay":
        return self

    def __exit__(self, *_: object) -> None:
        self._client.close()
        self._process.terminate()
        self._process.wait(timeout=60)
        self._log.close()

    def process(self) -> int:
        """Return the service's process."""
        return self._process.pid

    def run(self, mutants: Sequence[Mutant]) -> Iterator[Ended]:
        """Send the files in, wait for all jobs, look at each report, strike the jobs."""
        ids = [(each.file_name, job) for each in mutants for job in self._send(each)]
        wait_until("all jobs have ended", self._idle, seconds=60 + 3 * self._limits.seconds * len(ids))
        for name, job_id in ids:
            yield self._look(name, job_id)
        for start in range(0, len(ids), CHUNK):
            struck = {"jobs": [job_id for _, job_id in ids[start : start + CHUNK]]}
            self._client.post("/api/batch/delete", json=struck).raise_for_status()

    def _send(self, one: Mutant) -> list[str]:
        answer = self._client.post("/api/jobs", params={"file_name": one.file_name}, content=one.content)
        answer.raise_for_status()
        return [each["id"] for each in answer.json()["jobs"]]

    def _look(self, name: str, job_id: str) -> Ended:
        job = self._client.get(f"/api/jobs/{job_id}").raise_for_status().json()
        document = self._client.get(f"/api/jobs/{job_id}/report").raise_for_status().json()
        breach = None
        if job["state"] not in {"done", "set_aside"}:
            breach = f"the job is {job['state']}"
        elif job["seconds"] > self._limits.seconds + _LATE_S:
            breach = f"took {job['seconds']:g} s"
        return _ended(self.name, name, document, job["seconds"], breach)

    def _answers(self) -> bool:
        try:
            return self._client.get("/ready").is_success
        except httpx.TransportError:
            return False

    def _idle(self) -> bool:
        time.sleep(0.1)
        states = self._client.get("/api/overview").raise_for_status().json()["states"]
        return not states.keys() & {"waiting", "running"}


# --- what is left over ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Footprint:
    """What a process and its helper hold while nothing is being analysed."""

    resident_mib: float
    descriptors: int
    helper: int  # its process number
    helper_mib: float
    helper_descriptors: int
    grandchildren: int  # analyses that should have ended, dead ones that nobody has buried among them
    temporary_files: int


def footprint(pid: int, temporary: Path) -> Footprint:
    """Return what a process holds when it has been idle for a moment: a child that could take more files has gone."""
    helper = next(each for each in children(pid) if b"worker.forker" in Path(f"/proc/{each}/cmdline").read_bytes())
    with contextlib.suppress(AssertionError):  # one that stays is counted
        wait_until("the children are gone", lambda: not children(helper), seconds=_IDLE_S)
    own, its = memory_use(pid), memory_use(helper)
    assert own is not None
    assert its is not None
    return Footprint(
        resident_mib=round(own.resident_mib, 1),
        descriptors=_descriptors(pid),
        helper=helper,
        helper_mib=round(its.resident_mib, 1),
        helper_descriptors=_descriptors(helper),
        grandchildren=len(children(helper)),
        temporary_files=sum(1 for root in temporary.glob("partsieve-*") for _ in root.iterdir()),
    )


def _descriptors(pid: int) -> int:
    return len(list(Path(f"/proc/{pid}/fd").iterdir()))


def left_over(first: Footprint, last: Footprint) -> list[str]:
    """Return what has piled up between two looks, in words; [] where nothing has."""
    found = []
    if last.helper != first.helper:
        found.append("the helper process has died")
    if last.grandchildren:
        found.append(f"{last.grandchildren} children are left")
    if last.temporary_files:
        found.append(f"{last.temporary_files} temporary files are left")
    if last.helper_descriptors > first.helper_descriptors:
        found.append(f"the helper holds {last.helper_descriptors - first.helper_descriptors} more descriptors")
    return found


@dataclass(slots=True)
class Run:
    """What one way has come to."""

    way: Way
    temporary: Path
    table: Counter[tuple[str, str]] = field(default_factory=Counter)
    breaches: list[str] = field(default_factory=list)
    looks: list[Footprint] = field(default_factory=list)
    files: int = 0
    models: int = 0
    slowest_s: float = 0.0

    def chunk(self, mutants: Sequence[Mutant], note: Callable[[Ended], None]) -> None:
        """Run some mutants and look at what is left of them."""
        met = set()
        for each in self.way.run(mutants):
            met.add(each.mutant)
            self.models += 1
            self.table[each.status, each.reason] += 1
            self.slowest_s = max(self.slowest_s, each.seconds)
            if each.breach is not None:
                self.breaches.append(f"{each.mutant}: {each.breach}")
            note(each)
        self.breaches += [f"{each.file_name}: no report" for each in mutants if each.file_name not in met]
        self.files += len(mutants)
        self.looks.append(footprint(self.way.process(), self.temporary))
        self.breaches += left_over(self.looks[0], self.looks[-1])

    def told(self) -> dict[str, Any]:
        """Return the figures. Growth is told from the second look on: the first files fill what is kept for good."""
        base, last = self.looks[min(1, len(self.looks) - 1)], self.looks[-1]
        return {
            "way": self.way.name,
            "files": self.files,
            "models": self.models,
            "slowest_s": round(self.slowest_s, 2),
            "outcomes": {f"{status} | {why}": count for (status, why), count in sorted(self.table.items())},
            "memory_growth": round(last.resident_mib / base.resident_mib - 1, 4),
            "helper_memory_growth": round(last.helper_mib / base.helper_mib - 1, 4),
            "first_look": asdict(base),
            "last_look": asdict(last),
            "breaches": self.breaches,
        }


def campaign(
    numbers: Sequence[int], bases: Sequence[tuple[str, bytes]], seed: int, run: Run, note: Callable[[Ended], None]
) -> None:
    """Have the mutants of these numbers analysed, a chunk at a time."""
    for start in range(0, len(numbers), CHUNK):
        run.chunk([mutant(number, bases, seed) for number in numbers[start : start + CHUNK]], note)


def main() -> None:
    """Run a campaign and print its figures; exit status 1 where something was breached."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--files", type=int, default=20_000)
    parser.add_argument("--service", type=int, default=5000, help="so many of them over the service, the first")
    parser.add_argument("--first", type=int, default=0, help="number of the first mutant")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=10.0, help="time limit of a file")
    parser.add_argument("--memory", type=int, default=1024, help="memory limit of a file in MiB")
    parser.add_argument("--bases", type=Path, nargs="*", default=[], help="folders of sound files beside the fixtures")
    parser.add_argument("--base-bytes", type=int, default=_BASE_BYTES, help="size of the largest sound file")
    parser.add_argument("--log", type=Path, default=Path(os.devnull), help="a line for each model goes here")
    given = parser.parse_args()
    logging.disable()  # each child's last words, thousands of times
    bases = small_bases([ROOT / "fixtures", *given.bases], given.base_bytes)
    numbers = range(given.first, given.first + given.files)
    limits = Limits(given.seconds, given.memory)
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="mutations-")))
        temporary = folder / "tmp"
        temporary.mkdir()
        tempfile.tempdir = str(temporary)
        log = stack.enter_context(given.log.open("a"))

        def note(each: Ended) -> None:
            log.write(json.dumps(asdict(each)) + "\n")
            log.flush()

        runs = []
        if served := numbers[: given.service]:
            with ServiceWay(folder / "service", limits, temporary) as service:
                runs.append(Run(service, temporary))
                campaign(served, bases, given.seed, runs[-1], note)
            _say(runs[-1])
        if rest := numbers[given.service :]:
            with Sandbox() as sandbox:
                runs.append(Run(BatchWay(folder / "batch", limits, sandbox), temporary))
                campaign(rest, bases, given.seed, runs[-1], note)
            _say(runs[-1])
        left = [str(each) for each in temporary.iterdir()]
    sys.stdout.write(json.dumps({"left_after_the_end": left}) + "\n")
    sys.exit(1 if left or any(each.breaches for each in runs) else 0)


def _say(run: Run) -> None:
    sys.stdout.write(json.dumps(run.told(), indent=1) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
