"""What the text of a STEP file tells before any geometry is read: is it one, and who wrote it (ISO 10303-21)."""

import hashlib
import re
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from analyzers.errors import UnreadableFile
from analyzers.kernel.part21 import header_fields
from analyzers.kernel.plain_text import made_plain
from analyzers.kernel.senses import written_senses
from analyzers.kernel.text_oddities import oddities
from analyzers.model.health import Defect

_MAGIC = b"ISO-10303-21;"
_END = b"END-ISO-10303-21;"
_HEAD_BYTES = 1 << 16

_FACES = (b"ADVANCED_FACE", b"FACE_SURFACE")

_ANNOTATION_WORDS = (
    b"DIMENSIONAL_SIZE",
    b"DIMENSIONAL_LOCATION",
    b"ANGULAR_SIZE",
    b"ANGULAR_LOCATION",
    b"_TOLERANCE",
    b"DATUM_FEATURE",
    b"hread",
    b"THREAD",
)
_THREAD_NAMES = tuple(
    map(re.compile, (rb"M\d{1,3}(?:[.,]\d)?[ xX*'-]", rb"UN[CFJS]\b|UNEF\b", rb"NPTF?\b", rb"'G\d", rb"'R[cp]\d"))
)
"""All begin with fixed letters, for which a search jumps: 100 MB take 0.4 s with the words, and minutes to load."""

_LONG = 300
"""Edges in one loop, or loops in one face, from which OpenCascade's search for crossing edges is left out. It is cubic
in the edges (0.05 s for a loop of 300, 9 s for one of 2,000, more than an hour for one of 20,000) and more than
quadratic in the loops (a plate of 2,000 holes loads in 14 s with it, in 1.8 s without)."""
_MAYBE_LONG = re.compile(rb"(?:EDGE_LOOP|%b)[^;]{%d,}" % (b"|".join(_FACES), 3 * _LONG))

_OTHER_KINDS: tuple[tuple[bytes, str], ...] = (
    (b"\x89PNG", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"%PDF", "a PDF document"),
    (b"PK\x03\x04", "a zip archive"),
    (b"\x1f\x8b", "gzip-compressed data"),
    (b"version https://git-lfs", "a Git LFS pointer: the model itself was not fetched (git lfs pull)"),
    (b"solid ", "an ASCII STL mesh"),
    (b"<", "XML or HTML"),
    (b"{", "JSON"),
    (b"\xff\xfe", "UTF-16 text"),
    (b"\xfe\xff", "UTF-16 text"),
)


@dataclass(frozen=True, slots=True)
class Header:
    """The header section. A field that is not given is None; `complete`: the closing line of the file is there.

    `annotated`: the text has words that dimensions, tolerances, datums or threads are written with.
    """

    sha256: str
    size_bytes: int
    step_schema: str | None
    name: str | None
    time_stamp: str | None
    originating_system: str | None
    complete: bool
    n_lines: int
    annotated: bool
    n_faces: int  # that the text writes
    long_boundary: bool  # some loop has more than _LONG edges, or some face more than _LONG loops
    senses: Counter[bytes]  # of the faces of each closed shell, as `written_senses` reads them
    plain: bytes | None = field(default=None, repr=False)  # to be parsed instead of the file, where that needs it
    defects: tuple[Defect, ...] = ()  # of the text


def read_header(path: Path) -> Header:
    """Return what the header says.

    Raises
    ------
    UnreadableFile : missing, empty, or not ISO 10303-21 text; the message says what was found instead
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise UnreadableFile(f"{path.name}: cannot be opened ({error.strerror}); expected a STEP file") from error
    head = data[:_HEAD_BYTES].lstrip(b"\xef\xbb\xbf \t\r\n")
    if not head.startswith(_MAGIC):
        raise UnreadableFile(f"{path.name}: found {_kind_of(data)}; expected a STEP file (ISO-10303-21 text)")
    if b"DATA" not in data or b"#" not in data:
        raise UnreadableFile(f"{path.name}: found a STEP header with no data section; expected a solid model", "empty")
    text = head[: head.find(b"ENDSEC")].decode("utf-8", "replace") if b"ENDSEC" in head else ""
    fields = header_fields(text, "FILE_NAME")
    plain, defects = made_plain(data) or (None, ())
    schema = _first(header_fields(text, "FILE_SCHEMA"), 0)
    return Header(
        sha256=hashlib.sha256(data).hexdigest(),
        size_bytes=len(data),
        step_schema=schema,
        name=_first(fields, 0),
        time_stamp=_first(fields, 1),
        originating_system=_first(fields, 5),
        complete=_END in data,  # blanks, a signature section or a mail footer may follow it
        n_lines=data.count(b"\n"),
        annotated=any(word in data for word in _ANNOTATION_WORDS) or any(name.search(data) for name in _THREAD_NAMES),
        n_faces=sum(map(data.count, _FACES)),
        long_boundary=any(found[0].count(b"#") > _LONG for found in _MAYBE_LONG.finditer(data)),
        senses=written_senses(data),
        plain=plain,
        defects=(*defects, *oddities(data, schema)),
    )


def _kind_of(data: bytes) -> str:
    """Return in words what the bytes look like."""
    if not data:
        return "an empty file (0 bytes)"
    if not data.strip():
        return "nothing but blanks"
    for magic, words in _OTHER_KINDS:
        if data.lstrip().startswith(magic):
            return words
    printable = sum(32 <= byte < 127 or byte in (9, 10, 13) for byte in data[:1024])
    return "other text" if printable > 0.95 * min(len(data), 1024) else "binary data"


def _first(fields: list[tuple[str, ...]], number: int) -> str | None:
    """Return the first string of a field; None where it is unset, empty or not there."""
    strings = fields[number] if number < len(fields) else ()
    return (strings[0] or None) if strings else None
