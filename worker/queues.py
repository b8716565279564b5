"""What wakes the workers. Which job is done next, and whether it was done, is the ledger's business alone.

A wake-up may be lost, doubled or late: workers also look by themselves, and a wake-up without a waiting job does
nothing. So the queue within one process and the one over a broker behave alike.
"""

import logging
import threading
from typing import Any, Final, Protocol

from celery import Celery
from celery.signals import worker_shutting_down
from kombu import Queue
from kombu.exceptions import OperationalError

from worker.ledger import Ledger
from worker.runner import Runner

log = logging.getLogger(__name__)

LOOK_S: Final = 0.5
"""How often an idle worker looks into the ledger by itself."""

TASK: Final = "partsieve.work"
NAME: Final = "partsieve"
_MOST_WAKE_UPS: Final = 100


class WakeUp(Protocol):
    """One way to wake workers."""

    def wake(self, jobs: int) -> None:
        """Say that so many jobs have come."""


class EmbeddedQueue:
    """Workers that are threads of this process; nothing else has to run."""

    def __init__(self, runner: Runner, workers: int) -> None:
        self._runner = runner
        self._news = threading.Condition()
        self._ending = threading.Event()
        self._threads = [
            threading.Thread(target=self._work, name=f"worker-{number}", daemon=True) for number in range(workers)
        ]
        self._threads.append(threading.Thread(target=runner.keep_beating, args=(self._ending,), daemon=True))

    def start(self) -> None:
        """Begin to work."""
        for thread in self._threads:
            thread.start()

    def stop(self) -> None:
        """Give back what is in hand and end all workers."""
        self._ending.set()
        self._runner.stop()
        self.wake(len(self._threads))
        for thread in self._threads:
            thread.join()

    def wake(self, jobs: int) -> None:
        """Wake as many workers as there are jobs."""
        with self._news:
            self._news.notify(jobs)

    def _work(self) -> None:
        while not self._ending.is_set():
            try:
                worked = self._runner.work_one()
            except Exception:  # one job's surprise, or a ledger that is away, ends no worker
                log.exception("a job could not be brought to its end")
                worked = False
            if not worked:
                with self._news:
                    self._news.wait(LOOK_S)


def celery_app(broker: str) -> Celery:
    """Return the Celery application of this project on a broker, for workers and for those who wake them."""
    app = Celery(NAME, broker=broker)
    app.conf.update(
        accept_content=["json"],
        broker_connection_retry_on_startup=True,
        broker_transport_options={
            "visibility_timeout": 3600,
            "socket_keepalive": True,
            "socket_connect_timeout": 5,
            "socket_timeout": 15,  # a line that was cut says nothing; the worker's own questions wait for 1 s
        },
        task_acks_late=True,
        task_default_queue=NAME,
        task_ignore_result=True,
        task_serializer="json",
        worker_prefetch_multiplier=1,
    )
    return app


class CeleryQueue:
    """Workers that are other processes, on this or other machines, woken over a broker."""

    def __init__(self, app: Celery) -> None:
        self._app = app

    def wake(self, jobs: int) -> None:
        """Send wake-ups; a broker that is away is no loss, for workers look by themselves."""
        try:
            for _ in range(min(jobs, _MOST_WAKE_UPS)):
                self._app.send_task(TASK, retry=False)
        except OperationalError as error:
            log.warning("no wake-up sent: %s", error)

    def top_up(self, ledger: Ledger) -> None:
        """Send wake-ups where jobs wait and none are under way: they were lost."""
        waiting = ledger.waiting(_MOST_WAKE_UPS)
        if waiting and not self._under_way():
            self.wake(waiting)

    def _under_way(self) -> int:
        with self._app.connection_for_read() as connection:
            declared: Any = Queue(NAME)(connection.default_channel).queue_declare()
            return int(declared.message_count)


def serve_celery(app: Celery, runner: Runner, ledger: Ledger, workers: int) -> None:
    """Work on what the broker's wake-ups announce until the process is told to end; at most `workers` jobs at once."""

    @app.task(name=TASK)
    def work() -> None:
        runner.work_one()

    def stop(**_: object) -> None:
        runner.stop()

    worker_shutting_down.connect(stop, weak=False)  # Celery itself would wait for the jobs in hand
    ending = threading.Event()
    queue = CeleryQueue(app)
    threads = [
        threading.Thread(target=runner.keep_beating, args=(ending,), daemon=True),
        threading.Thread(target=_keep_topped_up, args=(queue, ledger, ending), daemon=True),
        threading.Thread(target=runner.keep_tidy, args=(ending,), daemon=True),
    ]
    for thread in threads:
        thread.start()
    try:
        arguments: list[Any] = ["--quiet", "worker", "--pool=threads", f"--concurrency={workers}", "--loglevel=WARNING"]
        app.worker_main([*arguments, "--without-gossip", "--without-mingle", "--without-heartbeat"])
    finally:
        ending.set()
        runner.stop()
        for thread in threads:
            thread.join()


def _keep_topped_up(queue: CeleryQueue, ledger: Ledger, ending: threading.Event) -> None:
    while not ending.wait(2 * LOOK_S):
        try:
            queue.top_up(ledger)
        except Exception:  # broker or ledger may be away for a while
            log.exception("no look at the queue")
