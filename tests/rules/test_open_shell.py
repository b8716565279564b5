from analyzers.model.part import Curve
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "open_shell"
TUBE = solids.part_of(
    [solids.cylinder((0.0, 0.0, 1.0), 5.0, concave=False)],
    [
        solids.Edge((0, -1), float("nan"), (1.0, 0.0, 0.0), 31.416, Curve.CIRCLE),
        solids.Edge((-1, 0), float("nan"), (1.0, 0.0, 0.0), 31.416, Curve.CIRCLE),
        solids.Edge((0, 0), 180.0, (0.0, 0.0, 1.0), 20.0),
    ],
    closed=False,
)


def test_fires() -> None:
    """A tube without ends: two free edges, a seam that is none."""
    (found,) = build.ask("open_shell", build.case(part=TUBE))
    assert (found.level, found.measured, found.faces) == ("error", 2, (0,))
    assert "62.8 mm" in found.message


def test_stays_silent_on_a_closed_solid() -> None:
    """Exactly no free edge."""
    assert build.ask(RULE, build.case(part=solids.block())) == []
