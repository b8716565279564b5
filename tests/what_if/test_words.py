from dataclasses import replace

import pytest

from analyzers.model.finding import Change, Level, Outcome
from analyzers.report.german import in_german
from analyzers.what_if.words import PARAMETERS, _said, change_text

NOTHING = Outcome(
    leaves=None, minutes_saved=0.0, setup_minutes_saved=0.0, setups_saved=0, cutters_spared=(), cutters_added=()
)

ALL = Outcome(
    leaves="note",
    minutes_saved=-1.26,
    setup_minutes_saved=25.0,
    setups_saved=1,
    cutters_spared=("flat 2",),
    cutters_added=("flat 6", "drill 5"),
    made=("F1",),
    raises=("thin_wall",),
)


@pytest.mark.parametrize(
    ("change", "unit", "text"),
    [
        (Change(features=("F1",), field="depth_mm", value=9.0, was=12.0), "mm", "Depth 12 mm to 9 mm"),
        (Change(features=("F1",), field="corner_radius_mm", value=3.175, was=0.0), "inch", "0 in to 0.125 in (1/8)"),
        (Change(features=("F1",), field="corner_radius_mm", value=3.302, was=0.0), "inch", "0 in to 0.13 in"),
        (Change(features=("F1",), field="entry_angle_deg", value=0.0, was=20.5), "mm", "20.5° to 0°"),
        (Change(features=("F1", "F2"), field="count", value=0.0, was=2.0), "mm", "Without these 2 features"),
        (Change(features=("F1",), field="setup", value="S1", was="S3"), "mm", "Setup it is cut in S3 to S1"),
        (Change(features=(), field="scale", value=25.4, was=1.0), "mm", "Scale of the model 1 to 25.4"),
    ],
)
def test_what_becomes_what(change: Change, unit: str, text: str) -> None:
    """In the units the part was drawn in; a fraction of an inch only where it is one."""
    assert change_text(change, unit).endswith(text)  # type: ignore[arg-type]


def test_a_change_without_effect_says_so() -> None:
    """It clears the finding and costs nothing."""
    assert _said(NOTHING) == ["clears it", "the same time"]


def test_all_that_it_does_is_named() -> None:
    """Minutes, setting up, setups, cutters, what is made, what is left and what comes with it."""
    assert _said(ALL) == [
        "leaves a note, but thin_wall then warns",
        "F1 can then be made",
        "about 1 min more a part",
        "25 min less setting up for the batch",
        "1 setup fewer",
        "spares flat 2",
        "takes flat 6, drill 5",
    ]


@pytest.mark.parametrize("name", sorted(set(PARAMETERS) - {"count"}))
@pytest.mark.parametrize("leaves", [None, "note"])
def test_every_change_is_said_in_german_too(name: str, leaves: Level | None) -> None:
    """As on the page: each clause has its German."""
    outcome = replace(ALL, leaves=leaves, raises=())
    text = f"{change_text(Change(features=(), field=name, value=2.0, was=1.0), 'mm')}: {'; '.join(_said(outcome))}."
    german = in_german(text)
    assert german is not None
    assert "weniger Rüsten" in german


def test_leaving_features_out_is_said_in_german() -> None:
    """One, and several."""
    assert in_german("Without it: clears it; the same time.") == "Ohne dies: behebt es; gleich lange."
    many = in_german("Without these 20 features: clears it; the same time.")
    assert many == "Ohne diese 20 Formelemente: behebt es; gleich lange."
