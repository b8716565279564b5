"""Leaders of markers: each label has its place, and no two lines cross."""

from itertools import combinations

import numpy as np
import pytest

from analyzers.report.callouts import spread, uncrossed

Point = tuple[float, float]


def turn(a: Point, b: Point, c: Point) -> float:
    """Return twice the area of a triangle, positive where it runs counter-clockwise."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def cross(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    """Return whether two segments cross within both."""
    (a, b), (c, d) = one, other
    return turn(a, b, c) * turn(a, b, d) < 0 and turn(c, d, a) * turn(c, d, b) < 0


def crossings(points: list[Point], labels: list[Point], order: list[int]) -> int:
    """Return how many pairs of leaders cross."""
    leaders = [(label, points[at]) for label, at in zip(labels, order, strict=True)]
    return sum(cross(*pair) for pair in combinations(leaders, 2))


@pytest.mark.parametrize("seed", range(40))
def test_no_leader_crosses_another(seed: int) -> None:
    """Places anywhere, labels beside them in a column: each place gets one label, and no two lines cross."""
    places = np.random.default_rng(seed).uniform(0.0, 400.0, (12, 2))
    points = [(float(x), float(y)) for x, y in places]
    labels = [(-40.0, at) for at in spread(sorted(y for _, y in points), 400)]
    order = uncrossed(points, labels)
    assert sorted(order) == list(range(12))
    assert crossings(points, labels, order) == 0


def test_by_height_alone_leaders_would_cross() -> None:
    """The places above are such that the plain order crosses: the check can fail."""
    places = np.random.default_rng(0).uniform(0.0, 400.0, (12, 2))
    points = [(float(x), float(y)) for x, y in places]
    labels = [(-40.0, at) for at in spread(sorted(y for _, y in points), 400)]
    by_height = sorted(range(12), key=lambda at: points[at][1])
    assert crossings(points, labels, by_height) > 0
