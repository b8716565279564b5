"""What the text of a STEP file tells before any geometry is read: is it one, and who wrote it (ISO 10303-21)."""

import hashlib
import re
from dataclasses import dataclass
from pathlib import Path

from analyzers.errors import UnreadableFile

_MAGIC = b"ISO-10303-21;"
_END = b"END-ISO-10303-21;"
_HEAD_BYTES = 1 << 16
_STRING = r"'((?:[^']|'')*)'"

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
    """The header section. A field that is not given is None; `complete`: the closing line of the file is there."""

    sha256: str
    size_bytes: int
    step_schema: str | None
    name: str | None
    time_stamp: str | None
    originating_system: str | None
    complete: bool
    n_lines: int


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
        raise UnreadableFile(f"{path.name}: found a STEP header with no data section; expected a solid model")
    text = head[: head.find(b"ENDSEC")].decode("utf-8", "replace") if b"ENDSEC" in head else ""
    name_fields = _strings_of(text, "FILE_NAME")
    return Header(
        sha256=hashlib.sha256(data).hexdigest(),
        size_bytes=len(data),
        step_schema=_first(_strings_of(text, "FILE_SCHEMA")),
        name=_first(name_fields),
        time_stamp=name_fields[1] if len(name_fields) > 1 else None,
        originating_system=name_fields[-2] if len(name_fields) >= 4 else None,
        complete=_END in data[-4096:],
        n_lines=data.count(b"\n"),
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


def _strings_of(header: str, entity: str) -> list[str]:
    """Return the quoted strings of one header entity, in order."""
    match = re.search(entity + r"\s*\((.*?)\)\s*;", header, re.DOTALL)
    return [each.replace("''", "'").strip() for each in re.findall(_STRING, match.group(1))] if match else []


def _first(values: list[str]) -> str | None:
    return values[0] if values and values[0] else None
