"""Notices of ended jobs: signed, sent until they arrive, and none lost by a restart."""

import hmac
import json
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from typing import Any

import pytest

from tests.worker.test_ledger import GOOD, claimed, request
from worker.hooks import TRIES, Hooks, Teller, sign
from worker.ledger import Ledger


class Receiver:
    """A real HTTP server that remembers what it got and answers as told."""

    def __init__(self) -> None:
        self.got: list[tuple[dict[str, str], bytes]] = []
        self.answers: list[int] = []
        receiver = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                body = self.rfile.read(int(self.headers["Content-Length"]))
                receiver.got.append(({name.lower(): value for name, value in self.headers.items()}, body))
                self.send_response(receiver.answers.pop(0) if receiver.answers else 204)
                self.send_header("Location", "http://127.0.0.1:1/elsewhere")
                self.end_headers()

            def log_message(self, *args: Any) -> None:
                """Be quiet."""

        self._server = HTTPServer(("127.0.0.1", 0), Handler)
        self.url = f"http://127.0.0.1:{self._server.server_port}/notices"
        self._thread = threading.Thread(target=self._server.serve_forever)
        self._thread.start()

    def close(self) -> None:
        """End it."""
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    """Run one."""
    server = Receiver()
    yield server
    server.close()


@pytest.fixture
def ledger(database: str) -> Iterator[Ledger]:
    """Open an empty book."""
    book = Ledger(database)
    yield book
    book.close()


def end_one(ledger: Ledger, name: str) -> str:
    """Enter a job and bring it to its end."""
    ledger.submit(request(name))
    entry = claimed(ledger)
    ledger.finish(entry, GOOD)
    return entry.id


def test_each_ended_job_is_told_once_and_signed(ledger: Ledger, receiver: Receiver) -> None:
    """Not those that ended before anybody asked; the receiver can check who sent it."""
    end_one(ledger, "before")
    _, secret = Hooks(ledger).add(receiver.url)
    ended = [end_one(ledger, f"part {number}") for number in range(3)]
    ledger.submit(request("waits"))
    teller = Teller(ledger)
    for _ in range(3):
        teller.tell()
    assert [json.loads(body)["data"]["id"] for _, body in receiver.got] == ended
    for headers, body in receiver.got:
        signature = sign(secret, headers["webhook-id"], int(headers["webhook-timestamp"]), body)
        assert hmac.compare_digest(headers["webhook-signature"], signature)
    assert len({headers["webhook-id"] for headers, _ in receiver.got}) == 3


@pytest.mark.parametrize("answer", [500, 302, 404])
def test_what_does_not_arrive_is_sent_again_under_the_same_id(ledger: Ledger, receiver: Receiver, answer: int) -> None:
    """Also by the next process: the notice is in the database. A redirection is not followed."""
    Hooks(ledger).add(receiver.url)
    end_one(ledger, "part")
    receiver.answers = [answer, answer]
    Teller(ledger, first_pause_s=0.0).tell()
    (hook,) = Hooks(ledger).all()
    assert (hook.waiting, hook.trouble) == (1, f"answered {answer}")
    for _ in range(3):
        Teller(ledger, first_pause_s=0.0).tell()
    assert len(receiver.got) == 3
    assert len({headers["webhook-id"] for headers, _ in receiver.got}) == 1
    assert Hooks(ledger).all()[0].waiting == 0


def test_a_pause_lies_between_two_tries(ledger: Ledger, receiver: Receiver) -> None:
    """An address in trouble is not flooded."""
    Hooks(ledger).add(receiver.url)
    end_one(ledger, "part")
    receiver.answers = [500] * 9
    teller = Teller(ledger, first_pause_s=60.0)
    for _ in range(5):
        teller.tell()
    assert len(receiver.got) == 1


def test_nobody_is_tried_for_ever(ledger: Ledger) -> None:
    """After a bounded number of tries the notice is given up, and named in the log."""
    Hooks(ledger).add("http://127.0.0.1:1/nobody")
    end_one(ledger, "part")
    teller = Teller(ledger, first_pause_s=0.0)
    for _ in range(TRIES - 1):
        teller.tell()
    assert Hooks(ledger).all()[0].waiting == 1
    teller.tell()
    assert Hooks(ledger).all()[0].waiting == 0


def test_an_address_that_is_removed_hears_no_more(ledger: Ledger, receiver: Receiver) -> None:
    """Nor do notices for it wait."""
    hook_id, _ = Hooks(ledger).add(receiver.url)
    end_one(ledger, "part")
    assert Hooks(ledger).remove(hook_id)
    assert not Hooks(ledger).remove(hook_id)
    Teller(ledger).tell()
    assert receiver.got == []
