"""Bosses: what stands up from a face, with its height and plan; and what does not."""

import pytest
from OCP.TopoDS import TopoDS_Shape

from analyzers.features.boss import Boss
from fixtures.make.vocabulary.blends import chamfer_edges, fillet_edges, round_edges
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.raised import round_boss, square_boss
from fixtures.make.vocabulary.recesses import Island, pocket, step
from fixtures.make.vocabulary.stock import Length, bar, turned
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
    looks,
    of_family,
    plate,
    recognised,
    rod,
    upright,
)

TOP = 20.0
ROUND = {"kind": "boss", "diameter_mm": 10.0, "length_mm": 10.0, "width_mm": 10.0, "height_mm": 6.0}
SQUARE = {"kind": "boss", "diameter_mm": None, "length_mm": 14.0, "width_mm": 9.0, "height_mm": 6.0}


def round_one() -> Work:
    """Return the plate with a round boss."""
    work = plate()
    round_boss(work, (21.0, 17.0, TOP), 10.0, 6.0)
    return work


def square_one() -> Work:
    """Return the plate with a rectangular boss that is turned in plan."""
    work = plate()
    square_boss(work, (28.0, 19.0, TOP), 14.0, 9.0, 6.0, along=(0.8, 0.6, 0.0))
    return work


def filleted_foot() -> Work:
    """Return a round boss whose foot is filleted."""
    work = round_one()
    fillet_edges(work, [(21.0, 22.0, TOP)], 1.5)
    return work


def chamfered_top() -> Work:
    """Return a round boss whose top edge is chamfered."""
    work = round_one()
    chamfer_edges(work, [(21.0, 22.0, TOP + 6.0)], 1.0)
    return work


def rounded_top() -> Work:
    """Return a round boss whose top edge is rounded."""
    work = round_one()
    round_edges(work, [(21.0, 22.0, TOP + 6.0)], 1.0)
    return work


def drilled_one() -> Work:
    """Return a round boss with a blind hole down its middle, deeper than the boss is tall."""
    work = round_one()
    drill(work, (21.0, 17.0, TOP + 6.0), 4.2, 11.0)
    return work


def two() -> Work:
    """Return a round and a rectangular boss side by side."""
    work = round_one()
    square_boss(work, (44.0, 20.0, TOP), 14.0, 9.0, 6.0)
    return work


def in_a_pocket() -> Work:
    """Return a pocket, 12 deep, with a round boss on its floor that stops 6 below the rim."""
    work = plate()
    pocket(work, (30.0, 20.0, TOP), 40.0, 28.0, 12.0, corner_radius=5.0)
    round_boss(work, (27.0, 19.0, TOP - 12.0), 10.0, 6.0)
    return work


def on_the_underside() -> Work:
    """Return a boss on the lower face."""
    work = plate()
    round_boss(work, (21.0, 17.0, 0.0), 10.0, 6.0, out=(0.0, 0.0, -1.0))
    return work


def stacked() -> Work:
    """Return a wide round boss that carries a narrow one."""
    work = plate()
    round_boss(work, (25.0, 20.0, TOP), 18.0, 4.0)
    round_boss(work, (25.0, 20.0, TOP + 4.0), 10.0, 6.0)
    return work


def in_halves() -> TopoDS_Shape:
    """Return a plate with a round boss, put together from two halves."""
    body = joined(box((0, 0, 0), (60, 40, 20)), rod((21, 17, 20), 10, 6))
    left = cut(body, box((21, -1, -1), (61, 41, 30)))
    right = cut(body, box((-1, -1, -1), (21, 41, 30)))
    return joined(left, right)


FIRES = [
    pytest.param(round_one, [ROUND], id="round"),
    pytest.param(square_one, [SQUARE], id="rectangular-turned-in-plan"),
    pytest.param(filleted_foot, [ROUND], id="filleted-foot"),
    pytest.param(chamfered_top, [ROUND], id="chamfered-top"),
    pytest.param(rounded_top, [ROUND], id="rounded-top"),
    pytest.param(drilled_one, [ROUND], id="drilled"),
    pytest.param(two, [ROUND, SQUARE], id="two"),
    pytest.param(in_a_pocket, [ROUND], id="below-the-rim-of-a-pocket"),
    pytest.param(on_the_underside, [ROUND], id="on-the-underside"),
    pytest.param(
        stacked,
        [{"kind": "boss", "diameter_mm": 18.0}, {"kind": "boss", "diameter_mm": 10.0, "height_mm": 6.0}],
        id="one-on-another",
    ),
    pytest.param(in_halves, [ROUND], id="in-two-halves"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "expected"), FIRES)
def test_a_boss_is_found_with_its_numbers(build: Build, expected: list[Said], pose: str) -> None:
    """Each boss that was put on is one feature with the numbers it was made with."""
    facts = recognised(build, POSES[pose])
    assert differences(expected, of_family(facts, Boss)) == []
    assert every_face_once(facts)


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", [round_one, filleted_foot, drilled_one], ids=["plain", "filleted", "drilled"])
def test_a_boss_points_from_its_foot_to_its_top(build: Build, pose: str) -> None:
    """The direction is that in which it stands."""
    (boss,) = of_family(recognised(build, POSES[pose]), Boss)
    assert looks(boss, POSES[pose], (0.0, 0.0, 1.0))


def island_to_the_rim() -> Work:
    """Return a pocket with an island as high as the rim: it belongs to the pocket."""
    work = plate()
    pocket(work, (30.0, 20.0, TOP), 40.0, 28.0, 8.0, corner_radius=5.0, islands=[Island(3.0, 2.0, 10.0)])
    return work


def rib() -> Work:
    """Return two pockets with a rib between."""
    work = plate()
    for x in (16.0, 44.0):
        pocket(work, (x, 20.0, TOP), 24.0, 30.0, 12.0, corner_radius=4.0)
    return work


def stepped() -> Work:
    """Return the plate with a step along one side."""
    work = plate()
    step(work, (30.0, 40.0, TOP), 60.0, 15.0, 8.0, side=(0.0, 1.0, 0.0))
    return work


def collared() -> Work:
    """Return a turned shaft with a collar."""
    lengths = [Length(16.0, 16.0, 20.0), Length(30.0, 30.0, 8.0), Length(16.0, 16.0, 25.0)]
    return turned(lengths, size=(30.0, 30.0, 53.0))


SILENT = [
    pytest.param(plate, id="plain-block"),
    pytest.param(island_to_the_rim, id="island-as-high-as-the-rim"),
    pytest.param(rib, id="rib-between-pockets"),
    pytest.param(stepped, id="step"),
    pytest.param(collared, id="collar-of-a-shaft"),
    pytest.param(
        lambda: bar([(0, 0), (40, 0), (40, 8), (8, 8), (8, 30), (0, 30)], 25.0, (40.0, 25.0, 30.0)), id="angle-bracket"
    ),
    pytest.param(
        lambda: bar([(0, 0), (60, 0), (60, 8), (34, 8), (34, 24), (26, 24), (26, 8), (0, 8)], 25.0, (60.0, 25.0, 24.0)),
        id="rib-from-side-to-side",
    ),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), rod((30, 20, 12), 16, 9)), id="round-recess"),
    pytest.param(
        lambda: joined(upright([(0, 0), (60, 0), (60, 40), (0, 40)], 0, 20), box((60, 10, 0), (70, 25, 20))),
        id="tab-flush-on-both-sides",
    ),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), box((20, 10, 5), (40, 30, 15))), id="closed-cavity"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", SILENT)
def test_what_is_no_boss_is_not_taken_for_one(build: Build, pose: str) -> None:
    """Islands as high as the rim, ribs, shoulders and brackets are no bosses."""
    facts = recognised(build, POSES[pose])
    assert listed(of_family(facts, Boss)) == []
    assert every_face_once(facts)


@pytest.mark.parametrize(
    ("build", "text"), [(round_one, "BOSS ⌀10 ↥6"), (square_one, "BOSS 14 × 9 ↥6")], ids=["round", "rectangular"]
)
def test_the_callout(build: Build, text: str) -> None:
    """Plan and height."""
    (boss,) = of_family(recognised(build), Boss)
    assert boss.callout() == text
