"""Which features count as equal, and the labels that put near numbers together."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzers.features._families import equal_rows, families, labels, middles, numbered, parallel, same_size
from analyzers.features.hole import RoundHole, Segment, SteppedHole
from analyzers.model.arrays import Vec
from analyzers.model.feature import Feature, unlike
from analyzers.model.part import Part
from analyzers.tolerance import TWIN_SIZE_MM
from tests.features._bench import ASKEW, recognised
from tests.features._patterned import CORNERS, drilled_plate, with_bosses

UP: Vec = (0.0, 0.0, 1.0)
FACTS = recognised(lambda: drilled_plate(CORNERS, depth=8.0), ASKEW)


def resized(row: int, **changes: float | bool | str) -> tuple[Feature, ...]:
    """Return the four blind holes of the plate with one of them changed."""
    holes = [each for each in FACTS.features if isinstance(each, RoundHole)]
    return tuple(replace(each, **changes) if number == row else each for number, each in enumerate(holes))  # type: ignore[arg-type]


def sizes(part: Part, features: tuple[Feature, ...]) -> list[int]:
    """Return how many members each family has."""
    return [len(each.rows) for each in families(part, features, *middles(part, features))]


def test_equal_holes_are_a_family() -> None:
    """Four of one size and depth."""
    assert sizes(FACTS.part, resized(-1)) == [4]


@pytest.mark.parametrize(
    ("changes", "members"),
    [
        pytest.param({"diameter_mm": 5.0 + 0.9 * TWIN_SIZE_MM}, 4, id="just-within-the-tolerance"),
        pytest.param({"diameter_mm": 5.0 + 3.0 * TWIN_SIZE_MM}, 3, id="past-the-tolerance"),
        pytest.param({"depth_mm": 8.5}, 3, id="another-depth"),
        pytest.param({"bottom": "flat"}, 3, id="another-bottom"),
        pytest.param({"through": True, "bottom": "through"}, 3, id="runs-through"),
        pytest.param({"depth_ratio": 9.0}, 4, id="derived-number"),
        pytest.param({"entry": "curved"}, 4, id="what-surrounds-it"),
    ],
)
def test_one_that_differs_is_no_member(changes: dict[str, float | bool | str], members: int) -> None:
    """In its own sizes and words, not in what follows from them or from the surroundings."""
    assert sizes(FACTS.part, resized(2, **changes)) == [members]


def test_two_equal_ones_are_no_family() -> None:
    """Three is the least."""
    assert sizes(FACTS.part, resized(-1)[:2]) == []


def test_how_deep_a_through_hole_is_does_not_matter() -> None:
    """The part is thinner there, the drill is the same."""
    one, other = resized(0, through=True, bottom="through")[0], resized(1, through=True, bottom="through")[1]
    assert same_size(one, replace(other, depth_mm=3.0), (10.0, 10.0))  # type: ignore[call-arg] # a hole
    shallow = resized(1, depth_mm=3.0)
    assert not same_size(shallow[0], shallow[1], (10.0, 10.0))


def test_members_that_look_another_way_are_told_apart() -> None:
    """Three of the four look up, one to the side: three stay together."""
    features = resized(0, direction=(1.0, 0.0, 0.0))  # type: ignore[arg-type]
    (family,) = families(FACTS.part, features, *middles(FACTS.part, features))
    assert [len(each.rows) for each in parallel(family)] == [3]


def test_members_on_another_level_are_told_apart() -> None:
    """Blind holes that begin higher or lower are another row."""
    first = resized(-1)[0]
    higher = tuple(np.array(first.position_mm) + 4.0 * np.array(first.direction))
    features = resized(0, position_mm=higher)  # type: ignore[arg-type]
    (family,) = families(FACTS.part, features, *middles(FACTS.part, features))
    assert [len(each.rows) for each in parallel(family)] == [3]


def test_bosses_are_compared_by_the_area_of_their_faces_too() -> None:
    """Round bosses of two heights are no family of four."""
    facts = recognised(lambda: with_bosses(CORNERS, [5.0, 5.0, 4.0, 5.0]), ASKEW)
    assert sizes(facts.part, facts.features) == [3]


# --- labels ---------------------------------------------------------------------------------------------------------

tables = st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3), st.integers(0, 3)), min_size=1, max_size=12)


@given(tables)
def test_equal_rows_are_those_numpy_finds(rows: list[tuple[int, int, int]]) -> None:
    """Groups of `numpy.unique` by rows, in order of their first member; `numbered` tells the same rows apart."""
    key = np.array(rows)
    _, inverse = np.unique(key, axis=0, return_inverse=True)
    expected = {tuple(np.flatnonzero(inverse.ravel() == each).tolist()) for each in set(inverse.ravel().tolist())}
    groups = [tuple(each.tolist()) for each in equal_rows(key)]
    assert set(groups) == expected
    assert groups == sorted(groups)
    number = numbered(key)
    assert all(len(set(number[list(each)].tolist())) == 1 for each in expected)
    assert len(set(number.tolist())) == len(expected)


def test_values_are_labelled_alike_where_no_gap_is_wider_than_allowed() -> None:
    """Column by column; exactly the allowed distance still joins."""
    values = np.array([[0.0, 5.0], [1.0, 9.0], [2.0, 5.5], [3.5, 30.0]])
    assert labels(values, 1.0).T.tolist() == [[0, 0, 0, 1], [0, 1, 0, 2]]
    assert labels(values, np.array([2.0, 5.0])).T.tolist() == [[0, 0, 0, 0], [0, 0, 0, 1]]


# --- what two features differ in ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "names"),
    [
        pytest.param({}, (), id="equal"),
        pytest.param({"diameter_mm": 5.0 + 0.5 * TWIN_SIZE_MM}, (), id="within-the-tolerance"),
        pytest.param({"depth_ratio": 3.0, "entry": "curved"}, (), id="what-follows"),
        pytest.param({"diameter_mm": 5.5}, ("diameter_mm",), id="diameter"),
        pytest.param({"depth_mm": 9.0, "bottom": "flat"}, ("depth_mm", "bottom"), id="depth-and-bottom"),
    ],
)
def test_features_differ_in_their_own_sizes_alone(
    changes: dict[str, float | bool | str], names: tuple[str, ...]
) -> None:
    """Not in what follows from others, nor within the accuracy of copies."""
    holes = resized(1, **changes)
    assert unlike(holes[0], holes[1]) == names


def test_the_depth_of_through_holes_follows_from_the_part() -> None:
    """Holes that differ in depth alone are equal where both run through."""
    one = resized(0, through=True, bottom="through")[0]
    other = resized(1, through=True, bottom="through", depth_mm=3.0)[1]
    assert unlike(one, other) == ()


def test_steps_of_a_stepped_hole_are_its_own_sizes() -> None:
    """Equal to a rounding error, or not."""
    first = Segment(shape="cylinder", diameter_mm=8.0, depth_mm=4.0, end_diameter_mm=8.0)
    shared = {"diameter_mm": 5.0, "depth_mm": 9.0, "through": False, "bottom": "flat", "faces": (1,)}
    made = [
        SteppedHole(segments=(replace(first, depth_mm=depth),), direction=UP, position_mm=UP, **shared)  # type: ignore[arg-type] # mixed
        for depth in (4.0, 4.0 + 1e-9, 4.5)
    ]
    assert unlike(made[0], made[1]) == ()
    assert unlike(made[0], made[2]) == ("segments",)


def test_features_of_two_kinds_differ_in_kind() -> None:
    """There is nothing else to compare."""
    facts = recognised(lambda: with_bosses(CORNERS[:1], [5.0]), ASKEW)
    boss = next(each for each in facts.features if each.kind == "boss")
    assert unlike(resized(-1)[0], boss) == ("kind",)
