"""What the tables of an export hold, from report documents: the workbook and the CSV files show the same cells."""

from collections.abc import Iterable, Mapping
from typing import Any, Final

from analyzers.report.rows import Document
from analyzers.report.text import LONG, clean
from analyzers.report.words import BUCKET, KIND

HEADS: Final[dict[str, tuple[str, ...]]] = {
    "Bodies": (
        "file", "body", "name", "count", "bucket", "difficulty", "size x mm", "size y mm", "size z mm", "volume mm³",
        "minutes low", "minutes likely", "minutes high", "setups", "setting up min", "minutes of all", "errors",
        "warnings", "notes", "questions", "why",
    ),
    "Features": (
        "file", "body", "feature", "kind", "callout", "setup", "diameter mm", "width mm", "length mm", "depth mm",
        "corner radius mm", "radius mm", "depth ratio", "x mm", "y mm", "z mm", "faces",
    ),
    "Hole chart": ("file", "body", "quantity", "kind", "callout", "diameter mm", "depth mm", "through", "features"),
    "Findings": (
        "file", "body", "level", "rule", "message", "change", "gain", "measured", "limit", "unit", "features", "basis",
    ),
    "Estimate": ("file", "body", "where the minutes go", "minutes each", "count", "minutes of all"),
    "Questions": ("file", "body", "question"),
}  # fmt: skip
_HOLES: Final = {"round_hole", "counterbore_hole", "countersunk_hole", "stepped_hole"}

Cells = list[Any]


def sheets(documents: Iterable[Document]) -> dict[str, list[Cells]]:
    """Return the lines of each table under the names of `HEADS`; None = not known.

    Lengths are millimetres, times minutes.
    """
    lines: dict[str, list[Cells]] = {title: [] for title in HEADS}
    for document in documents:
        file = clean(document["source"]["file_name"])
        if not document["bodies"]:
            reason = document["problems"][0]["message"] if document["problems"] else "no solid body in the file"
            lines["Bodies"].append([file, *[None] * (len(HEADS["Bodies"]) - 2), clean(reason, LONG)])
        for body in document["bodies"]:
            own = [file, body["id"]]
            lines["Bodies"].append([*own, *_body(body)])
            lines["Features"] += [[*own, *_feature(each)] for each in body["features"]]
            lines["Hole chart"] += [[*own, *each] for each in _holes(body)]
            lines["Findings"] += [[*own, *_finding(each)] for each in body["findings"]]
            lines["Estimate"] += [[*own, *each] for each in _estimate(body)]
            lines["Questions"] += [[*own, clean(each, LONG)] for each in body["questions"]]
    return lines


def _body(body: Mapping[str, Any]) -> Cells:
    triage, levels = body["triage"], [each["level"] for each in body["findings"]]
    minutes = triage["machining_minutes"]
    return [
        clean(body["name"]),
        body["count"],
        BUCKET[triage["bucket"]],
        triage["difficulty"],
        *body["size_mm"],
        body["volume_mm3"],
        minutes["low"],
        minutes["likely"],
        minutes["high"],
        len(body["setups"]),
        body["plan"]["setup_minutes"],
        body["count"] * minutes["likely"],
        *(levels.count(level) for level in ("error", "warning", "note")),
        len(body["questions"]),
        clean(triage["summary"], LONG),
    ]


def _feature(each: Mapping[str, Any]) -> Cells:
    numbers = ("diameter_mm", "width_mm", "length_mm", "depth_mm", "corner_radius_mm", "radius_mm", "depth_ratio")
    return [
        each["id"],
        KIND[each["kind"]],
        each["callout"],
        each["setup"],
        *(each.get(name) for name in numbers),
        *each["position_mm"],
        " ".join(map(str, each["faces"])),
    ]


def _holes(body: Mapping[str, Any]) -> Iterable[Cells]:
    """Yield one line for each set of equal holes, smallest first."""
    equal: dict[tuple[str, str], list[Mapping[str, Any]]] = {}
    for each in body["features"]:
        if each["kind"] in _HOLES:
            equal.setdefault((each["kind"], each["callout"]), []).append(each)
    for (kind, callout), same in sorted(equal.items(), key=lambda item: (item[0][0], item[1][0]["diameter_mm"])):
        ids = ", ".join(each["id"] for each in same)
        through = {True: "yes", False: "no", None: None}[same[0]["through"]]
        yield [len(same), KIND[kind], callout, same[0]["diameter_mm"], same[0]["depth_mm"], through, ids]


def _finding(each: Mapping[str, Any]) -> Cells:
    said = [clean(each[name], LONG) for name in ("message", "suggestion", "effect")]
    about = ", ".join(each["features"] or ([each["feature"]] if each["feature"] else []))
    basis = clean(each["basis"], LONG)
    return [each["level"], each["rule"], *said, each["measured"], each["limit"], clean(each["unit"]), about, basis]


def _estimate(body: Mapping[str, Any]) -> Iterable[Cells]:
    for share in body["plan"]["time_shares"]:
        minutes, count = share["minutes"], body["count"]
        yield [clean(share["name"]).replace("_", " "), minutes, count, minutes * count]
