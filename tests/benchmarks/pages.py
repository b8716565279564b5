"""What a page costs: its size, its writing against the analysis, its first picture in a browser without a GPU.

`python -m tests.benchmarks.pages [NAME ...]` measures the example and the real parts, or those of these names (also
made ones, `board_5000`, and `crowded`, reports of 200 and 5,000 faces that are put together without an analysis). CPU
seconds of a fork each, from a process as ready as the one that forks a service's children, the least of a few runs;
writing is all that a child does after the analysis: document, line drawings, page, thumbnail. The first picture is
counted from the start of the navigation to the frame in which the part stands still on the canvas, median of a few, in
Chromium drawing in software. `... pages shares` tells of all real parts only what share writing has, without a browser:
in a process as ready as that, and before in one that prints its first page (`partsieve check FILE`). Aims: writing at
most 30 % of the analysis; 1.5 MB for 200 faces, 6 MB for 5,000; first picture under 2 s.
"""

import gc
import json
import logging
import statistics
import sys
import tempfile
import time
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Any, Final

from OCP.Message import Message
from playwright.sync_api import sync_playwright

from analyzers.pipeline import analyse_file
from analyzers.report.as_html import make_ready, to_html
from analyzers.report.as_json import to_json
from analyzers.report.line_art import report_thumbnail
from analyzers.settings import Settings, load_settings
from tests.benchmarks.stages import ENOUGH_S, LONGEST_S, RUNS, SETS, files, in_fork
from tests.report._chromium import CHROMIUM, LIVE_MS, SOFTWARE
from tests.report.test_sizes import crowded

SHARE_AIM: Final = 0.3
FIRST_AIM_S: Final = 2.0
OPENED: Final = 5
CROWDED_FACES: Final = (203, 4998)
LIVE: Final = "() => document.querySelector('figure.live canvas[aria-busy=false]') && performance.now()"
HEAD: Final = ("part", "faces", "analysis ms", "writing ms", "share %", "page kB", "first picture ms")


def written(path: Path, page: Path, settings: Settings) -> dict[str, Any]:
    """Analyse a file and write its page to `page`; return seconds of both, faces and bytes."""
    start = time.process_time()
    analysis = analyse_file(path, settings)
    analysed = time.process_time()
    text = json.dumps(to_json(analysis.report))
    drawn = analysis.drawn()
    html = to_html(drawn, settings).encode()
    page.write_bytes(html)
    report_thumbnail(drawn)
    done = time.process_time()
    faces = sum(body.facts.part.n_faces for body in analysis.report.bodies)
    sizes = {"html_bytes": len(html), "json_bytes": len(text)}
    return {"analysis_s": analysed - start, "writing_s": done - analysed, "faces": faces, **sizes}


def first_picture_s(page: Path) -> float:
    """Return the median time from the navigation's start to a picture that stands still."""
    taken = []
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", *SOFTWARE])
        for _ in range(OPENED):
            tab = browser.new_page(viewport={"width": 1400, "height": 900})
            tab.goto(page.as_uri(), wait_until="commit")
            taken.append(tab.wait_for_function(LIVE, timeout=LIVE_MS).json_value() / 1e3)
            tab.close()
        browser.close()
    return statistics.median(taken)


def measured(path: Path, settings: Settings) -> dict[str, Any] | None:
    """Return the least of a few runs, and the first picture where there is a part to see; None where one died."""
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder) / "report.html"
        runs = []
        for _ in range(RUNS):
            found = in_fork(LONGEST_S, partial(written, path, page, settings))
            if found is None:
                return None
            runs.append(found)
            if found["analysis_s"] > ENOUGH_S:
                break
        best = min(runs, key=lambda each: each["analysis_s"] + each["writing_s"])
        return {**best, "first_s": first_picture_s(page) if best["faces"] else 0.0}


def crowded_page(n_faces: int) -> str:
    """Return the row of a report that was put together, not analysed: size and first picture only."""
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder) / "report.html"
        page.write_text(to_html(crowded(n_faces)), encoding="utf-8")
        size, first = page.stat().st_size, first_picture_s(page)
    return f"| crowded | {n_faces} | - | - | - | {size / 1e3:.0f} | {1e3 * first:.0f} |\n"


def row(name: str, found: dict[str, Any]) -> str:
    """Return a line of the table."""
    times = [f"{1e3 * found[each]:.0f}" for each in ("analysis_s", "writing_s")]
    share = f"{100 * found['writing_s'] / found['analysis_s']:.0f}"
    size, first = f"{found['html_bytes'] / 1e3:.0f}", f"{1e3 * found['first_s']:.0f}"
    return f"| {' | '.join([name, str(found['faces']), *times, share, size, first])} |\n"


def shares_of_real_parts(process: str, settings: Settings) -> str:
    """Return a line about writing / analysis of all real parts, each in a fork of this process."""
    runs = []
    with tempfile.TemporaryDirectory() as folder:
        for path in sorted(SETS["real"].glob("*.st*p")):
            work = partial(written, path, Path(folder) / "report.html", settings)
            found = [each for each in (in_fork(LONGEST_S, work) for _ in range(RUNS)) if each is not None]
            runs += [min(found, key=lambda each: each["analysis_s"] + each["writing_s"])] if found else []
    share = [each["writing_s"] / each["analysis_s"] for each in runs]
    within = sum(each <= SHARE_AIM for each in share)
    together = sum(each["writing_s"] for each in runs) / sum(each["analysis_s"] for each in runs)
    middle = statistics.median(share)
    return f"- {process}: median {middle:.2f}, all together {together:.2f}, {within} of {len(share)} within the aim\n"


def get_ready(settings: Settings) -> None:
    """Make this process as ready as the one that forks a service's children."""
    with tempfile.TemporaryDirectory() as folder:  # whatever is loaded or filled in at first use is there now
        written(SETS["fixtures"] / "oil_manifold.step", Path(folder) / "report.html", settings)
    make_ready()
    gc.collect()
    gc.freeze()


def main(names: Sequence[str]) -> None:
    """Measure and print."""
    logging.disable()
    Message.DefaultMessenger_s().ChangePrinters().Clear()
    settings = load_settings()
    if list(names) == ["shares"]:
        sys.stdout.write(shares_of_real_parts("the first page of a process", settings))
        get_ready(settings)
        sys.stdout.write(shares_of_real_parts("a process that is ready", settings))
        return
    get_ready(settings)
    sys.stdout.write(f"| {' | '.join(HEAD)} |\n|---|{'---:|' * (len(HEAD) - 1)}\n")
    shares: dict[str, float] = {}
    firsts: dict[str, float] = {}
    if "crowded" in names:
        sys.stdout.writelines(crowded_page(each) for each in CROWDED_FACES)
    for group, name, path_of in files():
        if name not in names if names else group not in SETS:
            continue
        found = measured(path_of(), settings)
        sys.stdout.write(row(name, found) if found else f"| {name} | died or cut off |\n")
        sys.stdout.flush()
        if found and found["faces"]:
            shares[name] = found["writing_s"] / found["analysis_s"]
            firsts[name] = found["first_s"]
    if not shares:
        return
    for what, values, aim in (("writing / analysis", shares, SHARE_AIM), ("first picture, s", firsts, FIRST_AIM_S)):
        worst = max(values, key=lambda name: values[name])
        middle = statistics.median(values.values())
        sys.stdout.write(f"- {what}: median {middle:.2f}, most {values[worst]:.2f} ({worst}), aim {aim:g}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
