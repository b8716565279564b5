import pytest

from analyzers.model.finding import Finding
from analyzers.model.plan import Plan
from analyzers.model.triage import Bucket, Driver
from analyzers.triage.bucket import DEMANDING_FROM, INVOLVED_FROM, bucket_of, summary
from tests.triage._builders import finding, plan, unmade


def driver(name: str, points: float, why: str) -> Driver:
    """Return one driver."""
    return Driver(name=name, points=points, why=why)


@pytest.mark.parametrize(
    ("difficulty", "bucket"),
    [
        (0.0, "routine"),
        (INVOLVED_FROM - 0.01, "routine"),
        (INVOLVED_FROM, "involved"),
        (DEMANDING_FROM - 0.01, "involved"),
        (DEMANDING_FROM, "demanding"),
        (100.0, "demanding"),
    ],
)
def test_difficulty_alone_never_says_that_it_cannot_be_made(difficulty: float, bucket: Bucket) -> None:
    """The steps between the piles, at them and just below."""
    assert bucket_of(difficulty, plan(), ()) == bucket


@pytest.mark.parametrize(
    ("by", "findings"),
    [
        pytest.param(plan(unmade=(unmade(),)), (), id="unmade"),
        pytest.param(plan(machine=None), (), id="no-machine"),
        pytest.param(plan(), (finding("error"),), id="error"),
    ],
)
def test_what_cannot_be_made_is_not_as_modelled(by: Plan, findings: tuple[Finding, ...]) -> None:
    """However easy the rest is."""
    assert bucket_of(0.0, by, findings) == "not_as_modelled"


def test_warnings_and_notes_do_not_stop_a_part() -> None:
    """They are talked about."""
    assert bucket_of(10.0, plan(), (finding("warning"), finding("note"))) == "routine"


def test_the_summary_names_the_largest_reasons_first() -> None:
    """Three at most, in one sentence."""
    reasons = [driver(f"d{i}", 9.0 - i, f"reason {i}") for i in range(5)]
    assert summary("involved", reasons, plan(), ()) == "Involved: reason 0; reason 1; reason 2."


def test_a_part_without_reasons_says_so() -> None:
    """There is always a sentence."""
    assert summary("routine", [], plan(), ()).startswith("Routine: one setup")


def test_what_stands_in_the_way_comes_first_and_is_said_once() -> None:
    """The error's own words and how many more there are; what else makes it hard does not matter then."""
    reasons = [driver("unmade", 15.0, "1 feature stays unmade"), driver("setups", 7.0, "3 setups")]
    errors = (finding("error", message="Pocket has sharp corners."), finding("error", message="Slot is too narrow."))
    text = summary("not_as_modelled", reasons, plan(unmade=(unmade(),)), errors)
    assert text == "Not as modelled: Pocket has sharp corners (and 1 more)."


def test_plain_work_is_said_to_be_plain() -> None:
    """Where only the amount of work counts, nothing is delicate; a thin wall is."""
    work = [driver("setups", 4.0, "2 setups"), driver("time", 1.0, "about 20 min of machine time a part")]
    assert summary("routine", work[:1], plan(), ()) == "Routine: 2 setups; nothing delicate."
    assert summary("routine", [*work, driver("walls", 0.5, "a wall of 1 mm")], plan(), ()).endswith("a wall of 1 mm.")


def test_without_a_finding_the_plans_own_reason_is_given() -> None:
    """A feature that stays unmade always has one."""
    text = summary("not_as_modelled", [], plan(unmade=(unmade(why="no drill of ⌀7.5 on the shelf"),)), ())
    assert text == "Not as modelled: no drill of ⌀7.5 on the shelf."


def test_no_machine_is_named() -> None:
    """It is a driver, and the first reason."""
    reasons = [driver("machine", 35.0, "no machine of the shop takes the blank")]
    assert "no machine" in summary("not_as_modelled", reasons, plan(machine=None), ())


def test_a_doubtful_unit_comes_before_every_other_reason() -> None:
    """A part that seems 120 m long is not to be read as one whose hole wants a larger drill."""
    doubt = finding("warning", rule="suspect_size", message="The part is 120104 mm from corner to corner: huge.")
    error = finding("error", message="Hole ⌀14761 stays unmade.")
    said = "The part is 120104 mm from corner to corner: huge"
    assert summary("not_as_modelled", [], plan(), (error, doubt)) == f"Not as modelled: {said}."
    reasons = [driver("setups", 4.0, "2 setups")]
    assert summary("routine", reasons, plan(), (doubt,)) == f"Routine: {said}; 2 setups; nothing delicate."
