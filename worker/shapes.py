"""Which parts were seen before: the shapes of all models that were analysed, and the nearest of them."""

import threading
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from sqlalchemy import func, select

from analyzers.model.arrays import Floats
from analyzers.signature import LENGTH, Signature, nearest
from analyzers.signature.nearest import Relation
from worker.ledger import Entry, Ledger
from worker.ledger_tables import JOBS, SHAPES

_WIDTH: Final = LENGTH + 2  # numbers and hand
_SPARE: Final = 4  # times as many are looked at as are asked for: some may have been deleted since


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenBefore:
    """A body of an earlier model that one of this model's bodies is like."""

    body: str  # of this model
    job_id: str  # the latest job of the other model
    file_name: str
    other_body: str
    relation: Relation
    distance: float  # 0.01 = one per cent off, over all numbers


class Shapes:
    """The shapes in the ledger, and a copy of them in memory that only grows: a search reads what is new."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._lock = threading.Lock()
        self._last = 0
        self._vectors = np.zeros((0, _WIDTH))
        self._keys: list[tuple[str, str, str]] = []  # file digest, member, body

    def seen_before(self, entry: Entry, document: Mapping[str, Any], most: int = 5) -> tuple[SeenBefore, ...]:
        """Return for each body the nearest bodies of other models that still have a job, nearest first."""
        vectors, keys = self._all()
        found: list[SeenBefore] = []
        own = (entry.file_digest, entry.member or "")
        for body in document["bodies"]:
            signature = Signature.read(body)
            if signature is None:
                continue
            near = nearest(signature, vectors[:, :LENGTH], vectors[:, LENGTH:], _SPARE * most + 1)
            others = [(each, keys[each.row]) for each in near if keys[each.row][:2] != own]
            told = [
                SeenBefore(
                    body=body["id"],
                    job_id=job.id,
                    file_name=job.file_name,
                    other_body=key[2],
                    relation=each.relation,
                    distance=each.distance,
                )
                for each, key in others
                if (job := self._latest(key)) is not None
            ]
            found += told[:most]
        return tuple(found)

    def _latest(self, key: tuple[str, str, str]) -> Entry | None:
        digest, member, _ = key
        mine = (JOBS.c.file_digest == digest, func.coalesce(JOBS.c.member, "") == member, JOBS.c.state == "done")
        found = self._ledger.select(select(JOBS).where(*mine).order_by(JOBS.c.number.desc()).limit(1))
        return found[0] if found else None

    def _all(self) -> tuple[Floats, list[tuple[str, str, str]]]:
        """Return all vectors and whose they are, reading what came since the last time."""
        with self._lock:
            query = select(SHAPES).where(SHAPES.c.number > self._last).order_by(SHAPES.c.number)
            with self._ledger.look() as connection:
                rows = connection.execute(query).all()
            rows = [row for row in rows if len(row.vector) == 8 * _WIDTH]  # of an older version: not comparable
            if rows:
                new = np.array([np.frombuffer(row.vector, dtype="<f8") for row in rows])
                self._vectors = np.concatenate([self._vectors, new])
                self._keys = self._keys + [(row.file_digest, row.member, row.body) for row in rows]
                self._last = rows[-1].number
            return self._vectors, self._keys


def shapes_of(document: Mapping[str, Any]) -> dict[str, bytes]:
    """Return the shapes of a model's bodies, by their ids, as the ledger keeps them."""
    return {body["id"]: _packed(found) for body in document["bodies"] if (found := Signature.read(body))}


def _packed(signature: Signature) -> bytes:
    """Return a signature as one row of little-endian doubles."""
    return np.concatenate([signature.numbers, signature.hand]).astype("<f8").tobytes()
