import importlib
import json
import math
import pkgutil
from dataclasses import replace

import pytest
from jsonschema import Draft202012Validator, ValidationError

import analyzers.features
from analyzers.model.feature import FaceClass, Feature
from analyzers.model.measure import Measure
from analyzers.model.part import Surface
from analyzers.model.report import Report
from analyzers.report.as_json import MEASURES, to_json
from analyzers.report.schema import FACE_CLASSES, SCHEMA, SURFACES, schema_text
from analyzers.report.schema_features import KINDS
from tests.report import _builders as build

VALIDATOR = Draft202012Validator(SCHEMA)


def all_kinds() -> set[str]:
    """Return the kind of every feature family that the features folder defines."""
    for module in pkgutil.iter_modules(analyzers.features.__path__, "analyzers.features."):
        importlib.import_module(module.name)

    found: set[str] = set()
    open_: list[type[Feature]] = [Feature]
    while open_:
        below = open_.pop().__subclasses__()
        open_ += below
        found |= {each.kind for each in below if hasattr(each, "kind")}
    return found


@pytest.mark.parametrize(
    "report",
    [
        pytest.param(build.report(), id="one-hole"),
        pytest.param(build.with_many_features(), id="many-features"),
        pytest.param(build.unreadable(), id="unreadable"),
        pytest.param(build.report(build.body(1), build.body(2, build.plate("Lid", count=4))), id="two-bodies"),
    ],
)
def test_document_follows_the_published_schema(report: Report) -> None:
    """Every report, also after a trip through JSON text, is what the schema promises."""
    VALIDATOR.validate(json.loads(json.dumps(to_json(report), allow_nan=False)))


def test_schema_is_a_schema_and_prints_as_json() -> None:
    """The schema itself is valid draft 2020-12, and its text is the same schema."""
    Draft202012Validator.check_schema(SCHEMA)
    assert json.loads(schema_text()) == SCHEMA


def test_schema_knows_every_word_of_the_model() -> None:
    """A new surface, face class or feature kind cannot be forgotten in the schema."""
    assert {each.name.lower() for each in Surface} == set(SURFACES)
    assert set(FACE_CLASSES) == set(FaceClass.__args__)  # type: ignore[attr-defined]  # typing keeps the words there
    assert set(KINDS) == all_kinds()


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("schema_version",), "2.0"),
        (("status",), "fine"),
        (("bodies", 0, "faces", 0, "class"), "bevel"),
        (("bodies", 0, "features", 0, "diameter_mm"), None),
        (("bodies", 0, "triage", "difficulty"), 101),
        (("bodies", 0, "findings", 0, "level"), "fatal"),
        (("bodies", 0, "patterns", 0, "gaps", 0, "expected"), None),
        (("bodies", 0, "measures", "max_hole_depth_ratio"), None),  # null without a reason
    ],
)
def test_schema_refuses(path: tuple[str | int, ...], value: object) -> None:
    """One wrong value anywhere is noticed."""
    document = to_json(build.report())
    at = document
    for step in path[:-1]:
        at = at[step]  # type: ignore[index]  # a path of keys and positions
    at[path[-1]] = value  # type: ignore[index]  # as above
    with pytest.raises(ValidationError):
        VALIDATOR.validate(document)


def test_unreadable_needs_a_reason() -> None:
    """An unreadable file without a problem in words does not pass."""
    with pytest.raises(ValidationError):
        VALIDATOR.validate(to_json(replace(build.unreadable(), problems=())))


def test_faces_carry_class_and_owner() -> None:
    """Row i is face i; the hole's wall belongs to the hole, the outside to no feature."""
    faces = to_json(build.report())["bodies"][0]["faces"]
    assert [each["index"] for each in faces] == list(range(7))
    wall, top = faces[build.HOLE_FACE], faces[build.TOP_FACE]
    assert (wall["surface"], wall["class"], wall["feature"]) == ("cylinder", "hole", "F1")
    assert (top["surface"], top["class"], top["feature"]) == ("plane", "outer", None)


def test_feature_has_its_own_fields_and_its_setup() -> None:
    """The hole's numbers are those it was made with; the plan's setup is named."""
    hole = to_json(build.report())["bodies"][0]["features"][0]
    assert hole["kind"] == "round_hole"
    assert (hole["diameter_mm"], hole["depth_mm"], hole["setup"]) == (build.HOLE_D, build.SIZE[2], "S1")
    assert hole["callout"] == "⌀12 THRU"


def test_a_hole_says_what_it_is_probably_for_in_the_units_it_was_drawn_in() -> None:
    """12 mm through 20 mm: coarse clearance of M10 before a dowel; read in ISO 273, off by nothing."""
    (body,) = to_json(build.report())["bodies"]
    assert body["drawn_in"] == "mm"
    first, *others = body["features"][0]["uses"]
    assert (first["use"], first["fastener"], first["standard"]) == ("clearance", "M10", "ISO 273")
    assert (first["diameter_mm"], first["off_mm"], first["verified"]) == (12.0, 0.0, True)
    assert "dowel" in {each["use"] for each in others}


def test_an_empty_place_of_a_pattern_says_what_was_expected_and_found() -> None:
    """One gap for each missing place, in their order; no feature stands in it."""
    (pattern,) = to_json(build.report())["bodies"][0]["patterns"]
    assert (pattern["kind"], pattern["features"], pattern["missing"]) == ("mirror", ["F1"], [[55.0, 30.0, 20.0]])
    assert pattern["gaps"] == [{"like": "F1", "expected": "⌀12 THRU", "instead": None, "found": "nothing"}]


def test_every_promised_measure_is_there() -> None:
    """A number has its place, a null its reason; also a measure that nobody took."""
    measures = to_json(build.report())["bodies"][0]["measures"]
    for name in MEASURES:
        assert (f"{name}_at" in measures) == (measures[name] is not None)
        assert bool(measures.get(f"{name}_none_because")) == (measures[name] is None)
    assert measures["min_wall_mm_at"]["faces"] == [3, build.HOLE_FACE]
    assert measures["min_internal_radius_mm_none_because"] == "there is no inside corner"
    assert measures["min_internal_radius_mm_applies"] is False
    assert measures["min_gap_mm_applies"] is True  # nobody took it: that is a failure, not a part without gaps
    assert measures["sharp_internal_corners"] == 0


def test_a_further_measure_is_shown_too() -> None:
    """A measure added to the folder appears without a change here."""
    facts = build.facts()
    facts = replace(facts, measures=(*facts.measures, Measure(name="max_boss_height_mm", value=7.5)))
    measures = to_json(build.report(build.body(facts=facts)))["bodies"][0]["measures"]
    assert measures["max_boss_height_mm"] == 7.5


@pytest.mark.parametrize(("thickness", "shown"), [(1.23456e-9, 1.23e-9), (0.1 + 0.2, 0.3), (14.0, 14.0)])
def test_small_numbers_do_not_become_zero(thickness: float, shown: float) -> None:
    """Rounding keeps 1e-6, and keeps a tiny thickness tiny."""
    facts = build.facts()
    facts = replace(facts, walls=(replace(facts.walls[0], thickness_mm=thickness),))
    document = to_json(build.report(build.body(facts=facts)))
    assert document["bodies"][0]["walls"][0]["thickness_mm"] == shown


def test_rounding_errors_vanish_from_directions() -> None:
    """A direction read as 6e-17 is 0, and there is no minus zero."""
    facts = build.facts()
    facts = replace(facts, features=(build.hole(direction=(6e-17, -6e-17, 1.0)),))
    direction = to_json(build.report(build.body(facts=facts)))["bodies"][0]["features"][0]["direction"]
    assert direction == [0.0, 0.0, 1.0]
    assert [math.copysign(1.0, each) for each in direction] == [1.0, 1.0, 1.0]
