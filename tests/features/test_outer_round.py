"""Turned lengths of an outline; and round faces that are none."""

import math

import pytest
from OCP.TopoDS import TopoDS_Shape

from analyzers.features.outer_round import OuterRound
from fixtures.make.vocabulary.blends import round_edges
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.raised import round_boss
from fixtures.make.vocabulary.recesses import slot
from fixtures.make.vocabulary.rings import outer_groove
from fixtures.make.vocabulary.stock import Length, turned
from fixtures.make.vocabulary.work import Work
from tests.features._bench import (
    POSES,
    Build,
    Said,
    box,
    cut,
    differences,
    every_face_once,
    joined,
    listed,
    of_family,
    plate,
    recognised,
    rod,
)

X = (1.0, 0.0, 0.0)


def length(diameter: float, long: float, taper: float = 0.0) -> Said:
    """Return what is said of one length."""
    return {"kind": "outer_round", "diameter_mm": diameter, "length_mm": long, "taper_deg": taper}


def shaft() -> Work:
    """Return a shaft of three diameters."""
    lengths = [Length(20.0, 20.0, 30.0), Length(30.0, 30.0, 25.0), Length(16.0, 16.0, 18.0)]
    return turned(lengths, (3.0, -2.0, 5.0), size=(30.0, 30.0, 73.0))


def tapered() -> Work:
    """Return a shaft with a long taper from 20 to 30."""
    return turned([Length(20.0, 20.0, 30.0), Length(20.0, 30.0, 25.0), Length(30.0, 30.0, 20.0)], size=(30, 30, 75))


def keyed() -> Work:
    """Return a shaft with a key slot."""
    work = turned([Length(20.0, 20.0, 30.0), Length(30.0, 30.0, 50.0)], size=(30.0, 30.0, 80.0))
    slot(work, (15.0, 0.0, 55.0), 24.0, 8.0, 4.0, ends=("round", "round"), out=X, along=(0, 0, 1), simple=False)
    return work


def cross_drilled() -> Work:
    """Return a shaft with a cross hole."""
    work = turned([Length(20.0, 20.0, 30.0), Length(30.0, 30.0, 50.0)], size=(30.0, 30.0, 80.0))
    drill(work, (15.0, 0.0, 60.0), 6.0, 30.0, out=X, bottom="through", over=5.0, simple=False)
    return work


def flatted() -> TopoDS_Shape:
    """Return a shaft with a flat milled over part of its length."""
    return cut(joined(rod((0, 0, 0), 20, 30), rod((0, 0, 30), 30, 50)), box((11, -20, 50), (20, 20, 90)))


def in_halves() -> TopoDS_Shape:
    """Return a shaft put together from two halves: each round is two faces of half a turn."""
    body = joined(rod((0, 0, 0), 20, 30), rod((0, 0, 30), 30, 50))
    return joined(cut(body, box((0, -20, -1), (20, 20, 90))), cut(body, box((-20, -20, -1), (0, 20, 90))))


def grooved() -> Work:
    """Return a shaft with a groove: the lengths on both sides of it are of one diameter."""
    work = turned([Length(30.0, 30.0, 50.0)], size=(30.0, 30.0, 50.0))
    outer_groove(work, (0.0, 0.0, 20.0), 30.0, 26.0, 3.0, axis=(0.0, 0.0, 1.0))
    return work


def bushed() -> Work:
    """Return a bush: outside 40, bored 25."""
    work = turned([Length(40.0, 40.0, 30.0)], size=(40.0, 40.0, 30.0))
    drill(work, (0.0, 0.0, 30.0), 25.0, 30.0, bottom="through")
    return work


FIRES = [
    pytest.param(shaft, [length(20.0, 30.0), length(30.0, 25.0), length(16.0, 18.0)], id="three-diameters"),
    pytest.param(
        tapered,
        [length(20.0, 30.0), length(30.0, 25.0, math.degrees(math.atan(0.2))), length(30.0, 20.0)],
        id="taper",
    ),
    pytest.param(keyed, [length(20.0, 30.0), length(30.0, 50.0)], id="key-slot"),
    pytest.param(cross_drilled, [length(20.0, 30.0), length(30.0, 50.0)], id="cross-hole"),
    pytest.param(flatted, [length(20.0, 30.0), length(30.0, 50.0)], id="flat"),
    pytest.param(in_halves, [length(20.0, 30.0), length(30.0, 50.0)], id="in-two-halves"),
    pytest.param(grooved, [length(30.0, 50.0)], id="on-both-sides-of-a-groove"),
    pytest.param(bushed, [length(40.0, 30.0)], id="bush"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "expected"), FIRES)
def test_a_turned_length_is_found_with_its_numbers(build: Build, expected: list[Said], pose: str) -> None:
    """Each diameter of the outline is one feature, however milling and grooves cut into it."""
    facts = recognised(build, POSES[pose])
    assert differences(expected, of_family(facts, OuterRound)) == []
    assert every_face_once(facts)


def with_boss() -> Work:
    """Return a plate with a round boss."""
    work = plate()
    round_boss(work, (21.0, 17.0, 20.0), 10.0, 6.0)
    return work


def rounded() -> Work:
    """Return a plate with two rounded upright edges."""
    work = plate()
    round_edges(work, [(0.0, 0.0, 10.0)], 8.0)
    round_edges(work, [(60.0, 40.0, 10.0)], 8.0)
    return work


def bored() -> Work:
    """Return a plate with a large bore."""
    work = plate()
    drill(work, (30.0, 20.0, 20.0), 34.0, 20.0, bottom="through")
    return work


def link() -> TopoDS_Shape:
    """Return a flat link with two half-round ends: milled, though its ends are round."""
    return joined(box((0, -10, 0), (60, 10, 8)), rod((0, 0, 0), 20, 8), rod((60, 0, 0), 20, 8))


SILENT = [
    pytest.param(plate, id="plain-block"),
    pytest.param(with_boss, id="boss"),
    pytest.param(rounded, id="rounded-corners"),
    pytest.param(bored, id="bore"),
    pytest.param(link, id="round-ended-link"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), rod((30, 0, -1), 30, 30)), id="half-round-notch"),
    pytest.param(
        lambda: joined(box((0, 0, 0), (80, 60, 10)), rod((30, 30, 10), 30, 5), rod((60, 30, 10), 10, 5)),
        id="two-bosses",
    ),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 30)), rod((20, 20, 8), 10, 12)), id="closed-cavity"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", SILENT)
def test_what_is_not_turned_is_not_taken_for_it(build: Build, pose: str) -> None:
    """Bosses, rounded corners, bores and links of milled parts are no turned lengths."""
    facts = recognised(build, POSES[pose])
    assert listed(of_family(facts, OuterRound)) == []
    assert every_face_once(facts)


def test_the_callout() -> None:
    """Diameter and length."""
    assert sorted(each.callout() for each in of_family(recognised(keyed), OuterRound)) == ["⌀20 × 30", "⌀30 × 50"]
