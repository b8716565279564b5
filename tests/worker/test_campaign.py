"""A small fault campaign on both queues and both databases; the large one is `python -m tests.worker.campaign`."""

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from tests.worker.campaign import Outcome, Plan, by_queue, failures, run
from tests.worker.postgres import Postgres
from tests.worker.processes import Redis

MODELS = ("lid_plate", "link_bar", "turned_bush")


@pytest.fixture(scope="module")
def plan(request: pytest.FixtureRequest) -> Plan:
    """Plan a handful of jobs, two of which never come to a good end."""
    folder: Path = request.getfixturevalue("parts")
    models = [folder / f"{each}.step" for each in MODELS]
    return Plan(models=models, jobs=16, bad=2, broker=False, pause_s=(0.3, 1.5), seconds=10.0)


@pytest.fixture(scope="module")
def quiet(plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> Outcome:
    """Run it once without a disturbance."""
    return run(plan, tmp_path_factory.mktemp("quiet"), disturbed=False)


@pytest.mark.parametrize("queue", ["embedded", "celery-postgresql"])
def test_killed_children_workers_and_brokers_lose_nothing(
    plan: Plan, quiet: Outcome, tmp_path: Path, queue: str
) -> None:
    """One ending for each job; each report is that of the quiet run; the bad ones are set aside."""
    mine = by_queue(plan, queue)
    if mine.broker and not Redis.installed():
        pytest.skip("no redis-server on this machine")
    if mine.postgres and not Postgres.installed():
        pytest.skip("no PostgreSQL server on this machine (Debian: postgresql)")
    disturbed = run(mine, tmp_path, disturbed=True)
    assert failures(plan, quiet, disturbed) == []
    assert sum(disturbed.strikes.values()) > 0


def test_the_balance_sees_what_is_wrong(plan: Plan, quiet: Outcome) -> None:
    """A lost job, one that ended twice, a report that differs, a good model set aside: each is said."""
    name, document = next((name, each) for name, each in quiet.reports.items() if name not in quiet.set_aside)
    others = {**quiet.reports, name: {**document, "status": "other"}}
    endings = Counter({"done, ended 1 times": 13, "done, ended 2 times": 1, "set_aside, ended 1 times": 2})
    wrong = replace(quiet, reports=others, endings=endings, results=13, set_aside={"lid_plate.step"})
    found = "\n".join(failures(plan, quiet, wrong))
    for said in ("endings", "13 results", "set aside were", f"1 reports differ: {name}"):
        assert said in found
