"""Modelled threads: found on shafts, studs and in bores with pitch, diameters, length and hand; and what is none.

The profiles are those of ISO 68-1 and ISO 724 (basic minor diameter d - 1.082532 P), ASME B1.1 (1/4-20) and ISO 2904.
"""

import math
from functools import cache

import pytest
from OCP.TopoDS import TopoDS_Shape

from analyzers.features.boss import Boss
from analyzers.features.hole import Hole
from analyzers.features.outer_round import OuterRound
from analyzers.model.feature import Thread
from analyzers.model.report import Facts
from tests.features._bench import (
    ASKEW,
    MIRRORED,
    POSES,
    Build,
    box,
    cut,
    every_face_once,
    joined,
    recognised,
    ring,
    rod,
    shape_of,
)
from tests.features._screwed import (
    inside_cutter,
    minor_of,
    outside_cutter,
    square_cutter,
    trapezoid_cutter,
)


def bolt(major: float = 8.0, pitch: float = 1.25, turns: float = 8.0, **how: object) -> TopoDS_Shape:
    """Return a rod of 30 with a thread that starts at 5 and runs out."""
    return cut(rod((0, 0, 0), major, 30), *outside_cutter(major, pitch, turns, 5.0, **how))  # type: ignore[arg-type]


def stud() -> TopoDS_Shape:
    """Return a block with a threaded stud on it."""
    thread = cut(rod((0, 0, 0), 8, 25), *outside_cutter(8.0, 1.25, 8.0, 8.0))
    return joined(box((-20, -15, -10), (25, 15, 0)), thread)


def stud_on_a_round() -> TopoDS_Shape:
    """Return a lying shaft with a threaded stud that stands on its round."""
    thread = cut(rod((0, 0, 0), 8, 40), *outside_cutter(8.0, 1.25, 8.0, 23.0))
    return joined(rod((-30, 0, 0), 40, 60, (1.0, 0.0, 0.0)), thread)


def tapped(left: bool = False) -> TopoDS_Shape:
    """Return a block with a through hole of the minor diameter that is threaded inside."""
    body = cut(box((-12, -14, 0), (15, 10, 18)), rod((0, 0, -1), minor_of(8.0, 1.25), 20))
    return cut(body, inside_cutter(8.0, 1.25, 8.0, 3.0, left))


def tapped_and_counterbored() -> TopoDS_Shape:
    """Return a block with a threaded blind hole under a counterbore."""
    body = cut(box((-12, -14, 0), (15, 10, 24)), rod((0, 0, 4), minor_of(8.0, 1.25), 30), rod((0, 0, 19), 14, 10))
    return cut(body, inside_cutter(8.0, 1.25, 6.0, 8.0))


@cache
def shape(build: Build) -> TopoDS_Shape:
    """Return what a builder makes, made once for all poses: cutting threads takes seconds."""
    return shape_of(build)


def threads_of(facts: Facts) -> list[Thread]:
    """Return the threads that features carry."""
    carriers = (Hole, Boss, OuterRound)
    return [
        each.modelled_thread
        for each in facts.features
        if isinstance(each, carriers) and each.modelled_thread is not None
    ]


M8 = {"designation": "M8×1.25", "major_mm": 8.0, "minor_mm": minor_of(8.0, 1.25), "pitch_mm": 1.25, "starts": 1}
SIXTY = {"flank_angle_deg": 60.0}
FIRES = [
    pytest.param(bolt, M8 | SIXTY | {"hand": "right"}, "outer_round", id="bolt"),
    pytest.param(lambda: bolt(left=True), M8 | SIXTY | {"hand": "left"}, "outer_round", id="left-hand"),
    pytest.param(
        lambda: bolt(6.35, 1.27),
        {"designation": "1/4-20 UNC", "major_mm": 6.35, "pitch_mm": 1.27},
        "outer_round",
        id="unified",
    ),
    pytest.param(
        lambda: bolt(8.0, 1.4), {"designation": None, "major_mm": 8.0, "pitch_mm": 1.4}, "outer_round", id="own-pitch"
    ),
    pytest.param(
        lambda: bolt(12.0, 1.5, 6.0, starts=2),
        {"pitch_mm": 1.5, "starts": 2, "hand": "right"},
        "outer_round",
        id="two-starts",
    ),
    pytest.param(
        lambda: bolt(10.0, 1.5, depth=0.87),
        {"designation": "M10×1.5", "pitch_mm": 1.5} | SIXTY,
        "outer_round",
        id="sharp-root",
    ),
    pytest.param(
        lambda: cut(rod((0, 0, 0), 16, 40), trapezoid_cutter(16.0, 4.0, 5.0, 8.0)),
        {"pitch_mm": 4.0, "major_mm": 16.0, "minor_mm": 12.0, "flank_angle_deg": 30.0},
        "outer_round",
        id="trapezoidal",
    ),
    pytest.param(
        lambda: cut(rod((0, 0, 0), 16, 40), square_cutter(16.0, 2.0, 2.0, 4.0, 5.0, 8.0)),
        {"pitch_mm": 4.0, "major_mm": 16.0, "minor_mm": 12.0, "flank_angle_deg": 0.0},
        "outer_round",
        id="square",
    ),
    pytest.param(stud, M8, "boss", id="stud"),
    pytest.param(stud_on_a_round, M8, "boss", id="stud-on-a-round"),
    pytest.param(tapped, M8 | SIXTY | {"hand": "right"}, "round_hole", id="tapped"),
    pytest.param(lambda: tapped(left=True), M8 | {"hand": "left"}, "round_hole", id="tapped-left-hand"),
    pytest.param(tapped_and_counterbored, M8, "counterbore_hole", id="tapped-and-counterbored"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "said", "kind"), FIRES)
def test_a_thread_is_found_with_its_numbers(build: Build, said: dict[str, object], kind: str, pose: str) -> None:
    """One thread on one feature; lengths within a thousandth of a millimetre, a mirrored one has the other hand."""
    facts = recognised(lambda: shape(build), POSES[pose])
    (found,) = threads_of(facts)
    assert [each.kind for each in facts.features if getattr(each, "modelled_thread", None)] == [kind]
    for key, value in said.items():
        if key == "hand" and pose == "mirrored":
            value = {"left": "right", "right": "left"}[str(value)]
        expected = (
            pytest.approx(value, abs=0.05 if key.endswith("_deg") else 1e-3) if isinstance(value, float) else value
        )
        assert getattr(found, key) == expected, key
    assert every_face_once(facts)


def test_a_bolt_is_turned_and_nothing_else_is_seen_on_it() -> None:
    """The thread and the plain round beside it, and no pocket or region."""
    facts = recognised(lambda: shape(bolt), ASKEW)
    assert sorted(each.callout() for each in facts.features) == ["M8×1.25 ↧11.094", "⌀8 × 30"]
    assert facts.made_by.process == "turned"


def test_a_tapped_hole_has_its_drilled_diameter_and_its_thread() -> None:
    """Minor diameter, through, and the thread behind it; no pocket or region is left of its flanks."""
    facts = recognised(lambda: shape(tapped), MIRRORED)
    (hole,) = facts.features
    assert isinstance(hole, Hole)
    assert hole.diameter_mm == pytest.approx(minor_of(8.0, 1.25), abs=1e-3)
    assert hole.depth_mm == pytest.approx(18.0, abs=1e-3)
    assert hole.callout().startswith("⌀6.647 THRU M8×1.25 LH ↧10.9")


def stacked_rings() -> TopoDS_Shape:
    """Return a rod with eight ring grooves in a thread's spacing: no helix."""
    body = rod((0, 0, 0), 8, 30)
    for step in range(8):
        height = 5.0 + 1.25 * step
        body = cut(body, cut(rod((0, 0, height), 12, 0.7), rod((0, 0, height - 1), 6.6, 3)))
    return body


SILENT = [
    pytest.param(lambda: rod((0, 0, 0), 8, 30), id="rod"),
    pytest.param(stacked_rings, id="rings-in-a-row"),
    pytest.param(lambda: cut(rod((0, 0, 0), 30, 60), square_cutter(30.0, 0.5, 3.0, 12.0, 3.0, 10.0)), id="oil-groove"),
    pytest.param(
        lambda: cut(rod((0, 0, 0), 16, 60), square_cutter(16.0, 4.0, 6.0, 60.0, 0.7, 10.0)), id="flute-of-a-drill"
    ),
    pytest.param(
        lambda: cut(rod((0, 0, 0), 20, 40), square_cutter(20.0, 2.0, 2.0, 4.0, 0.8, 15.0)), id="less-than-a-turn"
    ),
    pytest.param(lambda: cut(rod((0, 0, 0), 30, 60), ring((0, 0, 25), 30, 4)), id="half-round-groove"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", SILENT)
def test_what_is_no_thread_is_not_taken_for_one(build: Build, pose: str) -> None:
    """Ring grooves, oil grooves, flutes and short spirals are no threads."""
    facts = recognised(lambda: shape(build), POSES[pose])
    assert threads_of(facts) == []
    assert every_face_once(facts)


def test_the_callout_names_hand_starts_and_own_sizes() -> None:
    """As ISO 6410-1 writes it: designation or size and pitch, LH, length."""
    own = Thread(
        designation=None,
        major_mm=8.2,
        minor_mm=6.8,
        pitch_mm=1.3,
        length_mm=12.0,
        hand="left",
        starts=2,
        flank_angle_deg=math.degrees(math.pi / 3),
    )
    assert own.callout() == "⌀8.2 × 1.3 2 starts LH ↧12"


def test_a_modelled_thread_says_what_a_note_would() -> None:
    """The report, its questions and the rules on hole sizes read it like an annotation of the file."""
    facts = recognised(lambda: shape(tapped), ASKEW)
    (hole,) = facts.features
    (note,) = facts.notes_of(hole)
    assert (note.kind, note.thread) == ("thread", "M8×1.25")
    assert note.pitch_mm == pytest.approx(1.25, abs=1e-3)
