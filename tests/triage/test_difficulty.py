"""Every driver: silent where nothing is wrong, never less points for more of it, and all of them add up."""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzers.features.region import Region
from analyzers.model.finding import Finding
from analyzers.model.measure import Measure
from analyzers.model.plan import Plan
from analyzers.model.report import Facts
from analyzers.triage import assess
from analyzers.triage import difficulty as module
from analyzers.triage.difficulty import drivers
from tests.plan._builders import UP, block, example, facts, hole, pocket, slot
from tests.triage._builders import cutter, finding, minutes, plan, setup, unmade


def points(of: Facts, by: Plan, findings: tuple[Finding, ...] = ()) -> dict[str, float]:
    """Return the points of each driver."""
    return {each.name: each.points for each in drivers(of, by, findings, example())}


def easy() -> Facts:
    """Return a block with two holes."""
    return facts(block(), [hole(), hole(8.0)])


def measured(name: str, value: float) -> Facts:
    """Return the easy part with one measure taken."""
    return replace(easy(), measures=(Measure(name=name, value=value),))


Case = Callable[[int], tuple[Facts, Plan, tuple[Finding, ...]]]

CASES = [
    pytest.param("unmade", lambda n: (easy(), plan(unmade=tuple(unmade(f"F{i}") for i in range(n))), ()), id="unmade"),
    pytest.param("setups", lambda n: (easy(), plan(setups=tuple(setup(i) for i in range(n + 1))), ()), id="setups"),
    pytest.param("setups", lambda n: (easy(), plan(setups=(setup(indexed=(UP,) * n),)), ()), id="indexed"),
    pytest.param("depth", lambda n: (facts(block(), [hole(5.0, 20.0 + 10.0 * n)]), plan(), ()), id="depth"),
    pytest.param(
        "pockets", lambda n: (facts(block(), [pocket(depth=16.0 + 8.0 * n, faces=())]), plan(), ()), id="pockets"
    ),
    pytest.param("pockets", lambda n: (facts(block(), [slot(4.0, 8.0 + 4.0 * n)]), plan(), ()), id="slots"),
    pytest.param("radii", lambda n: (measured("min_internal_radius_mm", 3.0 / (n + 1)), plan(), ()), id="radii"),
    pytest.param("walls", lambda n: (measured("min_wall_mm", 1.6 / (n + 1)), plan(), ()), id="walls"),
    pytest.param("corners", lambda n: (measured("sharp_internal_corners", float(n)), plan(), ()), id="corners"),
    pytest.param(
        "holding",
        lambda n: (easy(), plan(setups=(setup(), *(setup(held_by="fixture") for _ in range(n)))), ()),
        id="holding",
    ),
    pytest.param(
        "cutters", lambda n: (easy(), plan(tools=tuple(cutter(f"c{i}") for i in range(6 + n))), ()), id="cutters"
    ),
    pytest.param("features", lambda n: (facts(block(), [hole()] * (12 + 10 * n)), plan(), ()), id="features"),
    pytest.param("time", lambda n: (easy(), plan(minutes=minutes(12.0 + 20.0 * n)), ()), id="time"),
    pytest.param("size", lambda n: (easy(), plan(stock_mm=(300.0 + 100.0 * n, 50.0, 20.0)), ()), id="size"),
    pytest.param("remarks", lambda n: (easy(), plan(), (finding(),) * n), id="remarks"),
]


@pytest.mark.parametrize(("name", "case"), CASES)
def test_a_driver_is_silent_at_its_start_and_never_falls(name: str, case: Case) -> None:
    """None at nothing, more at each step, the same once it cannot get worse; and the sum follows."""
    found = [points(*case(n)) for n in range(12)]
    own = [each.get(name, 0.0) for each in found]
    total = [assess(*case(n), example()).difficulty for n in range(12)]
    assert own[0] == 0.0
    assert own[1] > 0.0
    assert all(a <= b for a, b in pairwise(own))
    assert all(a <= b for a, b in pairwise(total))


def test_freeform_counts_by_its_share_of_the_surface() -> None:
    """None without, more with two faces than with one."""
    part = block()

    def share(*faces: int) -> float:
        region = Region(
            faces=faces, direction=UP, position_mm=(0.0, 0.0, 0.0), area_mm2=1.0, min_concave_radius_mm=None
        )
        return points(facts(part, [region] if faces else []), plan()).get("freeform", 0.0)

    assert share() == 0.0
    assert 0.0 < share(4) < share(4, 5)
    assert share(4) == pytest.approx(14.0 * part.face_area_mm2[4] / part.area_mm2 / 0.5)


def test_no_machine_and_no_sound_model_count_once() -> None:
    """Silent for a part that fits and is closed."""
    assert not {"machine", "model"} & set(points(easy(), plan()))
    assert points(easy(), plan(machine=None))["machine"] == 35.0
    assert points(replace(easy(), part=replace(block(), closed=False)), plan())["model"] == 10.0
    assert points(replace(easy(), part=replace(block(), valid=False)), plan())["model"] == 10.0


def test_notes_and_errors_are_no_remarks() -> None:
    """Errors decide the pile, notes nothing."""
    assert "remarks" not in points(easy(), plan(), (finding("note"), finding("error")))


def test_an_easy_part_has_no_driver() -> None:
    """One setup, two cutters, ten minutes, nothing delicate."""
    assert drivers(easy(), plan(), (), example()) == ()
    assert assess(easy(), plan(), (), example()).difficulty == 0.0


def test_unknown_measures_give_no_points() -> None:
    """A wall that could not be measured is neither thin nor thick."""
    unknown = Measure(name="min_wall_mm", value=None, why_none="the kernel gave up")
    assert "walls" not in points(replace(easy(), measures=(unknown,)), plan())


@given(
    st.integers(0, 30),
    st.integers(1, 20),
    st.floats(0.1, 10.0),
    st.floats(0.05, 10.0),
    st.floats(1.0, 5000.0),
    st.integers(0, 30),
)
def test_the_difficulty_is_the_sum_of_its_drivers_up_to_a_hundred(
    lost: int, sides: int, radius: float, wall: float, time: float, remarks: int
) -> None:
    """Whatever the part; drivers come largest first and none is empty."""
    part = replace(
        easy(),
        measures=(
            Measure(name="min_internal_radius_mm", value=radius),
            Measure(name="min_wall_mm", value=wall),
        ),
    )
    by = plan(
        unmade=tuple(unmade(f"F{i}") for i in range(lost)),
        setups=tuple(setup(i, held_by="fixture") for i in range(sides)),
        minutes=minutes(time),
    )
    triage = assess(part, by, (finding(),) * remarks, example())
    assert triage.difficulty == pytest.approx(min(sum(each.points for each in triage.drivers), 100.0))
    assert 0.0 <= triage.difficulty <= 100.0
    given_points = [each.points for each in triage.drivers]
    assert given_points == sorted(given_points, reverse=True)
    assert all(np.array(given_points) > 0.0)
    assert all(each.why for each in triage.drivers)


@pytest.mark.parametrize(("name", "case"), CASES)
def test_the_table_in_the_docstring_says_what_a_driver_can_cost(name: str, case: Case) -> None:
    """The last number of its row is what the driver gives when it cannot get worse."""
    rows = {line.split()[0]: line.split() for line in (module.__doc__ or "").splitlines() if line.strip()}
    assert float(rows[name][-1]) == pytest.approx(points(*case(200))[name])
