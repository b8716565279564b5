"""In which units a model was drawn, and whether its unit is wrong."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzers.data.unit_guess import evident_unit_system, suspected_scale

IN = 25.4
METRIC = [5.0, 6.6, 11.0, 8.5, 40.0, 62.5]
INCH = [0.201 * IN, 0.25 * IN, 0.4375 * IN, 2.5 * IN, 1.75 * IN]


def test_round_millimetres_are_metric_and_round_inches_are_not() -> None:
    """The plain cases."""
    assert evident_unit_system(METRIC) == "mm"
    assert evident_unit_system(INCH) == "inch"


def test_one_foreign_size_changes_nothing() -> None:
    """A metric screw in an inch part, an inch thread in a metric one."""
    assert evident_unit_system([*METRIC, 0.201 * IN]) == "mm"
    assert evident_unit_system([*INCH, 6.6]) == "inch"


@pytest.mark.parametrize("otherwise", ["mm", "inch"])
def test_where_nothing_tells_the_caller_decides(otherwise: str) -> None:
    """No lengths, no positive ones, or lengths without any system."""
    for lengths in ([], [0.0, -5.0], [3.14159, 2.71828 * 7, 9.86960]):
        assert evident_unit_system(lengths, otherwise) == otherwise  # type: ignore[arg-type]  # a literal


def test_lengths_by_chance_do_not_tell() -> None:
    """200 parts of 20 lengths drawn evenly: a system is read into 5 of them at most."""
    source = random.Random(20_24)
    told = sum(evident_unit_system([source.uniform(1, 120) for _ in range(20)], "mm") == "inch" for _ in range(200))
    assert told <= 5


@given(st.lists(st.integers(1, 400), min_size=3, max_size=30, unique=True))
def test_half_millimetres_are_metric(halves: list[int]) -> None:
    """Any three or more different multiples of half a millimetre, unless all are whole eighths of an inch as well."""
    lengths = [half * 0.5 for half in halves]
    assert evident_unit_system(lengths) == "mm" or sum(half % 127 == 0 for half in halves) > 1


@given(st.lists(st.integers(1, 500).filter(lambda n: n % 8), min_size=3, max_size=30, unique=True))
def test_sixteenths_are_inches(sixteenths: list[int]) -> None:
    """Any three or more different multiples of 1/16 in, and their order does not matter."""
    lengths = [each / 16 * IN for each in sixteenths]
    assert evident_unit_system(lengths, "mm") == "inch"
    assert evident_unit_system(reversed(lengths), "mm") == "inch"


@pytest.mark.parametrize(
    ("diameters", "text"),
    [
        pytest.param([0.201, 0.25, 0.3125], "drawn in inches and read as millimetres", id="inch-as-mm"),
        pytest.param([127.0, 6.6 * IN, 5.5 * IN, 11 * IN], "drawn in millimetres and read as inches", id="mm-as-inch"),
        pytest.param([0.005, 0.0066, 0.011], "drawn in metres and read as millimetres", id="m-as-mm"),
        pytest.param([5000.0, 6600.0, 11000.0], "drawn in millimetres and read as metres", id="mm-as-m"),
    ],
)
def test_a_wrong_unit_is_suspected(diameters: list[float], text: str) -> None:
    """Sizes that are nobody's holes, and fasteners' holes when multiplied."""
    found = suspected_scale(diameters)
    assert found is not None
    assert found.text == text
    assert (found.explained, found.sizes) == (len(diameters), len(diameters))


@pytest.mark.parametrize(
    "diameters",
    [
        pytest.param(METRIC, id="metric"),
        pytest.param(INCH, id="inch"),
        pytest.param([], id="none"),
        pytest.param([0.201], id="one-size-proves-nothing"),
        pytest.param([0.5, 0.6, 0.8, 1.0], id="watchmaker"),
        pytest.param([47.3, 61.9, 88.8], id="odd-bores"),
        pytest.param([0.201, 0.25, 6.6, 5.0], id="half-of-them-make-sense"),
    ],
)
def test_nothing_is_suspected(diameters: list[float]) -> None:
    """Sensible sizes, too few, or such as make sense at no scale."""
    assert suspected_scale(diameters) is None
