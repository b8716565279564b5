"""Zipped models: which there are, and one of them on disk, without believing what the archive says of itself."""

import contextlib
import gzip
import lzma
import stat
import struct
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import IO, Final

from analyzers.errors import UnreadableFile

STEP_SUFFIXES: Final = frozenset({".step", ".stp", ".p21"})
ARCHIVE_SUFFIXES: Final = frozenset({".zip", ".stpz"})

MEMBER_BYTES: Final = 1 << 30
"""Largest model that is unpacked, 1 GiB; the memory limit of the analysis is reached long before."""

FREE_BYTES: Final = 1 << 20
"""Members up to this size are unpacked whatever their ratio: small texts of blanks are no attack."""

RATIO: Final = 100
"""Largest expansion. STEP text deflates about 4 to 8 times; deflate itself ends near 1030 (RFC 1951)."""

MEMBERS: Final = 10_000
_PIECE: Final = 1 << 16

_DAMAGE: Final = (
    *(OSError, EOFError, ValueError, RuntimeError, NotImplementedError, IndexError, struct.error),
    *(zipfile.BadZipFile, zlib.error, lzma.LZMAError),
)
"""What `zipfile` and `gzip` raise for archives with damaged or unusual content, found by fuzzing."""


@dataclass(frozen=True, slots=True)
class Member:
    """One model in an archive; `refused` says why it is not touched."""

    name: str
    refused: str | None = None


def is_archive(path: Path) -> bool:
    """Return True where the file's first bytes are those of a zip or gzip file; False where it cannot be read."""
    try:
        with path.open("rb") as file:
            head = file.read(4)
    except OSError:
        return False
    return head == b"PK\x03\x04" or head == b"PK\x05\x06" or head[:2] == b"\x1f\x8b"


def members(path: Path) -> tuple[Member, ...]:
    """Return the models in a zip or gzip file in the order of their names; members of other kinds are passed over.

    Raises
    ------
    UnreadableFile : not an archive, damaged, or without a model
    """
    if _is_gzip(path):
        return (Member(_plain_name(path)),)
    with _damage_named(path.name), zipfile.ZipFile(path) as archive:
        infos = [each for each in archive.infolist() if not each.is_dir()]
        if len(infos) > MEMBERS:
            raise UnreadableFile(f"{path.name}: found an archive of {len(infos)} members; expected at most {MEMBERS}")
        models = [each for each in infos if PurePosixPath(each.filename).suffix.lower() in STEP_SUFFIXES]
        times = Counter(each.filename for each in models)
        found = {each.filename: Member(each.filename, _refusal(each, times[each.filename] > 1)) for each in models}
    if not found:
        kinds = sorted({PurePosixPath(each.filename).suffix.lower() or "no suffix" for each in infos})
        raise UnreadableFile(
            f"{path.name}: found an archive with no STEP file ({', '.join(kinds[:5]) or 'empty'}); "
            f"expected one with {', '.join(sorted(STEP_SUFFIXES))}"
        )
    return tuple(found[name] for name in sorted(found))


def unpack(path: Path, member: str, folder: Path) -> Path:
    """Write one member into a folder under its own last name and return where.

    Raises
    ------
    UnreadableFile : the member is refused, damaged, missing, or larger than it or its limits say
    """
    target = folder / safe_name(PurePosixPath(member).name)
    if _is_gzip(path):
        with _damage_named(path.name), gzip.open(path) as source:
            _copy(source, target, path.stat().st_size, path.name)
        return target
    with _damage_named(f"{path.name}: member {member!r}"), zipfile.ZipFile(path) as archive:
        try:
            info = archive.getinfo(member)
        except KeyError:
            raise UnreadableFile(f"{path.name}: found no member {member!r}") from None
        if reason := _refusal(info, twice=False):
            raise UnreadableFile(f"{path.name}: member {member!r} refused: {reason}")
        with archive.open(info) as source:
            _copy(source, target, info.compress_size, f"{path.name}: member {member!r}")
    return target


def safe_name(name: str) -> str:
    """Return a file or folder name that stays where it is put: no separator, no control character, no dots alone.

    Examples
    --------
    >>> safe_name("plate.step"), safe_name(".."), safe_name("a/b:c")
    ('plate.step', 'part', 'a_b_c')
    """
    kept = "".join("_" if char in '/\\:*?"<>|' or not char.isprintable() else char for char in name)
    kept = kept.strip(". ")
    while len(kept.encode("utf-8", "replace")) > 200:  # file systems take 255 bytes
        kept = kept[:-1]
    return kept or "part"


def _refusal(info: zipfile.ZipInfo, twice: bool) -> str | None:
    """Return why a member is not unpacked; None where it may be."""
    path = PurePosixPath(info.filename.replace("\\", "/"))
    if path.is_absolute() or ".." in path.parts or ":" in path.parts[0]:
        return "its name leads out of the folder"
    if twice:
        return "its name occurs twice"
    if stat.S_ISLNK(info.external_attr >> 16):
        return "it is a link"
    if info.flag_bits & 0x1:
        return "it is encrypted"
    return _too_large(info.file_size, info.compress_size)


def _too_large(size: int, packed: int) -> str | None:
    if size > MEMBER_BYTES:
        return f"it unpacks to more than {MEMBER_BYTES >> 20} MiB"
    if size > FREE_BYTES and size > RATIO * max(packed, 1):
        return f"it unpacks to more than {RATIO} times its packed size"
    return None


def _copy(source: IO[bytes] | gzip.GzipFile, target: Path, packed: int, what: str) -> None:
    """Copy piece by piece; the sizes in an archive's headers are claims, only what came out counts."""
    written = 0
    with target.open("wb") as out:
        for piece in iter(lambda: source.read(_PIECE), b""):
            written += len(piece)
            if reason := _too_large(written, packed):
                raise UnreadableFile(f"{what} refused: {reason}")
            out.write(piece)


@contextlib.contextmanager
def _damage_named(what: str) -> Iterator[None]:
    """Turn all that the standard library raises for odd archives into one error that names the archive."""
    try:
        yield
    except _DAMAGE as error:
        reason = str(error) or type(error).__name__
        raise UnreadableFile(
            f"{what}: found damaged or unsupported packed data ({reason}); expected a sound zip or gzip file"
        ) from error


def _is_gzip(path: Path) -> bool:
    with path.open("rb") as file:
        return file.read(2) == b"\x1f\x8b"


def _plain_name(path: Path) -> str:
    """Return the name of a gzip file's content: plate.stp.gz and plate.stpz both hold plate.stp."""
    stem = path.stem
    return stem if PurePosixPath(stem).suffix.lower() in STEP_SUFFIXES else f"{stem}.stp"
