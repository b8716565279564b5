"""Equal features in an order: rows, grids, bolt circles, mirror pairs; what is missing; no order where none is."""

import math
from collections.abc import Sequence

import pytest

from analyzers.model.feature import Pattern
from analyzers.model.report import Facts
from fixtures.make.vocabulary.holes import counterbore, drill
from fixtures.make.vocabulary.raised import round_boss
from fixtures.make.vocabulary.recesses import pocket
from fixtures.make.vocabulary.stock import block
from fixtures.make.vocabulary.work import Work
from tests.features._bench import ASKEW, POSES, Build, placed, recognised

Point = tuple[float, float]
PLATE = (120.0, 90.0, 10.0)


def drilled(points: Sequence[Point], diameter: float = 5.0, others: Sequence[tuple[Point, float]] = ()) -> Build:
    """Return a plate drilled at these places, and at others with a diameter of their own."""

    def build() -> Work:
        work = block(PLATE)
        for x, y in points:
            drill(work, (x, y, 10.0), diameter, 10.0, bottom="through")
        for (x, y), own in others:
            drill(work, (x, y, 10.0), own, 10.0, bottom="through")
        return work

    return build


def circle(count: int, radius: float, start_deg: float = 12.0, without: Sequence[int] = ()) -> list[Point]:
    """Return places on a circle about (55, 43), evenly divided."""
    angles = [math.radians(start_deg + 360.0 * i / count) for i in range(count) if i not in without]
    return [(55.0 + radius * math.cos(a), 43.0 + radius * math.sin(a)) for a in angles]


def grid(columns: int, rows: int, dx: float, dy: float) -> list[Point]:
    """Return places on a rectangular grid."""
    return [(15.0 + dx * i, 12.0 + dy * j) for i in range(columns) for j in range(rows)]


FIRES = [
    pytest.param(drilled(grid(4, 1, 20.0, 1.0)), "rectangular", 4, id="row-of-four"),
    pytest.param(drilled(grid(3, 1, 20.0, 1.0)), "rectangular", 3, id="row-of-three"),
    pytest.param(drilled(grid(2, 3, 40.0, 20.0)), "rectangular", 6, id="grid-2-x-3"),
    pytest.param(drilled(grid(4, 3, 22.0, 25.0)), "rectangular", 12, id="grid-4-x-3"),
    pytest.param(drilled(circle(3, 25.0)), "circular", 3, id="circle-of-three"),
    pytest.param(drilled(circle(6, 30.0)), "circular", 6, id="circle-of-six"),
    pytest.param(drilled(circle(8, 35.0)), "circular", 8, id="circle-of-eight"),
    pytest.param(drilled(circle(8, 35.0), others=[((55.0, 43.0), 20.0)]), "circular", 8, id="circle-around-a-bore"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "kind", "count"), FIRES)
def test_equal_holes_in_an_order_are_a_pattern(build: Build, kind: str, count: int, pose: str) -> None:
    """One pattern that holds them all and lacks none."""
    (pattern,) = recognised(build, POSES[pose]).patterns
    assert (pattern.kind, len(pattern.features), pattern.missing) == (kind, count, ())


MISSING = [
    pytest.param(circle(8, 35.0, without=[3]), circle(8, 35.0)[3], id="one-of-eight-on-a-circle"),
    pytest.param(circle(6, 30.0, without=[0]), circle(6, 30.0)[0], id="one-of-six-on-a-circle"),
    pytest.param(
        [point for i, point in enumerate(grid(3, 3, 30.0, 25.0)) if i != 5],
        grid(3, 3, 30.0, 25.0)[5],
        id="one-of-nine-in-a-grid",
    ),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("points", "gap"), MISSING)
def test_the_one_that_is_missing_is_named_with_its_place(points: list[Point], gap: Point, pose: str) -> None:
    """Where all but one place of an even division are taken, that place is said."""
    (pattern,) = recognised(drilled(points), POSES[pose]).patterns
    (place,) = pattern.missing
    assert placed(place, POSES[pose])[:2] == pytest.approx(gap, abs=1e-3)


def odd_one(diameter: float) -> Build:
    """Return a bolt circle of eight, one of them of another size."""
    points = circle(8, 35.0)
    return drilled([*points[:5], *points[6:]], others=[(points[5], diameter)])


def test_the_place_of_an_odd_one_is_a_gap_of_the_others() -> None:
    """One hole of eight with another size: the seven equal ones lack one, at its place."""
    patterns = recognised(odd_one(4.2)).patterns
    (pattern,) = [each for each in patterns if each.missing]
    assert len(pattern.features) == 7
    assert placed(pattern.missing[0], ASKEW)[:2] == pytest.approx(circle(8, 35.0)[5], abs=1e-3)


def mixed_depths() -> Work:
    """Return three holes in a row of three depths."""
    work = block(PLATE)
    for i, depth in enumerate((4.0, 5.0, 6.0)):
        drill(work, (20.0 + 25.0 * i, 40.0, 10.0), 5.0, depth, bottom="flat")
    return work


def two_sides() -> Work:
    """Return three holes in a row, two from above and one from the side."""
    work = block(PLATE)
    for x in (20.0, 45.0):
        drill(work, (x, 40.0, 10.0), 5.0, 6.0, bottom="flat")
    drill(work, (70.0, 0.0, 5.0), 5.0, 6.0, out=(0.0, -1.0, 0.0), bottom="flat")
    return work


def mixed_kinds() -> Work:
    """Return two plain holes and a counterbored one in a row."""
    work = block(PLATE)
    for x in (20.0, 45.0):
        drill(work, (x, 40.0, 10.0), 5.0, 10.0, bottom="through")
    counterbore(work, (70.0, 40.0, 10.0), 5.0, 10.0, bore=9.0, bore_depth=4.0)
    return work


SILENT = [
    pytest.param(lambda: block(PLATE), id="none"),
    pytest.param(drilled([(20.0, 20.0)]), id="one"),
    pytest.param(drilled([(20.0, 20.0), (70.0, 55.0)]), id="two"),
    pytest.param(drilled([(20.0, 20.0), (40.0, 20.0), (75.0, 20.0)]), id="uneven-row"),
    pytest.param(drilled([(20.0, 20.0), (61.0, 33.0), (95.0, 71.0), (33.0, 64.0), (70.0, 12.0)]), id="scattered"),
    pytest.param(drilled([(20.0, 20.0), (45.0, 20.0)], others=[((70.0, 20.0), 5.2)]), id="another-size"),
    pytest.param(mixed_depths, id="three-depths"),
    pytest.param(two_sides, id="two-directions"),
    pytest.param(mixed_kinds, id="two-kinds"),
    pytest.param(drilled(circle(5, 30.0, without=[1, 2])), id="three-places-of-a-fifth"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", SILENT)
def test_no_order_is_read_into_what_has_none(build: Build, pose: str) -> None:
    """Few, scattered, unequal or differently directed holes make no row, grid or bolt circle."""
    patterns = [each for each in recognised(build, POSES[pose]).patterns if each.kind in ("rectangular", "circular")]
    assert patterns == []


# --- near symmetry ---------------------------------------------------------------------------------------------------


def handed(corners: Sequence[str], holes: bool = True) -> Work:
    """Return a plate, even about its middle plane x = 60, with a filleted pocket at the corners named."""
    work = block(PLATE)
    for name in corners:
        x = 25.0 if "left" in name else 95.0
        pocket(work, (x, 45.0, 10.0), 30.0, 40.0, 5.0, corner_radius=4.0 if "sharp" not in name else 0.0)
    if holes:
        for x in (50.0, 70.0):
            drill(work, (x, 15.0, 10.0), 5.0, 10.0, bottom="through")
    return work


def gaps(facts: Facts) -> list[Pattern]:
    """Return the mirror patterns that lack something."""
    return [each for each in facts.patterns if each.kind == "mirror" and each.missing]


def test_mirrored_features_are_pairs() -> None:
    """Two equal pockets on both sides of a middle plane are a mirror pair that lacks nothing."""
    facts = recognised(lambda: handed(["left", "right"]))
    pairs = [each for each in facts.patterns if each.kind == "mirror"]
    assert len(pairs) >= 1
    assert gaps(facts) == []


def test_a_mirrored_copy_without_its_fillets_is_named() -> None:
    """One pocket has rounded corners, its mirror image sharp ones: the place of the fillets is said."""
    facts = recognised(lambda: handed(["left", "right sharp"]))
    places = [placed(place, ASKEW) for pattern in gaps(facts) for place in pattern.missing]
    assert places
    assert all(place[0] == pytest.approx(95.0, abs=16.0) for place in places)


@pytest.mark.parametrize(
    "build",
    [lambda: handed(["left"]), lambda: handed(["left"], holes=False), drilled([(20.0, 20.0), (61.0, 33.0)])],
    ids=["pocket-on-one-side", "nothing-but-it", "two-scattered-holes"],
)
def test_a_part_that_is_merely_asymmetric_lacks_nothing(build: Build) -> None:
    """A pocket on one side is no mistake."""
    assert gaps(recognised(build)) == []


def test_bosses_in_a_row_do_not_upset_the_holes() -> None:
    """Patterns are of one family: a boss between holes takes no place among them."""
    work = block(PLATE)
    for x in (20.0, 45.0, 70.0):
        drill(work, (x, 40.0, 10.0), 5.0, 10.0, bottom="through")
    round_boss(work, (95.0, 40.0, 10.0), 5.0, 4.0)
    rows = [each for each in recognised(lambda: work).patterns if len(each.features) == 3]
    assert [each.kind for each in rows] == ["rectangular"]
