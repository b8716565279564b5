"""A whole service behind a real HTTP server of this process, for tests."""

import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import uvicorn

from api.app import make_app
from tests.worker.processes import CALL, wait_until
from worker.limits import Limits
from worker.service import Service, Setup

MOST_BYTES = 100_000


class Server:
    """One server with a client for it."""

    def __init__(self, service: Service) -> None:
        self.service = service
        config = uvicorn.Config(make_app(service), host="127.0.0.1", port=0, log_level="critical")
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._server.run, daemon=True)
        self._thread.start()
        wait_until("the server runs", lambda: self._server.started)
        self.port: int = self._server.servers[0].sockets[0].getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self.client = httpx.Client(base_url=self.url, timeout=30, trust_env=False)

    def close(self) -> None:
        """End it."""
        self.client.close()
        self._server.should_exit = True
        self.service.ending_when(lambda: True)
        self._thread.join()

    def send(self, text: str = "fine", name: str = "plate.step", **query: Any) -> httpx.Response:
        """Send a model in."""
        return self.client.post("/api/jobs", params={"file_name": name, **query}, content=text.encode())

    def job(self, job_id: str) -> dict[str, Any]:
        """Return a job."""
        found: dict[str, Any] = self.client.get(f"/api/jobs/{job_id}").json()
        return found

    def ended(self, job_id: str) -> dict[str, Any]:
        """Wait for a job to end and return it."""
        wait_until("ended", lambda: self.job(job_id)["state"] not in {"waiting", "running"})
        return self.job(job_id)


def serving(folder: Path, **values: Any) -> Iterator[Server]:
    """Serve until the test ends."""
    given: dict[str, Any] = {"workers": 2, "limits": Limits(seconds=2), "most_bytes": MOST_BYTES, "call": CALL}
    with Service(Setup(folder=folder / "state", **{**given, **values})) as service:
        server = Server(service)
        try:
            yield server
        finally:
            server.close()
