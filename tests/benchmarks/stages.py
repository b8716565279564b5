"""What each stage of an analysis costs against merely reading the file: `python -m tests.benchmarks.stages`.

Writes TABLES.md beside this file. CPU seconds (user and system) of one process, the least of a few runs, each in a
fork of this process, which has OpenCascade loaded; the bare reading (`STEPControl_Reader`: read and transfer) is
measured in the same way just before. `python -m tests.benchmarks.stages NAME ...` measures only the files of those
names (or, `PART*`, of names that hold a part; `SET/`, of a set). Each row is kept in the temporary folder, so that the
tables can be made in several runs. All of it takes some 15 minutes on a quiet machine.
"""

import json
import logging
import os
import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path
from typing import Any, Final

from OCP.Message import Message
from OCP.STEPControl import STEPControl_Reader

from analyzers.pipeline import analyse_file
from analyzers.settings import Settings, load_settings
from tests.benchmarks.made import KINDS, made

STAGES: Final = ("load", "arrays", "recognise", "measure", "plan", "judge", "what_if", "triage")
MADE_FACES: Final = {"comb": (100, 500, 2000, 5000), "board": (100, 500, 2000, 5000, 20000), "plate": (100, 500, 2000)}
MORE_FACES: Final = {"comb": (20000,), "plate": (5000, 20000)}  # measured only when named: minutes each, or without end
RUNS: Final = int(os.environ.get("PARTSIEVE_BENCHMARK_RUNS", "3"))
ROWS: Final = Path(tempfile.gettempdir()) / "partsieve-benchmarks" / "rows.jsonl"
ENOUGH_S: Final = 2.0  # a run longer than this is not repeated
READING_LONGEST_S: Final = 60  # processor seconds; longer reading is cut off and counts as this much
LONGEST_S: Final = 400  # the same for an analysis, four times what the longest takes; one that is cut off is said to be
SMALL, LARGE, HUGE = 60, 100, 2000  # faces
ROOT: Final = Path(__file__).parents[2]
CORPORA: Final = Path(os.environ.get("PARTSIEVE_CORPORA", ROOT.parent / "shared" / "corpora"))
SETS: Final = {"fixtures": ROOT / "fixtures" / "parts", "real": CORPORA / "real"}


@dataclass(frozen=True, slots=True)
class Row:
    """One file: seconds of bare reading and of each stage; what both took of memory at most, above the idle process."""

    name: str
    faces: int
    bare_s: float
    stage_s: dict[str, float]
    bare_mb: float
    mb: float

    @property
    def total_s(self) -> float:
        """All stages."""
        return sum(self.stage_s.values())

    @property
    def ratio(self) -> float:
        """From file to answer against merely reading."""
        return self.total_s / self.bare_s


def read_only(path: Path) -> dict[str, Any]:
    """Read and transfer a file."""
    start = time.process_time()
    reader = STEPControl_Reader()
    reader.ReadFile(str(path))
    reader.TransferRoots()
    return {"bare_s": time.process_time() - start}


def analyse_staged(path: Path, settings: Settings) -> dict[str, Any]:
    """Analyse a file; the stages tell when they begin, and what lies between two beginnings is the first one's."""
    seconds = dict.fromkeys(STAGES, 0.0)
    stage, since = "load", time.process_time()

    def begun(name: str) -> None:
        nonlocal stage, since
        now = time.process_time()
        seconds[stage] += now - since
        stage, since = name, now

    report = analyse_file(path, settings, begun).report
    begun("")
    return {"stage_s": seconds, "faces": sum(body.facts.part.n_faces for body in report.bodies)}


def in_fork(longest_s: int, work: Callable[[], dict[str, Any]]) -> dict[str, Any] | None:
    """Return what a forked child found, and the memory it took at most beyond this process's; None where it died."""
    ours, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        resource.setrlimit(resource.RLIMIT_CPU, (longest_s, longest_s))
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        found = work()
        taken = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
        os.write(theirs, json.dumps({**found, "mb": taken / 1024}).encode())
        os._exit(0)
    os.close(theirs)
    with os.fdopen(ours, "rb") as line:
        said = line.read()
    os.waitpid(child, 0)
    return json.loads(said) if said else None


def measured(name: str, path: Path, settings: Settings) -> Row | None:
    """Return the least of a few runs; None where one was cut off."""
    bare, whole = [], []
    for _ in range(RUNS):
        reading = in_fork(READING_LONGEST_S, lambda: read_only(path)) or {"bare_s": READING_LONGEST_S, "mb": 0.0}
        analysis = in_fork(LONGEST_S, lambda: analyse_staged(path, settings))
        if analysis is None:
            return None
        bare.append(reading)
        whole.append(analysis)
        if sum(analysis["stage_s"].values()) > ENOUGH_S:
            break
    reading = min(bare, key=lambda each: each["bare_s"])
    analysis = min(whole, key=lambda each: sum(each["stage_s"].values()))
    return Row(name, analysis["faces"], reading["bare_s"], analysis["stage_s"], reading["mb"], analysis["mb"])


def files(named: bool = False) -> Iterator[tuple[str, str, Callable[[], Path]]]:
    """Yield set and name of each file, and what gives its path; the made parts last, which are made when asked for.

    `named`: with those that are only measured by name.
    """
    for group, folder in SETS.items():
        for path in sorted([*folder.glob("*.step"), *folder.glob("*.stp")]):
            yield group, path.stem, partial(Path, path)
    for kind in KINDS:
        for n_faces in (*MADE_FACES[kind], *(MORE_FACES.get(kind, ()) if named else ())):
            yield kind, f"{kind}_{n_faces}", partial(made, kind, n_faces)


HEAD: Final = ("part", "faces", "read ms", *STAGES, "total / read", "ms / face", "MB read", "MB")


def table(lines: Iterable[Sequence[str]]) -> str:
    """Return a Markdown table."""
    rows = [HEAD, ["---", *["---:"] * (len(HEAD) - 1)], *lines]
    return "".join(f"| {' | '.join(row)} |\n" for row in rows)


def line(row: Row) -> list[str]:
    """Return a row's cells; stages in multiples of the bare reading."""
    stages = [f"{row.stage_s[stage] / row.bare_s:.2f}" for stage in STAGES]
    ends = [f"{row.ratio:.2f}", f"{1e3 * row.total_s / max(row.faces, 1):.2f}", f"{row.bare_mb:.0f}", f"{row.mb:.0f}"]
    cut = "> " if row.bare_s >= READING_LONGEST_S else ""
    return [row.name, str(row.faces), f"{cut}{1e3 * row.bare_s:.0f}", *stages, *ends]


def medians(name: str, rows: Sequence[Row]) -> Row:
    """Return a row of medians: of the reading, and of each stage's ratio to the reading of its own file."""
    bare = statistics.median(row.bare_s for row in rows)
    stage_s = {stage: bare * statistics.median(row.stage_s[stage] / row.bare_s for row in rows) for stage in STAGES}
    faces = round(statistics.median(row.faces for row in rows))
    bare_mb, mb = (statistics.median(values) for values in zip(*((row.bare_mb, row.mb) for row in rows), strict=True))
    return Row(f"{name} ({len(rows)} files)", faces, bare, stage_s, bare_mb, mb)


def answers(found: dict[str, list[Row]]) -> Iterator[str]:
    """Yield a line for each aim: what it asks and what was measured."""
    large = [row.ratio for row in found.get("real", ()) if row.faces > LARGE]
    if large:
        yield f"real parts of more than {LARGE} faces, total / read: median {statistics.median(large):.2f} (aim 2)"
    small = [row for group in ("fixtures", "real") for row in found.get(group, ()) if 0 < row.faces < SMALL]
    if small:
        each = [row.total_s for row in small]
        yield (
            f"parts of fewer than {SMALL} faces: {len(each) / sum(each):.0f} a second, the median one "
            f"{1 / statistics.median(each):.0f}; without fork and report (aim 20 with them)"
        )
    huge = [row for rows in found.values() for row in rows if row.faces > HUGE]
    for row in huge:
        yield f"{row.name}, more than {HUGE} faces, total / read: {row.ratio:.2f} (aim 1)"
    for kind in KINDS:
        per_face = {row.name: row.total_s / row.faces for row in found.get(kind, ()) if row.faces}
        few, many = (per_face.get(f"{kind}_{n_faces}") for n_faces in (500, 20000))
        if few and many:
            yield f"{kind}, time per face at 20000 against 500: {many / few:.2f} (aim 1.3)"
    over = [row for rows in found.values() for row in rows if row.mb > 2 * row.bare_mb + 150]
    yield f"files that took more than twice the memory of reading + 150 MB: {len(over)} (aim 0)"


def main(words: Sequence[str]) -> None:
    """Measure, and write the tables."""
    logging.disable()
    Message.DefaultMessenger_s().ChangePrinters().Clear()
    settings = load_settings()
    analyse_file(SETS["fixtures"] / "link_bar.step", settings)  # whatever is loaded at first use is loaded now
    for group, name, path_of in files(named=bool(words)):
        if words and not any(_meant(word, group, name) for word in words):
            continue
        row = measured(name, path_of(), settings)
        sys.stdout.write(table([line(row)] if row else [])[len(table([])) :] or f"{name}: died or cut off\n")
        sys.stdout.flush()
        with ROWS.open("a", encoding="utf-8") as kept:
            kept.write(json.dumps([group, name, asdict(row) if row else None]) + "\n")
    write_tables()


def _meant(word: str, group: str, name: str) -> bool:
    return word in (name, f"{group}/") or (word.endswith("*") and word[:-1] in name)


def write_tables() -> None:
    """Write the tables of all rows that are kept; of a file measured more than once the last one."""
    kept = {(group, name): row for group, name, row in map(json.loads, ROWS.read_text("utf-8").splitlines())}
    found: dict[str, list[Row]] = {}
    for (group, _), row in kept.items():
        if row:
            found.setdefault(group, []).append(Row(**row))
    text = "".join(f"- {answer}\n" for answer in answers(found))
    text += "".join(f"- {name}: died, or cut off after {LONGEST_S} s\n" for (_, name), row in kept.items() if not row)
    sys.stdout.write(text)
    sets = [medians(group, rows) for group, rows in found.items() if group in SETS]
    large = [row for row in found.get("real", ()) if row.faces > LARGE]
    tables = {
        "Sets: medians": [*sets, *([medians(f"real, more than {LARGE} faces", large)] if large else [])],
        "Made parts": [row for group in KINDS for row in found.get(group, ())],
        "Real parts": sorted(found.get("real", ()), key=lambda row: row.faces),
    }
    parts = [f"## {title}\n\n{table(map(line, rows))}" for title, rows in tables.items()]
    (Path(__file__).parent / "TABLES.md").write_text("\n".join([INTRODUCTION, text, *parts]), encoding="utf-8")


INTRODUCTION: Final = """# Time and memory against merely reading the file

Made by `python -m tests.benchmarks.stages`; not written by hand. Each stage is given in multiples of the bare reading
of the same file in the same run (OpenCascade's STEP read and transfer, CPU seconds); MB are above the idle process.
Pictures and pages are not in it. Where reading was cut off (">"), the ratios are upper bounds: OpenCascade's search
for crossing edges is cubic in the edges of a loop, and a comb's ends have half as many edges as it has faces.
"""


if __name__ == "__main__":
    main(sys.argv[1:])
