"""What runs in the child: analyse two revisions of one model, compare them, write the comparison."""

import json
from pathlib import Path
from typing import Any

from analyzers.compare import compare
from analyzers.compare.as_html import to_html
from analyzers.compare.as_json import to_json
from analyzers.compare.as_text import to_markdown, to_table
from worker.analysis import answer
from worker.analysis import pack as pack_job
from worker.child import Tell
from worker.job import Job
from worker.parcel import Parcel
from worker.store import COMPARISON, COMPARISON_PAGE, write_whole


def run(values: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Compare two models and write comparison.json and comparison.html.

    Parameters
    ----------
    values : {"old": a `Job`, "new": a `Job`} as JSON; the folder and the settings are those of the new one

    Returns
    -------
    {"same": bool, "unreadable": names of models that could not be analysed, "table": text, "markdown": text}
    """
    old, new = (Job.from_json(values[each]) for each in ("old", "new"))
    settings, reports = new.settings(), []
    for word, job in (("old", old), ("new", new)):
        tell({"stage": f"analyse the {word} revision"})
        reports.append(answer(job, settings).report)
    tell({"stage": "compare"})
    comparison = compare(*reports)
    folder = Path(new.out)
    folder.mkdir(parents=True, exist_ok=True)
    document = to_json(comparison)
    write_whole(folder / COMPARISON, json.dumps(document, ensure_ascii=False, allow_nan=False) + "\n")
    if new.html:
        tell({"stage": "page"})
        write_whole(folder / COMPARISON_PAGE, to_html(comparison, *reports))
    return {
        "same": comparison.same,
        "unreadable": [each.source.file_name for each in reports if each.status == "unreadable"],
        "table": to_table(comparison),
        "markdown": to_markdown(comparison),
    }


def pack(values: dict[str, Any], parcel: Parcel) -> dict[str, Any]:
    """Return a comparison with the paths that hold for the child, its files being put into the child's folder."""
    return {each: pack_job(values[each], parcel) for each in ("old", "new")}
