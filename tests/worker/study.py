"""A stand-in for the analysis that costs milliseconds, and the processes of a service that uses it.

What a model "is" stands in its file: "fine ..." has a report, "crash ..." kills the child, "hang ..." never ends.
"""

import hashlib
import os
import signal
import sys
import threading
import time
from pathlib import Path
from typing import Any

from analyzers.report.as_json import to_json
from worker.child import Tell
from worker.failure import unreadable
from worker.job import Job
from worker.ledger import Entry, Ledger, Request
from worker.limits import Limits
from worker.queues import EmbeddedQueue, celery_app, serve_celery
from worker.runner import Runner
from worker.sandbox import Sandbox
from worker.state import State, result_key
from worker.store import write_document

LIMITS = Limits(seconds=2.0)
BEAT_S, LEASE_S = 0.2, 2.0


def study(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Do what the model says, and leave a document that follows from the model alone."""
    tell({"stage": "load"})
    text = Path(job["path"]).read_text("latin-1")
    if text.startswith("crash"):
        os.kill(os.getpid(), signal.SIGSEGV)
    if text.startswith("hang"):
        time.sleep(3600)
    if text.startswith("slow"):
        time.sleep(0.3)
    digest = hashlib.sha256(text.encode("latin-1")).hexdigest()
    asked = Job.from_json(job)
    document = to_json(unreadable(asked, asked.settings(), ""))
    write_document(Path(job["out"]), {**document, "status": "complete", "problems": [], "digest": digest})
    return {}


def submit(ledger: Ledger, state: State, text: str, **values: Any) -> Entry:
    """Send a model in."""
    kept = state.place(state.receive([text.encode()], 1 << 20))
    settings = state.settings(None, None, None, 1, False).digest
    return ledger.submit(
        Request(
            file_name=f"{text}.step",
            file_digest=kept.digest,
            size_bytes=kept.size_bytes,
            settings_digest=settings,
            result_key=result_key(kept.digest, None, settings),
            **values,
        )
    )


def runner(ledger: Ledger, state: State, sandbox: Sandbox, limits: Limits = LIMITS) -> Runner:
    """Return a runner that beats fast."""
    return Runner(ledger, state, sandbox, limits, beat_s=BEAT_S, lease_s=LEASE_S)


def work(folder: str, workers: int, broker: str, call: str, seconds: float, database: str, store: str) -> None:
    """Be one worker process: embedded with "-" for a broker, else of Celery; "-" for a store = the folder is it."""
    limits = Limits(seconds=seconds)
    state = State(Path(folder), None if store == "-" else store)
    ledger = Ledger(database)
    with Sandbox(call) as sandbox:
        if broker != "-":
            serve_celery(celery_app(broker), runner(ledger, state, sandbox, limits), ledger, workers)
            return
        ending = threading.Event()
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda *_: ending.set())
        queue = EmbeddedQueue(runner(ledger, state, sandbox, limits), workers)
        queue.start()
        ending.wait()
        queue.stop()


if __name__ == "__main__":
    work(sys.argv[1], int(sys.argv[2]), sys.argv[3], sys.argv[4], float(sys.argv[5]), *sys.argv[6:])
