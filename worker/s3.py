"""Models, facts and results in a bucket of an S3-compatible object store; the state folder is the cache of it here.

Every object bears its SHA-256, which is checked when it is fetched; a model's is its name besides. Who may use the
bucket is found the usual way of AWS clients (variables, files, the machine's role) and never stands in a URL.
"""

import base64
import contextlib
import hashlib
import itertools
import logging
import os
import secrets
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Self
from urllib.parse import parse_qsl, urlsplit

import boto3
from botocore.config import Config
from botocore.exceptions import BotoCoreError, ClientError

from analyzers.errors import SettingsError
from worker.storage import NotKept, StorageAway, remove_below

log = logging.getLogger(__name__)

FORM: Final = "s3://BUCKET[/PREFIX][?endpoint=URL&region=NAME]"

SPARE_S: Final = 600.0
"""Copies used within this time stay, whatever room they take: somebody may be about to open them."""

IDLE_S: Final = 24 * 3600.0
"""Copies that nobody has used for this long go, so that what was deleted goes from every machine within about a day."""

_PIECE: Final = 1 << 20
_DIGEST: Final = "sha256"
_MISSING: Final = frozenset({"404", "NoSuchKey"})
_KEPT: Final = ("files", "facts", "results")
_SHARE: Final = 10
"""Copies are counted anew each time a tenth of what they may take has come."""

_CONFIG: Final = Config(
    connect_timeout=5,
    read_timeout=30,
    max_pool_connections=32,
    retries={"mode": "standard", "total_max_attempts": 3},
    request_checksum_calculation="when_required",  # other stores than Amazon's may not know the newer ones
    response_checksum_validation="when_required",
)


@dataclass(frozen=True, slots=True)
class Address:
    """Where the bucket is; without who may use it."""

    bucket: str
    prefix: str  # "" or with a slash at its end
    endpoint: str | None  # None = as the usual variables say, else Amazon's
    region: str | None

    @classmethod
    def read(cls, url: str) -> Self:
        """Return the address that a URL names.

        Raises
        ------
        SettingsError : it has another form, or names a user or password, which are not repeated in the message

        Examples
        --------
        >>> Address.read("s3://shop/parts?endpoint=http://store:9000").endpoint
        'http://store:9000'
        """
        parts = urlsplit(url)
        query = dict(parse_qsl(parts.query, strict_parsing=bool(parts.query)))
        endpoint = urlsplit(query.get("endpoint", ""))
        if "@" in parts.netloc + endpoint.netloc:
            raise SettingsError(
                "--store: found a user or password in the URL; expected them in AWS_ACCESS_KEY_ID and "
                "AWS_SECRET_ACCESS_KEY, or where AWS clients look else"
            )
        known = query.keys() <= {"endpoint", "region"} and endpoint.scheme in {"", "http", "https"}
        if parts.scheme != "s3" or not parts.netloc or not known:
            raise SettingsError(f"--store: found {url!r}; expected {FORM}")
        prefix = parts.path.strip("/")
        return cls(parts.netloc, f"{prefix}/" if prefix else "", query.get("endpoint"), query.get("region"))

    def __str__(self) -> str:
        return f"s3://{self.bucket}/{self.prefix}"


class S3:
    """A bucket, or what lies below a prefix in it; any number of threads and machines may use it at once."""

    def __init__(self, address: Address, folder: Path, cache_bytes: int) -> None:
        self._address, self._folder, self._cache_bytes = address, folder, cache_bytes
        session = boto3.session.Session()
        region = address.region or session.region_name or "us-east-1"
        self._client: Any = session.client("s3", endpoint_url=address.endpoint, region_name=region, config=_CONFIG)
        self._added_bytes = 0
        self._tidying = threading.Lock()

    def fetch(self, path: Path) -> Path:
        """Have what is kept under this place lie there, whole and with its digest checked."""
        if _used(path):
            return path
        wrong = ""
        for _ in range(2):  # what was damaged on its way comes whole the second time
            wrong = self._download(path)
            if not wrong:
                self._count(path)
                return path
        raise NotKept(f"{self._name(path)}: {wrong}")

    def _download(self, path: Path) -> str:
        """Bring an object to its place; return what is wrong with it, "" where nothing is."""
        temporary = self._folder / "incoming" / secrets.token_hex(16)
        digest = hashlib.sha256()
        try:
            with self._asking("get", path), temporary.open("wb") as file:
                found = self._client.get_object(Bucket=self._address.bucket, Key=self._key(path))
                for piece in found["Body"].iter_chunks(_PIECE):
                    digest.update(piece)
                    file.write(piece)
                file.flush()
                os.fsync(file.fileno())
            expected = found["Metadata"].get(_DIGEST, "none")
            if digest.hexdigest() != expected or (self._is_model(path) and expected != path.name):
                return f"found bytes with SHA-256 {digest.hexdigest()}; expected {expected}"
            path.parent.mkdir(parents=True, exist_ok=True)
            temporary.replace(path)
        finally:
            temporary.unlink(missing_ok=True)
        return ""

    def send(self, path: Path, source: Path | None = None) -> None:
        """Keep a file; the store takes it only if it arrives whole."""
        sha256, md5 = hashlib.sha256(), hashlib.md5(usedforsecurity=False)
        with (source or path).open("rb") as file:
            while piece := file.read(_PIECE):
                sha256.update(piece)
                md5.update(piece)
            size = file.tell()
            file.seek(0)
            with self._asking("put", path):
                self._client.put_object(
                    Bucket=self._address.bucket,
                    Key=self._key(path),
                    Body=file,
                    ContentLength=size,
                    ContentMD5=base64.b64encode(md5.digest()).decode(),
                    Metadata={_DIGEST: sha256.hexdigest()},
                )
        if source is None:
            self._count(path)

    def has(self, path: Path) -> bool:
        """Return whether the store has an object for this place, whatever lies here."""
        try:
            with self._asking("head", path):
                self._client.head_object(Bucket=self._address.bucket, Key=self._key(path))
        except NotKept:
            return False
        return True

    def remove(self, path: Path) -> None:
        """Remove objects and copies."""
        remove_below(path)
        key = self._key(path)
        for found, _ in self._objects(path):
            if found == key or found.startswith(f"{key}/"):  # the listing goes by the first letters alone
                with self._asking("delete", path):
                    self._client.delete_object(Bucket=self._address.bucket, Key=found)

    def kept(self, top: Path) -> Iterator[tuple[Path, float]]:
        """Yield the folders two below this one, each with the time of its youngest object."""
        depth = len(top.relative_to(self._folder).parts) + 2

        def unit(found: tuple[str, float]) -> Path:
            parts = found[0].removeprefix(self._address.prefix).split("/")
            return self._folder.joinpath(*parts[:depth])

        for path, objects in itertools.groupby(self._objects(top), unit):
            yield path, max(moment for _, moment in objects)

    def check(self) -> None:
        """Keep a few bytes, fetch them and remove them."""
        probe = self._folder / "incoming" / f".ready-{secrets.token_hex(8)}"
        try:
            probe.write_bytes(os.urandom(16))
            self.send(probe)
            probe.unlink()
            self.fetch(probe)
        except NotKept as error:
            raise StorageAway(str(error)) from error
        finally:
            probe.unlink(missing_ok=True)
        self.remove(probe)

    def tidy(self) -> None:
        """Remove copies that are idle, and the longest unused ones where all of them take more than they may.

        Only what the store has goes: results under way, and what could not be sent yet, stay.
        """
        with contextlib.ExitStack() as stack:
            if not self._tidying.acquire(blocking=False):
                return
            stack.callback(self._tidying.release)
            self._added_bytes = 0
            copies = sorted(_copies(self._folder))
            too_much, moment = sum(size for _, size, _ in copies) - self._cache_bytes, time.time()
            for used, size, path in copies:
                idle_s = moment - used
                if idle_s < SPARE_S or (too_much <= 0 and idle_s < IDLE_S):
                    break
                if self.has(path):
                    path.unlink(missing_ok=True)
                    too_much -= size
                    _remove_if_empty(path.parent)

    def _count(self, path: Path) -> None:
        """Note that a copy has come, and make room now and then."""
        self._added_bytes += path.stat().st_size
        if self._added_bytes > self._cache_bytes / _SHARE:
            self.tidy()

    def _key(self, path: Path) -> str:
        return self._address.prefix + path.relative_to(self._folder).as_posix()

    def _name(self, path: Path) -> str:
        return f"{self._address}{path.relative_to(self._folder).as_posix()}"

    def _is_model(self, path: Path) -> bool:
        return path.is_relative_to(self._folder / "files")

    def _objects(self, path: Path) -> Iterator[tuple[str, float]]:
        """Yield keys that begin like this place's, in their order, each with the time of its last change."""
        with self._asking("list", path):
            pages = self._client.get_paginator("list_objects_v2").paginate(
                Bucket=self._address.bucket, Prefix=self._key(path)
            )
            for page in pages:
                for found in page.get("Contents", ()):
                    yield found["Key"], found["LastModified"].timestamp()

    @contextlib.contextmanager
    def _asking(self, what: str, path: Path) -> Iterator[None]:
        """Turn the client's errors into this program's; they name the object, and nothing of who asks."""
        try:
            yield
        except ClientError as error:
            code = error.response["Error"]["Code"]
            if code in _MISSING:
                raise NotKept(f"{self._name(path)}: found no such object in the store") from None
            raise StorageAway(f"{self._name(path)}: {what}: the store answered {code}") from None
        except BotoCoreError as error:
            raise StorageAway(f"{self._name(path)}: {what}: {error}") from None


def _used(path: Path) -> bool:
    """Return whether a copy is here, and note that it was used; its age, by which browsers know it, stays."""
    try:
        os.utime(path, ns=(time.time_ns(), path.stat().st_mtime_ns))
    except FileNotFoundError:
        return False
    return True


def _copies(folder: Path) -> Iterator[tuple[float, int, Path]]:
    """Yield what lies here of what is kept: when it was last used, its size in bytes, and where."""
    for name in _KEPT:
        for path in (folder / name).rglob("*"):
            with contextlib.suppress(FileNotFoundError):
                if path.is_file() and not path.is_symlink():
                    info = path.stat()
                    yield info.st_atime, info.st_size, path


def _remove_if_empty(folder: Path) -> None:
    with contextlib.suppress(OSError):
        folder.rmdir()
