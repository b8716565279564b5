"""Reads thread designations out of names and notes: ISO metric, unified, pipe."""

import re
from dataclasses import dataclass

from analyzers.data.hole_tables import MetricTapDrill, PipeTapDrill, UnifiedTapDrill
from analyzers.data.rows import rows
from analyzers.units import MM_PER_INCH

_METRIC = re.compile(
    r"\bM ?(?P<size>\d{1,3}(?:[.,]\d+)?)(?: ?[x×X*] ?(?P<pitch>\d(?:[.,]\d+)?)|(?! ?[x×X*] ?\d))(?![\d.,]*\d)"
    r"(?: ?- ?(?P<fit>\d[A-Ha-h](?:\d[A-Ha-h])?)\b)?"
)
_UNIFIED = re.compile(
    r"(?<![\d./])(?P<size>(?:No\.? ?|#)\d{1,2}|\d{1,2}|\d ?[- ]\d{1,2}/\d{1,2}|\d{1,2}/\d{1,2}) ?-? ?(?P<tpi>\d{1,2})"
    r" ?-? ?(?P<series>UNC|UNF|UNEF|UNJC|UNJF|UNS|UN)\b(?: ?-? ?(?P<fit>[123][AB])\b)?"
)
_PIPE = re.compile(
    r"\b(?:(?P<kind>G|Rc|Rp)(?P<size>\d(?:[ -]\d/\d)?|\d{1,2}/\d{1,2})(?![\d/])"
    r"|(?P<npt_size>\d[ -]\d/\d|\d{1,2}/\d{1,2}|\d)(?: ?-? ?\d{2}(?:\.5)?)? ?-? ?(?P<npt>NPTF?|BSPP|BSPT)\b)"
)
_SAYS_SO = re.compile(r"thread|tapp?ed\b|\btap\b|gewinde", re.IGNORECASE)
_OTHER_USE = re.compile(r"clear|through hole|counterbore|screw|bolt|nut\b|washer|insert|durchgang", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class NamedThread:
    """A thread as a text names it. `major_mm` and `pitch_mm` are None where no table here knows the size."""

    designation: str
    major_mm: float | None
    pitch_mm: float | None


def find_thread(text: str) -> NamedThread | None:
    """Return the first thread that a text names; None where it names none.

    A bare "M6" is a thread only where nothing else is said or the text speaks of a thread: "M6 screw" and "M6x20" are
    fasteners, "M6 clearance" is a plain hole. What follows "x" is a pitch only if ISO 261 has that pitch for the size.

    Examples
    --------
    >>> find_thread("8x M8x1.25-6H THRU").designation, find_thread("M6x20 screw"), find_thread("M6 clearance")
    ('M8×1.25-6H', None, None)
    >>> find_thread("1/4-20 UNC-2B"), find_thread("G1/4").designation
    (NamedThread(designation='1/4-20 UNC-2B', major_mm=6.35, pitch_mm=1.27), 'G1/4')
    """
    return _metric(text) or _unified(text) or _pipe(text)


def _metric(text: str) -> NamedThread | None:
    for found in _METRIC.finditer(text):
        size = float(found["size"].replace(",", "."))
        pitches = {row.pitch_mm: row.series for row in rows(MetricTapDrill) if row.nominal_mm == size}
        coarse = next((pitch for pitch, series in pitches.items() if series == "coarse"), None)
        written = float(found["pitch"].replace(",", ".")) if found["pitch"] else None
        pitch = written if written in pitches else None
        bare = pitch is None and found["fit"] is None
        if bare and (not pitches or written is not None or not _means_thread(text, found)):
            continue
        of_thread = coarse if pitch is None else pitch
        name = f"M{size:g}" + (f"×{of_thread:g}" if of_thread else "") + (f"-{found['fit']}" if found["fit"] else "")
        return NamedThread(name, size, of_thread)
    return None


def _means_thread(text: str, found: re.Match[str]) -> bool:
    """Return whether a bare size is meant as a thread."""
    if _SAYS_SO.search(text):
        return True
    rest = text.replace(found[0], "")
    return not _OTHER_USE.search(rest) and not re.search(r"[A-Za-z]{2}", rest.replace("THRU", ""))


def _unified(text: str) -> NamedThread | None:
    found = _UNIFIED.search(text)
    if found is None:
        return None
    size = re.sub(r"^(No\.? ?|#)", "No.", found["size"])
    listed = {row.thread: row for row in rows(UnifiedTapDrill)}
    key = f"{size}-{found['tpi']}"
    key = key if key in listed or f"No.{key}" not in listed else f"No.{key}"
    row = listed.get(key)
    name = f"{key} {found['series']}" + (f"-{found['fit']}" if found["fit"] else "")
    return NamedThread(name, None if row is None else row.nominal_in * MM_PER_INCH, MM_PER_INCH / int(found["tpi"]))


def _pipe(text: str) -> NamedThread | None:
    found = _PIPE.search(text)
    if found is None:
        return None
    size = (found["size"] or found["npt_size"]).replace("-", " ")
    kind = found["kind"] or found["npt"]
    family = {"NPTF": "NPT", "BSPP": "G", "BSPT": "Rc", "Rp": "G"}.get(kind, kind)
    tpi = next((row.tpi for row in rows(PipeTapDrill) if row.thread.startswith(family) and row.size == size), None)
    name = f"{kind}{size}" if found["kind"] else f"{size} {kind}"
    return NamedThread(name, None, None if tpi is None else MM_PER_INCH / tpi)
