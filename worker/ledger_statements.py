"""What a job sends to the database on its way, built once: building a statement costs more than running it.

Parameters that name columns of `JOBS` are what is set; `job` and `held` name the job and the fence that it was taken
with, so that a change counts only while the job is in those hands.
"""

from typing import Final

from sqlalchemy import bindparam, exists, func, insert, select, update

from worker.ledger_tables import JOBS, RESULTS, SHAPES, in_turn

_OTHERS: Final = JOBS.alias()
TOUCH: Final = {"touched": select(func.coalesce(func.max(_OTHERS.c.touched), 0) + 1).scalar_subquery()}

ENTER: Final = insert(JOBS).values(**TOUCH).returning(JOBS)
BY_ID: Final = select(JOBS).where(JOBS.c.id == bindparam("wanted"))
WAITING: Final = select(JOBS.c.number).where(JOBS.c.state == "waiting").limit(bindparam("most"))
COUNTS: Final = select(JOBS.c.state, func.count()).group_by(JOBS.c.state)
RUNNING: Final = select(JOBS).where(JOBS.c.state == "running")

_WAITING: Final = JOBS.alias()
_RUNNING: Final = JOBS.alias()
_same: Final = exists().where(_RUNNING.c.state == "running", _RUNNING.c.result_key == _WAITING.c.result_key)
_suspect: Final = exists().where(_RUNNING.c.state == "running", _RUNNING.c.deaths > 0)
_turn: Final = (
    select(_WAITING.c.number)
    .where(_WAITING.c.state == "waiting", ~_same, (_WAITING.c.deaths == 0) | ~_suspect)
    .order_by(*in_turn(_WAITING))
    .limit(1)
    .scalar_subquery()
)
CLAIM: Final = (
    update(JOBS)
    .where(JOBS.c.number == _turn)
    .values(
        **TOUCH,
        state="running",
        fence=JOBS.c.fence + 1,
        beat=0,
        stage="",
        started_at=func.coalesce(JOBS.c.started_at, bindparam("moment")),
    )
    .returning(JOBS)
)
"""Sets `owner`; `moment` is the time now."""

_held: Final = (JOBS.c.number == bindparam("job"), JOBS.c.fence == bindparam("held"), JOBS.c.state == "running")
BEAT: Final = update(JOBS).where(*_held, JOBS.c.owner == bindparam("by")).values(beat=JOBS.c.beat + 1)
IN_HAND: Final = update(JOBS).where(*_held).values(**TOUCH)
WAIT_ANEW: Final = IN_HAND.values(state="waiting", owner=None)
"""Sets `tries`."""

GIVE_BACK: Final = WAIT_ANEW.values(fence=JOBS.c.fence + 1)
RELEASE: Final = GIVE_BACK.values(deaths=JOBS.c.deaths + 1)
RELEASE_SILENT: Final = RELEASE.where(JOBS.c.beat == bindparam("seen"))
ALIKE: Final = update(JOBS).where(JOBS.c.result_key == bindparam("same"), JOBS.c.state == "waiting").values(**TOUCH)
KNOWN: Final = select(RESULTS).where(RESULTS.c.key == bindparam("wanted"))
KEEP: Final = insert(RESULTS)
SHAPES_OF: Final = select(SHAPES.c.body).where(
    SHAPES.c.file_digest == bindparam("digest"), SHAPES.c.member == bindparam("within")
)
KEEP_SHAPE: Final = insert(SHAPES).values(
    file_digest=bindparam("digest"), member=bindparam("within"), body=bindparam("id"), vector=bindparam("numbers")
)
