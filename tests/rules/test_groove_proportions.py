from dataclasses import replace

import pytest

from tests.rules import _builders as build

RULE = "groove_proportions"


def test_fires() -> None:
    """1 mm wide and 9 mm deep; the maker's own example, 3 mm to 24 mm, is the limit."""
    slender = build.groove(1.0, 9.0)
    (found,) = build.ask(RULE, build.case(slender))
    assert build.told(found) == ("warning", pytest.approx(9.0), 8.0)
    assert found.change is not None
    assert build.ask(RULE, build.case(replace(slender, width_mm=found.change.number))) == []


@pytest.mark.parametrize(("width", "depth"), [pytest.param(3.0, 24.0, id="exactly-at-the-limit"), (2.0, 1.5)])
def test_stays_silent(width: float, depth: float) -> None:
    """At the limit and below."""
    assert build.ask(RULE, build.case(build.groove(width, depth))) == []
