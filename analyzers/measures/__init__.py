"""Numbers about a whole body, each in its own file, found by folder: `take_all` takes every one that is there."""

import importlib
import logging
import pkgutil
from collections.abc import Callable, Iterator
from dataclasses import fields, replace
from typing import Any

from analyzers.measures._survey import Survey
from analyzers.measures._thickness import thickness_of_triangles
from analyzers.model.arrays import Floats
from analyzers.model.feature import Feature
from analyzers.model.geometry import Geometry
from analyzers.model.measure import FeatureNumber, Measure, ThinPlace
from analyzers.model.report import Facts
from analyzers.model.source import Problem

_log = logging.getLogger(__name__)

Taken = Measure | ThinPlace | FeatureNumber
MeasureFunction = Callable[[Facts, Geometry], Iterator[Taken]]


def measure_names() -> tuple[str, ...]:
    """Return the names of all measures in this folder, sorted."""
    return tuple(sorted(each.name for each in pkgutil.iter_modules(__path__) if not each.name.startswith("_")))


def measure_function(name: str) -> MeasureFunction:
    """Return the `measure` of one file; AttributeError where the file has none."""
    function: MeasureFunction = importlib.import_module(f"{__name__}.{name}").measure
    return function


def take_all(facts: Facts, geometry: Geometry) -> tuple[Facts, tuple[Problem, ...]]:
    """Return the facts with every measure taken, and what could not be measured.

    A measure that raises costs itself: the others stand, and a problem says so. Thin places come thinnest first.
    """
    survey = Survey(facts, geometry)
    taken: list[Taken] = []
    problems: list[Problem] = []
    for name in measure_names():
        try:
            taken.extend(tuple(measure_function(name)(facts, survey)))
        except Exception as error:  # noqa: BLE001 - one measure's fault costs itself, not the report
            _log.exception("measure %s failed", name)
            problems.append(Problem(stage="measure", message=f"{name} could not be measured: {error}"))
            taken.append(Measure(name=name, value=None, why_none=f"the measurement failed: {error}"))
    measures = tuple(each for each in taken if isinstance(each, Measure))
    problems.extend(
        Problem(stage="measure", message=f"{each.name}: {each.why_none}")
        for each in measures
        if each.value is None and each.applies and not any(each.name in other.message for other in problems)
    )
    walls = sorted((each for each in taken if isinstance(each, ThinPlace)), key=_thinnest_first)
    numbers: dict[str, list[FeatureNumber]] = {}
    for each in taken:
        if isinstance(each, FeatureNumber):
            numbers.setdefault(each.feature, []).append(each)
    features = tuple(_with_numbers(feature, numbers.get(feature.id, [])) for feature in facts.features)
    thickness = _thickness(facts, geometry, problems)
    taken_facts = replace(facts, features=features, measures=measures, walls=tuple(walls), thickness_mm=thickness)
    return taken_facts, tuple(problems)


def _thickness(facts: Facts, geometry: Geometry, problems: list[Problem]) -> Floats | None:
    """Return the thickness behind every triangle, for the picture; None and a problem where that failed."""
    try:
        return thickness_of_triangles(facts.part, geometry)
    except Exception as error:  # noqa: BLE001 - a picture less, not a report less
        _log.exception("thickness of triangles failed")
        problems.append(Problem(stage="measure", message=f"the picture has no thickness: {error}"))
        return None


def _thinnest_first(place: ThinPlace) -> tuple[float, tuple[int, ...]]:
    return (place.thickness_mm, place.faces)


def _with_numbers(feature: Feature, numbers: list[FeatureNumber]) -> Feature:
    """Return the feature with the numbers that are meant for it and that its kind has a field for."""
    known = {each.name for each in fields(feature)}
    mine = {each.field: each.value for each in numbers if each.field in known}
    changes: dict[str, Any] = dict(mine)
    return replace(feature, **changes) if mine else feature
