import pytest

from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "mixed_corner_radii"
FACES = tuple(range(6, 15))


def test_fires() -> None:
    """Three corners of R4 and one of R6 in one pocket."""
    part = solids.pocketed_block(radii=(4.0, 4.0, 6.0, 4.0))
    (found,) = build.ask(RULE, build.case(build.pocket(12.0, 4.0, faces=FACES), part=part))
    assert (found.level, found.measured, found.limit) == ("note", 2, 1.0)
    assert "R4, R6" in found.message
    assert "R6" in found.suggestion


def test_fires_where_fillets_own_the_corners() -> None:
    """The corner faces may have gone to fillets: the pocket is still the same pocket."""
    part = solids.moved(solids.pocketed_block(radii=(4.0, 4.0, 6.0, 4.0)))
    fillets = [
        build.moved_feature(build.fillet(radius, faces=(11 + i,))) for i, radius in enumerate((4.0, 4.0, 6.0, 4.0))
    ]
    one = build.case(build.moved_feature(build.pocket(12.0, 4.0)), *fillets, part=part)
    assert [each.features for each in build.ask(RULE, one)] == [("F1",)]


@pytest.mark.parametrize(
    ("radii", "corner"),
    [
        pytest.param((4.0, 4.0, 4.0, 4.0), 4.0, id="exactly-one-radius"),
        pytest.param((4.0, 4.0001, 4.0, 4.0), 4.0, id="noise"),
        pytest.param((4.0, 4.0, 90.0, 4.0), 4.0, id="a-bowed-wall-is-no-corner"),
        pytest.param((), 0.0, id="sharp"),
    ],
)
def test_stays_silent(radii: tuple[float, ...], corner: float) -> None:
    """One radius, or none."""
    part = solids.pocketed_block(radii=radii)
    faces = FACES if radii else solids.POCKET_FACES
    assert build.ask(RULE, build.case(build.pocket(12.0, corner, faces=faces), part=part)) == []
