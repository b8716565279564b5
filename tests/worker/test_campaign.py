"""A small fault campaign with real models, on both queues; the large one is `python -m tests.worker.campaign`."""

from dataclasses import replace
from pathlib import Path

import pytest

from tests.worker.campaign import Outcome, Plan, failures, run
from tests.worker.processes import Redis

MODELS = ("lid_plate", "link_bar", "turned_bush")


@pytest.fixture(scope="module")
def plan(request: pytest.FixtureRequest) -> Plan:
    """Plan two dozen jobs, two of which never come to a good end."""
    folder: Path = request.getfixturevalue("parts")
    models = [folder / f"{each}.step" for each in MODELS]
    return Plan(models=models, jobs=24, bad=2, broker=False, pause_s=(0.5, 4.0), seconds=15.0)


@pytest.fixture(scope="module")
def quiet(plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> Outcome:
    """Run it once without a disturbance."""
    return run(plan, tmp_path_factory.mktemp("quiet"), disturbed=False)


@pytest.mark.parametrize("queue", ["embedded", "celery"])
def test_killed_children_workers_and_brokers_lose_nothing(
    plan: Plan, quiet: Outcome, tmp_path: Path, queue: str
) -> None:
    """One ending for each job; each report is that of the quiet run; the bad ones are set aside."""
    if queue == "celery" and not Redis.installed():
        pytest.skip("no redis-server on this machine")
    disturbed = run(replace(plan, broker=queue == "celery"), tmp_path, disturbed=True)
    assert failures(plan, quiet, disturbed) == []
    assert sum(disturbed.strikes.values()) > 0


def test_the_balance_sees_what_is_wrong(plan: Plan, quiet: Outcome) -> None:
    """A lost job, one that ended twice, a report that differs, a good model set aside: each is said."""
    (name, quantity), document = next(iter(quiet.reports.items()))
    others = {**quiet.reports, (name, quantity): {**document, "status": "other"}}
    endings = {"done, ended 1 times": 21, "done, ended 2 times": 1, "set_aside, ended 1 times": 2}
    wrong = replace(
        quiet, reports=others, endings=type(quiet.endings)(endings), results=21, set_aside={"lid_plate.step"}
    )
    found = "\n".join(failures(plan, quiet, wrong))
    for said in ("endings", "21 results", "set aside were", f"1 reports differ: {name} ×{quantity}"):
        assert said in found
