from tests.rules import _builders as build

RULE = "invalid_solid"


def test_fires() -> None:
    """The kernel's check failed."""
    (found,) = build.ask("invalid_solid", build.case(part=build.block(valid=False)))
    assert found.level == "warning"


def test_stays_silent_on_a_valid_solid() -> None:
    """Exactly no fault."""
    assert build.ask(RULE, build.case(part=build.block())) == []


def test_stays_silent_on_an_open_shell() -> None:
    """That is another rule's."""
    assert build.ask(RULE, build.case(part=build.block(valid=False, closed=False))) == []
