"""An S3-compatible object store as a real HTTP server (moto's, in memory), and a line to it that can be cut."""

import contextlib
import secrets
import signal
import socket
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any, Final

import boto3
import pytest

from tests.worker.processes import free_port, wait_until

SECRET: Final = "not-to-be-told-anywhere"  # noqa: S105  # of nobody
CREDENTIALS: Final = {
    "AWS_ACCESS_KEY_ID": "KEYFORTESTS",
    "AWS_SECRET_ACCESS_KEY": SECRET,
    "AWS_EC2_METADATA_DISABLED": "true",
}

STORES: Final = ("folder", "s3")
"""Where files and reports lie: each promise of the service holds on both."""


class ObjectStore:
    """The server; buckets are made for each test."""

    def __init__(self, folder: Path) -> None:
        self.port = free_port()
        arguments = ["-m", "moto.server", "--host", "127.0.0.1", "--port", str(self.port)]
        with (folder / "object_store.log").open("ab") as log:
            self._process = subprocess.Popen([sys.executable, *arguments], stdout=log, stderr=log)
        wait_until("the object store answers", self._answers)
        self.client: Any = boto3.client(
            "s3",
            endpoint_url=self.endpoint(),
            region_name="us-east-1",
            aws_access_key_id=CREDENTIALS["AWS_ACCESS_KEY_ID"],
            aws_secret_access_key=SECRET,
        )

    def endpoint(self, port: int | None = None) -> str:
        """Return where it is, or where a line to it begins."""
        return f"http://127.0.0.1:{port or self.port}"

    def new_bucket(self, port: int | None = None) -> str:
        """Make an empty bucket; return the URL of a place in it."""
        name = f"shop-{secrets.token_hex(6)}"
        self.client.create_bucket(Bucket=name)
        return f"s3://{name}/parts?endpoint={self.endpoint(port)}"

    def keys(self, url: str) -> list[str]:
        """Return what lies below a URL's place, without its prefix."""
        bucket = url.removeprefix("s3://").split("/")[0]
        found = self.client.list_objects_v2(Bucket=bucket).get("Contents", ())
        return [each["Key"].removeprefix("parts/") for each in found]

    def close(self) -> None:
        """End it with all that it holds."""
        self._process.send_signal(signal.SIGTERM)
        self._process.wait()

    def _answers(self) -> bool:
        with socket.socket() as line:
            return line.connect_ex(("127.0.0.1", self.port)) == 0


class Line:
    """A port of this machine that leads to the store until it is cut."""

    def __init__(self, store: ObjectStore) -> None:
        self._store, self.port = store, free_port()
        self._lock = threading.Lock()
        self._open: list[socket.socket] = []
        self.most_bytes: int | None = None  # so much goes through towards the store on each connection, then it breaks
        self._server = self._listen()

    def cut(self) -> None:
        """Refuse new connections and break those that are open."""
        _break(self._server)
        with self._lock:
            for each in self._open:
                _break(each)
            self._open.clear()

    def mend(self) -> None:
        """Let connections through again."""
        self._server = self._listen()

    def _listen(self) -> socket.socket:
        server = socket.create_server(("127.0.0.1", self.port))
        threading.Thread(target=self._accept, args=(server,), daemon=True).start()
        return server

    def _accept(self, server: socket.socket) -> None:
        while True:
            try:
                near, _ = server.accept()
            except OSError:  # cut
                return
            far = socket.create_connection(("127.0.0.1", self._store.port))
            with self._lock:
                self._open += [near, far]
            for source, target, most in ((near, far, self.most_bytes), (far, near, None)):
                threading.Thread(target=_pump, args=(source, target, most), daemon=True).start()


def _pump(source: socket.socket, target: socket.socket, most_bytes: int | None) -> None:
    """Hand on what comes, until either end is gone or enough has come."""
    left = most_bytes
    try:
        while (piece := source.recv(1 << 16)) and (left is None or left > 0):
            target.sendall(piece)
            left = None if left is None else left - len(piece)
    except OSError:
        pass
    _break(source)
    _break(target)


def _break(end: socket.socket) -> None:
    with contextlib.suppress(OSError):  # the other end did it
        end.shutdown(socket.SHUT_RDWR)
    end.close()


def store_url(request: pytest.FixtureRequest) -> str | None:
    """Return the URL of a place of the kind that is the fixture's parameter."""
    if request.param == "folder":
        return None
    server: ObjectStore = request.getfixturevalue("object_store")
    return server.new_bucket()
