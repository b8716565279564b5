"""Taking every measure: what is promised of all, and what a failure costs."""

import importlib
from collections.abc import Iterator
from pathlib import Path

import pytest

import analyzers.measures as folder
from analyzers.measures import measure_function, measure_names, take_all
from analyzers.model.geometry import Geometry
from analyzers.model.measure import FeatureNumber, Measure
from analyzers.model.report import Facts
from tests.measures._shapes import box, cut, featured, hole, loaded, pocket

PROMISED = {
    "min_internal_radius_mm",
    "max_hole_depth_ratio",
    "max_pocket_depth_ratio",
    "min_wall_mm",
    "min_floor_mm",
    "min_gap_mm",
    "min_web_mm",
    "sharp_internal_corners",
    "external_sharp_edge_length_mm",
}
POCKETED = cut(box((0, 0, 0), (60, 40, 12)), box((10, 10, 2), (50, 30, 13)))


def test_every_promised_measure_is_there() -> None:
    """The folder holds the measures of the published report."""
    assert set(measure_names()) >= PROMISED


@pytest.mark.parametrize("name", measure_names())
def test_every_measure_explains_itself_and_has_its_test(name: str) -> None:
    """Each file says what it measures, in the module and in the function, and has a test file of its name."""
    module = importlib.import_module(f"analyzers.measures.{name}")
    assert module.__doc__
    assert measure_function(name).__doc__
    assert (Path(__file__).parent / f"test_{name}.py").is_file() or name == "sharp_corners_open_aside"


@pytest.mark.parametrize("name", measure_names())
def test_every_measure_answers_once_with_a_place_or_a_reason(name: str) -> None:
    """Each file yields one Measure of its own name; a number other than 0 has a point and faces."""
    facts, geometry = loaded(POCKETED)
    answers = [each for each in measure_function(name)(facts, geometry) if isinstance(each, Measure)]
    assert [each.name for each in answers] == [name]
    if answers[0].value:
        assert answers[0].point_mm is not None
        assert answers[0].faces


def test_what_does_not_apply_is_no_problem() -> None:
    """A plain block: every measure answers, nothing is a problem."""
    facts, problems = take_all(*loaded(box((0, 0, 0), (60, 40, 20))))
    assert problems == ()
    assert {each.name for each in facts.measures} == set(measure_names())


def test_a_measure_that_raises_costs_itself(monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture) -> None:
    """The others stand, the failed one has a reason and applies, one problem names it, the log has the traceback."""

    def broken(facts: Facts, geometry: Geometry) -> Iterator[Measure]:
        yield Measure(name="min_gap_mm", value=float(len(facts.features)))
        raise ZeroDivisionError(type(geometry).__name__)

    monkeypatch.setattr("analyzers.measures.min_gap_mm.measure", broken)
    facts, problems = take_all(*loaded(POCKETED))
    assert [each.stage for each in problems] == ["measure"]
    assert "min_gap_mm" in problems[0].message
    failed = [each for each in facts.measures if each.name == "min_gap_mm"]
    assert len(failed) == 1
    assert failed[0].value is None
    assert failed[0].applies
    thickness = facts.measure("min_wall_mm")
    assert thickness is not None
    assert thickness.value == pytest.approx(2.0)
    assert "ZeroDivisionError" in caplog.text


def test_a_measure_that_should_have_been_there_is_a_problem(monkeypatch: pytest.MonkeyPatch) -> None:
    """A number that applies and could not be had is told once in the problems, in its own words."""

    def unknown(facts: Facts, geometry: Geometry) -> Iterator[Measure]:
        why = f"the {len(facts.face_class)} faces kept it from {type(geometry).__name__}"
        yield Measure(name="min_gap_mm", value=None, why_none=why)

    monkeypatch.setattr("analyzers.measures.min_gap_mm.measure", unknown)
    _, problems = take_all(*loaded(POCKETED))
    assert len(problems) == 1
    assert "kept it from" in problems[0].message


def test_numbers_go_to_the_features_that_have_a_field_for_them() -> None:
    """A pocket takes its floor thickness; a kind without the field is left as it was."""
    facts, geometry = loaded(POCKETED)
    inside = (9.0, 9.0, 1.0), (51.0, 31.0, 12.5)
    facts = featured(facts, pocket(facts.part, *inside), hole(facts.part, (0, 0, 0), (0, 0, 0)))
    measured, _ = take_all(facts, geometry)
    assert measured.features[0].dimensions()["floor_thickness_mm"] == pytest.approx(2.0)
    assert measured.features[1] == facts.features[1]


def test_a_number_for_an_unknown_field_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """A FeatureNumber whose field the feature's kind does not have is dropped."""

    def stray(facts: Facts, geometry: Geometry) -> Iterator[FeatureNumber]:
        yield FeatureNumber(feature=facts.features[0].id, field=type(geometry).__name__, value=1.0)

    monkeypatch.setattr("analyzers.measures.min_gap_mm.measure", stray)
    facts, geometry = loaded(POCKETED)
    facts = featured(facts, hole(facts.part, (0, 0, 0), (0, 0, 0)))
    assert take_all(facts, geometry)[0].features == facts.features


def test_thin_places_come_thinnest_first() -> None:
    """Whichever measure found them."""
    shape = cut(box((0, 0, 0), (80, 40, 12)), box((10, 10, 2), (30, 30, 13)), box((31, 10, 5), (79, 30, 13)))
    walls = take_all(*loaded(shape))[0].walls
    assert [each.thickness_mm for each in walls] == sorted(each.thickness_mm for each in walls)
    assert len(walls) >= 4


def test_the_folder_knows_no_list() -> None:
    """Names are found by looking, so a new file is a new measure."""
    assert set(measure_names()) == {p.stem for p in Path(folder.__path__[0]).glob("[!_]*.py")}
