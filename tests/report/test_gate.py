"""What fails a model, and what was accepted."""

import datetime
from typing import Any

import pytest

from analyzers.report.baseline import Accepted
from analyzers.report.gate import Gate
from analyzers.settings import Policy

TODAY = datetime.date(2027, 3, 1)


def document(*findings: dict[str, Any], bucket: str = "routine", difficulty: float = 20.0, **measures: Any) -> Any:
    """Return as much of a document as a gate looks at."""
    triage = {"bucket": bucket, "difficulty": difficulty, "summary": "in a sentence"}
    body = {"id": "B1", "findings": list(findings), "triage": triage, "measures": measures}
    return {"source": {"file_name": "plate.step"}, "bodies": [body]}


def finding(level: str = "error", rule: str = "thin_wall", fingerprint: str = "f1") -> dict[str, Any]:
    """Return a finding."""
    return {"level": level, "rule": rule, "fingerprint": fingerprint, "message": "Wall 0.4 mm."}


def gate(accepted: tuple[Accepted, ...] = (), **policy: Any) -> Gate:
    """Return a gate whose policy fails errors, if not said otherwise."""
    return Gate(policy=Policy(name="test", **{"fail_levels": ("error",), **policy}), accepted=accepted, today=TODAY)


@pytest.mark.parametrize(
    ("what", "policy"),
    [
        pytest.param(document(finding()), {}, id="level"),
        pytest.param(document(finding("warning")), {"fail_levels": ("error", "warning")}, id="lower-level"),
        pytest.param(document(finding("note")), {"fail_rules": ("thin_wall",)}, id="rule-of-any-level"),
        pytest.param(document(bucket="demanding"), {"fail_buckets": ("demanding",)}, id="bucket"),
        pytest.param(document(difficulty=50.1), {"max_difficulty": 50.0}, id="difficulty"),
        pytest.param(document(), {"required_measures": ("min_wall_mm",)}, id="measure-not-there"),
        pytest.param(document(min_wall_mm=None), {"required_measures": ("min_wall_mm",)}, id="measure-failed"),
    ],
)
def test_fails(what: dict[str, Any], policy: dict[str, Any]) -> None:
    """Each part of the policy fails a model by itself, for one reason that names the body."""
    (reason,) = gate(**policy).reasons(what)
    assert reason.startswith("B1: ")


@pytest.mark.parametrize(
    ("what", "policy"),
    [
        pytest.param(document(), {}, id="nothing-found"),
        pytest.param(document(finding("warning")), {}, id="level-below"),
        pytest.param(document(finding()), {"fail_levels": ()}, id="no-level-fails"),
        pytest.param(document(finding()), {"allow_rules": ("thin_wall",)}, id="rule-allowed"),
        pytest.param(document(bucket="involved"), {"fail_buckets": ("demanding",)}, id="other-bucket"),
        pytest.param(document(difficulty=50.0), {"max_difficulty": 50.0}, id="difficulty-at-the-limit"),
        pytest.param(document(min_wall_mm=0.4), {"required_measures": ("min_wall_mm",)}, id="measure-taken"),
        pytest.param(
            document(max_hole_depth_ratio=None, max_hole_depth_ratio_applies=False),
            {"required_measures": ("max_hole_depth_ratio",)},
            id="measure-does-not-apply",
        ),
    ],
)
def test_passes(what: dict[str, Any], policy: dict[str, Any]) -> None:
    """What the policy does not name, or what is exactly at its limit, passes."""
    assert gate(**policy).reasons(what) == ()


def entry(**values: Any) -> Accepted:
    """Return an accepted finding."""
    return Accepted(**{"fingerprint": "f1", "reason": "agreed", **values})


@pytest.mark.parametrize(
    "accepted",
    [
        pytest.param(entry(), id="fingerprint"),
        pytest.param(entry(file="plate.step"), id="in-this-file"),
        pytest.param(entry(expires=TODAY), id="on-its-last-day"),
    ],
)
def test_an_accepted_finding_fails_no_more(accepted: Accepted) -> None:
    """Only what is new fails: the other finding does, the accepted one does not."""
    both = document(finding(), finding(fingerprint="f2"))
    only = gate((accepted,))
    assert [only.fails(both, each) for each in both["bodies"][0]["findings"]] == [False, True]
    assert len(only.reasons(both)) == 1


@pytest.mark.parametrize(
    "accepted",
    [
        pytest.param(entry(fingerprint="f9"), id="another-finding"),
        pytest.param(entry(file="other.step"), id="in-another-file"),
        pytest.param(entry(expires=TODAY - datetime.timedelta(days=1)), id="expired"),
    ],
)
def test_an_entry_for_something_else_accepts_nothing(accepted: Accepted) -> None:
    """Another finding, another file, or too late."""
    assert len(gate((accepted,)).reasons(document(finding()))) == 1


def test_an_unreadable_model_does_not_fail_the_gate() -> None:
    """It has no bodies; that it could not be analysed is told apart."""
    assert gate().reasons({"source": {"file_name": "x"}, "bodies": []}) == ()
