"""Notices of ended jobs to addresses that asked for them, signed, and tried again until they arrive.

A notice is in the database before it is sent, so a restart loses none; one that arrived but whose answer was lost
comes again under the same id. The headers and what is signed are those of the Standard Webhooks specification:
HMAC-SHA256 over "id.timestamp.body".
"""

import base64
import hashlib
import hmac
import json
import logging
import secrets
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import delete, func, insert, select, update

from worker.ledger import Entry, Ledger, now
from worker.ledger_tables import HOOKS, JOBS, NOTICES

log = logging.getLogger(__name__)

LOOK_S: Final = 1.0
ANSWER_S: Final = 10.0
TRIES: Final = 12
"""With pauses that double from 2 s up to 15 minutes: an address may be away for more than an hour."""

_LONGEST_PAUSE_S: Final = 900.0
_AT_ONCE: Final = 100
_ENDED: Final = ("done", "set_aside", "cancelled")


@dataclass(frozen=True, slots=True)
class Hook:
    """One address; the secret is told only to whoever made it."""

    id: str
    url: str
    made_at: str
    waiting: int  # notices that have not arrived yet
    trouble: str | None  # what the last try of one of them met


class Hooks:
    """Who wants to hear."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger

    def add(self, url: str) -> tuple[str, str]:
        """Tell this address from now on; return id and secret."""
        hook_id, secret = secrets.token_hex(16), f"whsec_{base64.b64encode(secrets.token_bytes(32)).decode()}"
        with self._ledger.change() as connection:
            told = connection.execute(select(func.coalesce(func.max(JOBS.c.touched), 0))).scalar_one()
            values = {"id": hook_id, "url": url, "secret": secret, "told": told, "made_at": now()}
            connection.execute(insert(HOOKS).values(values))
        return hook_id, secret

    def all(self) -> list[Hook]:
        """Return them in the order they came."""
        waiting = select(func.count()).where(NOTICES.c.hook == HOOKS.c.id).scalar_subquery()
        trouble = select(func.max(NOTICES.c.trouble)).where(NOTICES.c.hook == HOOKS.c.id).scalar_subquery()
        query = select(HOOKS.c.id, HOOKS.c.url, HOOKS.c.made_at, waiting, trouble).order_by(HOOKS.c.made_at)
        with self._ledger.look() as connection:
            return [Hook(*row) for row in connection.execute(query)]

    def remove(self, hook_id: str) -> bool:
        """Tell this address no more; False where there is none of that id."""
        with self._ledger.change() as connection:
            connection.execute(delete(NOTICES).where(NOTICES.c.hook == hook_id))
            return connection.execute(delete(HOOKS).where(HOOKS.c.id == hook_id)).rowcount == 1


_ANY: Final = select(HOOKS.c.id).limit(1)  # asked twice a second: built once


class Teller:
    """Sends the notices; any number of processes may."""

    def __init__(self, ledger: Ledger, *, first_pause_s: float = 2.0) -> None:
        self._ledger, self._first_pause_s = ledger, first_pause_s
        self._not_before: dict[int, float] = {}

    def keep_telling(self, until: threading.Event) -> None:
        """Tell until the event; a ledger that is away is waited for."""
        while not until.wait(LOOK_S):
            try:
                self.tell(until.is_set)
            except Exception:  # the next look tries again
                log.exception("no notices can be sent just now")

    def tell(self, stop: Callable[[], bool] = lambda: False) -> None:
        """Write down what has ended, and send what is due."""
        if not self._gather():
            return
        query = select(NOTICES, HOOKS.c.url, HOOKS.c.secret).join(HOOKS, HOOKS.c.id == NOTICES.c.hook)
        with self._ledger.look() as connection:
            found = connection.execute(query.order_by(NOTICES.c.number).limit(_AT_ONCE)).mappings().all()
        self._not_before = {
            key: value for key, value in self._not_before.items() if key in {n["number"] for n in found}
        }
        down: set[str] = set()  # one that does not answer keeps the others waiting once, not once for each notice
        for notice in found:
            if stop():
                return
            if notice["hook"] not in down and self._not_before.get(notice["number"], 0.0) <= time.monotonic():
                trouble = self._send(dict(notice))
                if trouble is not None:
                    down.add(notice["hook"])

    def _gather(self) -> bool:
        """Write down what has ended; False where nobody wants to be told."""
        with self._ledger.look() as connection:
            if connection.execute(_ANY).first() is None:
                return False
        with self._ledger.change() as connection:
            for hook in connection.execute(select(HOOKS)).mappings().all():
                ended = (JOBS.c.touched > hook["told"], JOBS.c.state.in_(_ENDED))
                rows = connection.execute(select(JOBS).where(*ended).order_by(JOBS.c.touched)).mappings().all()
                for row in rows:
                    body = _body(Entry.of(row))
                    connection.execute(insert(NOTICES).values(hook=hook["id"], job=row["id"], body=body, tries=0))
                if rows:
                    told = max(row["touched"] for row in rows)
                    connection.execute(update(HOOKS).where(HOOKS.c.id == hook["id"]).values(told=told))
        return True

    def _send(self, notice: dict[str, Any]) -> str | None:
        """Send one notice; return what went wrong. Of several senders only one makes each try."""
        number, tries = notice["number"], notice["tries"]
        with self._ledger.change() as connection:
            mine = (NOTICES.c.number == number, NOTICES.c.tries == tries)
            if connection.execute(update(NOTICES).where(*mine).values(tries=tries + 1)).rowcount == 0:
                return None
        trouble = post(notice["url"], notice["secret"], f"{notice['hook']}-{number}", notice["body"])
        with self._ledger.change() as connection:
            if trouble is None or tries + 1 >= TRIES:
                connection.execute(delete(NOTICES).where(NOTICES.c.number == number))
            else:
                connection.execute(update(NOTICES).where(NOTICES.c.number == number).values(trouble=trouble))
        if trouble is not None:
            pause = min(self._first_pause_s * 2**tries, _LONGEST_PAUSE_S)
            self._not_before[number] = time.monotonic() + pause
            log.warning("notice %d to %s: %s%s", number, notice["url"], trouble, ", given up" * (tries + 1 >= TRIES))
        return trouble


def sign(secret: str, notice_id: str, timestamp: int, body: bytes) -> str:
    """Return the signature that the receiver computes too.

    Examples
    --------
    The test vector of the Standard Webhooks specification:

    >>> secret, notice_id = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", "msg_p5jXN8AQM9LWM0D4loKWxJek"
    >>> sign(secret, notice_id, 1614265330, b'{"test": 2432232314}')
    'v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE='
    """
    key = base64.b64decode(secret.removeprefix("whsec_"))
    signed = f"{notice_id}.{timestamp}.".encode() + body
    return "v1," + base64.b64encode(hmac.new(key, signed, hashlib.sha256).digest()).decode()


def post(url: str, secret: str, notice_id: str, values: dict[str, Any]) -> str | None:
    """Send one notice; return None where it was taken (2xx), else what happened. Redirections are not followed."""
    body, timestamp = json.dumps(values).encode(), int(time.time())
    headers = {
        "Content-Type": "application/json",
        "Webhook-Id": notice_id,
        "Webhook-Timestamp": str(timestamp),
        "Webhook-Signature": sign(secret, notice_id, timestamp, body),
    }
    request = urllib.request.Request(url, body, headers, method="POST")  # noqa: S310  # the scheme was checked
    try:
        with _OPENER.open(request, timeout=ANSWER_S):
            return None
    except urllib.error.HTTPError as error:
        with error:
            return f"answered {error.code}"
    except (OSError, ValueError) as error:
        return f"{type(error).__name__}: {error}"


class _Straight(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_: Any) -> None:
        """Go nowhere else."""


_OPENER: Final = urllib.request.build_opener(_Straight)


def _body(entry: Entry) -> dict[str, Any]:
    told = ("id", "file_name", "member", "customer", "state", "status", "problem", "bucket", "difficulty", "minutes")
    job = {name: getattr(entry, name) for name in (*told, "setups", "questions")}
    return {"type": "job.ended", "timestamp": entry.ended_at, "data": job}
