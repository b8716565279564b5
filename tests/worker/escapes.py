"""What a child that has been taken over would try. Runs in a fenced child; says what worked."""

import os
import socket
import subprocess
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from worker.child import Tell
from worker.parcel import Parcel


def pack(job: dict[str, Any], parcel: Parcel) -> dict[str, Any]:
    """Put the model into the child's folder."""
    return {**job, "model": parcel.give(job["model"]), "out": parcel.collect(job["out"])}


def act(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Try each thing that job["tries"] names, and return what came of it: null, or the name of the error."""
    return {each: _tried(each, job) for each in job["tries"]}


def _tried(name: str, job: dict[str, Any]) -> str | None:
    try:
        TRIES[name](job)
    except OSError as error:
        return type(error).__name__
    return None


def _connect(job: dict[str, Any]) -> None:
    with socket.create_connection(("127.0.0.1", job["port"]), 2):
        pass


def _unix_socket(job: dict[str, Any]) -> None:
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as line:
        line.connect(job["unix"])


def _thread(job: dict[str, Any]) -> None:
    thread = threading.Thread(target=lambda: None)
    thread.start()
    thread.join()


def _fork(job: dict[str, Any]) -> None:
    if os.fork() == 0:
        os._exit(0)


def _link_out(job: dict[str, Any]) -> None:
    Path("link").symlink_to(job["secret"])
    Path("link").read_bytes()


TRIES: dict[str, Callable[[dict[str, Any]], object]] = {
    "connect": _connect,
    "unix_socket": _unix_socket,
    "program": lambda _: subprocess.run(["true"], check=True),
    "fork": _fork,
    "thread": _thread,
    "read_model": lambda job: Path(job["model"]).read_bytes(),
    "write_model": lambda job: Path(job["model"]).write_bytes(b"changed"),
    "remove_model": lambda job: Path(job["model"]).unlink(),
    "rename_model": lambda job: Path(job["model"]).rename(f"{job['model']}.old"),
    "read_secret": lambda job: Path(job["secret"]).read_bytes(),
    "list_folder": lambda job: list(Path(job["secret"]).parent.iterdir()),
    "link_to_secret": _link_out,
    "write_own": lambda _: Path("scratch").write_bytes(b"x"),
    "write_result": lambda job: Path(job["out"], "report.json").write_bytes(b"{}"),
    "link_in_result": lambda job: Path(job["out"], "report.html").symlink_to(job["secret"]),
    "hard_link_in_result": lambda job: os.link(job["secret"], Path(job["out"], "report.html")),
    "folder_in_result": lambda job: Path(job["out"], "below").mkdir(),
    "write_elsewhere": lambda job: Path(job["secret"]).with_name("new").write_bytes(b"x"),
    "kill_parent": lambda _: os.kill(os.getppid(), 0),
    "read_library": lambda _: Path(os.__file__).read_bytes(),
}
