import pytest

from analyzers.model.feature import Pattern
from tests.rules import _builders as build

RULE = "missing_twin"


def test_fires() -> None:
    """Five holes of a circle of six."""
    holes = [build.hole(5.0) for _ in range(5)]
    ids = tuple(f"F{i}" for i in range(1, 6))
    circle = Pattern(kind="circular", features=ids, missing=((10.0, -3.5, 20.0),))
    (found,) = build.ask(RULE, build.case(*holes, patterns=(circle,)))
    assert build.told(found) == ("warning", 1, 0.0)
    assert found.features == ids
    assert "(10, -3.5, 20)" in found.message
    assert "1 missing hole" in found.suggestion


def test_stays_silent_on_whole_patterns() -> None:
    """Exactly no place is empty."""
    whole = Pattern(kind="mirror", features=("F1", "F2"))
    assert build.ask(RULE, build.case(build.hole(), build.hole(), patterns=(whole,))) == []


@pytest.mark.parametrize("kind", ["mirror", "rectangular", "circular", "general"])
def test_names_the_kind_of_pattern(kind: str) -> None:
    """Mirror pair, row or grid, circle, pattern."""
    pattern = Pattern(kind=kind, features=("F1",), missing=((1.0, 2.0, 3.0),))  # type: ignore[arg-type] # from the list
    (found,) = build.ask(RULE, build.case(build.fillet(3.0), patterns=(pattern,)))
    assert {"mirror": "mirror pair", "rectangular": "row or grid"}.get(kind, "") in found.message
