from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "invalid_solid"


def test_fires() -> None:
    """The kernel's check failed."""
    (found,) = build.ask("invalid_solid", build.case(part=solids.block(valid=False)))
    assert found.level == "warning"


def test_stays_silent_on_a_valid_solid() -> None:
    """Exactly no fault."""
    assert build.ask(RULE, build.case(part=solids.block())) == []


def test_stays_silent_on_an_open_shell() -> None:
    """That is another rule's."""
    assert build.ask(RULE, build.case(part=solids.block(valid=False, closed=False))) == []
