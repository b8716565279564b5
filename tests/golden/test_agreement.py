"""The comparison with the truth can fail: each kind of difference is noticed, at the tolerance and not before."""

import json
from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analyzers.model.report import Body
from analyzers.pipeline import analyse
from analyzers.settings import load_settings
from tests.golden.agreement import Placed, disagreements, place

PARTS = Path(__file__).resolve().parents[2] / "fixtures" / "parts"


@pytest.fixture(scope="module")
def pair() -> tuple[Placed, Body]:
    """Return the truth about the easy plate, laid over its report."""
    report = analyse(PARTS / "lid_plate.step", load_settings())
    truth = json.loads((PARTS / "lid_plate.truth.json").read_text(encoding="utf-8"))["bodies"][0]
    return place(truth, report.bodies[0]), report.bodies[0]


def changed(placed: Placed, field: str, value: Any, index: int = 2) -> Placed:
    """Return the truth with one field of one feature changed; feature 2 is the first hole."""
    truth = deepcopy(placed.truth)
    truth["features"][index][field] = value
    return replace(placed, truth=truth)


def test_an_agreeing_report_has_no_disagreement(pair: tuple[Placed, Body]) -> None:
    """The easy plate agrees."""
    assert disagreements(*pair) == []


@pytest.mark.parametrize(
    ("field", "value"),
    [
        pytest.param("diameter_mm", 6.6 + 0.0011, id="diameter"),
        pytest.param("depth_mm", 10.0 - 0.0011, id="depth"),
        pytest.param("through", False, id="through"),
        pytest.param("bottom", "flat", id="bottom"),
        pytest.param("entry_angle_deg", 0.011, id="angle"),
        pytest.param("direction", [1.0, 0.0, 0.0], id="direction"),
    ],
)
def test_a_wrong_number_is_noticed(field: str, value: object, pair: tuple[Placed, Body]) -> None:
    """A field beyond its tolerance is named, once."""
    placed, body = pair
    truth = changed(changed(placed, field, value), "also", [])
    assert [each.what for each in disagreements(truth, body)] == [field]


def test_a_number_within_tolerance_passes(pair: tuple[Placed, Body]) -> None:
    """Nine tenths of a thousandth is no disagreement."""
    placed, body = pair
    assert disagreements(changed(placed, "diameter_mm", 6.6009), body) == []


def test_a_hole_elsewhere_is_missed_and_the_one_found_is_invented(pair: tuple[Placed, Body]) -> None:
    """A hole that lies 0.002 mm beside its truth is another hole."""
    placed, body = pair
    truth = changed(changed(placed, "position_mm", [12.002, 10.0, 10.0]), "also", [])
    assert [each.what for each in disagreements(truth, body)] == ["found", "invented"]


def test_a_feature_of_another_kind_is_missed_and_invented(pair: tuple[Placed, Body]) -> None:
    """A slot in the place of a hole counts twice."""
    placed, body = pair
    assert [each.what for each in disagreements(changed(placed, "kind", "slot"), body)] == ["found", "invented"]


def test_a_feature_the_truth_does_not_know_is_invented(pair: tuple[Placed, Body]) -> None:
    """What was never built must not be reported."""
    placed, body = pair
    truth = deepcopy(placed.truth)
    del truth["features"][2]
    assert [each.what for each in disagreements(replace(placed, truth=truth), body)] == ["invented"]


def test_any_accepted_view_will_do(pair: tuple[Placed, Body]) -> None:
    """A wrong first view does no harm where another one fits."""
    placed, body = pair
    truth = changed(placed, "also", [{"diameter_mm": placed.truth["features"][2]["diameter_mm"]}])
    assert disagreements(changed(truth, "diameter_mm", 7.0), body) == []


def test_a_truth_laid_over_the_wrong_body_does_not_fit(pair: tuple[Placed, Body]) -> None:
    """Points of another place are far from the skin."""
    placed, body = pair
    truth = deepcopy(placed.truth)
    for face in truth["faces"]:
        face["point_mm"] = (np.array(face["point_mm"]) + 3.0).tolist()
    assert place(truth, body).away_mm.max() > 1.0
