import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build

RULE = "variable_radius"


def test_fires() -> None:
    """A fillet and an edge round that both vary: one line, with the smallest radius."""
    (found,) = build.ask(RULE, build.case(build.fillet(3.0, variable=True), build.edge_round(2.0, variable=True)))
    assert build.told(found) == ("note", 2, 0.0)
    assert found.suggestion == "R2 all along."


@pytest.mark.parametrize("feature", [build.fillet(3.0), pytest.param(build.edge_round(2.0), id="exactly-none-varies")])
def test_stays_silent(feature: Feature) -> None:
    """One radius all along."""
    assert build.ask(RULE, build.case(feature)) == []


def test_fires_without_a_measured_radius() -> None:
    """That it varies is enough."""
    (found,) = build.ask(RULE, build.case(build.fillet(None, variable=True)))
    assert found.suggestion == "one radius all along."
