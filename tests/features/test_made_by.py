"""How a part is evidently made, with the reason."""

import pytest
from OCP.BRepBuilderAPI import BRepBuilderAPI_GTransform, BRepBuilderAPI_MakeEdge
from OCP.collections import Array1_gp_Pnt
from OCP.GeomAPI import GeomAPI_PointsToBSpline
from OCP.gp import gp_GTrsf, gp_Pnt
from OCP.TopoDS import TopoDS_Shape

from fixtures.make.vocabulary.blends import fillet_edges, round_edges
from fixtures.make.vocabulary.draw import line, revolved, wire
from fixtures.make.vocabulary.freeform import cut_above
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.raised import round_boss
from fixtures.make.vocabulary.recesses import pocket, slot
from fixtures.make.vocabulary.rings import inner_groove, outer_groove
from fixtures.make.vocabulary.stock import Length, bar, block, turned
from fixtures.make.vocabulary.work import Work
from tests.features._bench import (
    ASKEW,
    POSES,
    Build,
    ball,
    box,
    common,
    cut,
    joined,
    plate,
    recognised,
    rod,
    turned_axis,
    upright,
)

X = (1.0, 0.0, 0.0)
LENGTHS = [Length(20.0, 20.0, 30.0), Length(30.0, 30.0, 50.0)]


def shaft() -> Work:
    """Return a shaft of two diameters with a groove."""
    work = turned(LENGTHS, size=(30.0, 30.0, 80.0))
    outer_groove(work, (0.0, 0.0, 60.0), 30.0, 26.0, 3.0, axis=(0.0, 0.0, 1.0))
    return work


def bush() -> Work:
    """Return a bush with a groove in its bore."""
    work = turned([Length(40.0, 40.0, 30.0)], size=(40.0, 40.0, 30.0))
    drill(work, (0.0, 0.0, 30.0), 25.0, 30.0, bottom="through")
    inner_groove(work, (0.0, 0.0, 12.0), 25.0, 28.0, 2.0, axis=(0.0, 0.0, 1.0))
    return work


def disc() -> Work:
    """Return a flat disc with a bore: faced and bored."""
    work = turned([Length(80.0, 80.0, 8.0)], size=(80.0, 80.0, 8.0))
    drill(work, (0.0, 0.0, 8.0), 20.0, 8.0, bottom="through")
    return work


def keyed() -> Work:
    """Return a shaft with a key slot."""
    work = turned(LENGTHS, size=(30.0, 30.0, 80.0))
    slot(work, (15.0, 0.0, 55.0), 24.0, 8.0, 4.0, ends=("round", "round"), out=X, along=(0, 0, 1), simple=False)
    return work


def cross_drilled() -> Work:
    """Return a shaft with a cross hole."""
    work = turned(LENGTHS, size=(30.0, 30.0, 80.0))
    drill(work, (15.0, 0.0, 60.0), 6.0, 30.0, out=X, bottom="through", over=5.0, simple=False)
    return work


def flange() -> Work:
    """Return a disc with a bolt circle off its axis."""
    work = disc()
    for x, y in ((30.0, 0.0), (0.0, 30.0), (-30.0, 0.0), (0.0, -30.0)):
        drill(work, (x, y, 8.0), 6.0, 8.0, bottom="through")
    return work


def hexagon_head() -> TopoDS_Shape:
    """Return a shaft with a hexagon milled on its end."""
    corners = [(13.0, 7.5), (0.0, 15.0), (-13.0, 7.5), (-13.0, -7.5), (0.0, -15.0), (13.0, -7.5)]
    head = common(rod((0, 0, 60), 30, 15), upright(corners, 59, 76))
    return joined(rod((0, 0, 0), 30, 60), head)


def pocketed() -> Work:
    """Return a plate with pockets."""
    work = plate()
    pocket(work, (30.0, 20.0, 20.0), 34.0, 24.0, 9.0, corner_radius=5.0)
    return work


def bossed() -> Work:
    """Return a plate with one round boss."""
    work = plate()
    round_boss(work, (21.0, 17.0, 20.0), 10.0, 6.0)
    return work


def bored() -> Work:
    """Return a plate with a large bore: boring it makes no turned part."""
    work = plate()
    drill(work, (30.0, 20.0, 20.0), 34.0, 20.0, bottom="through")
    return work


def round_cornered() -> Work:
    """Return a plate with round corners."""
    work = plate()
    for point in ((0.0, 0.0, 10.0), (60.0, 0.0, 10.0), (60.0, 40.0, 10.0), (0.0, 40.0, 10.0)):
        round_edges(work, [point], 12.0)
    return work


def link() -> TopoDS_Shape:
    """Return a flat link with round ends."""
    return joined(box((0, -10, 0), (60, 10, 8)), rod((0, 0, 0), 20, 8), rod((60, 0, 0), 20, 8))


def free_top() -> Work:
    """Return a thin body, most of whose surface is free."""
    work = block((60.0, 40.0, 60.0))
    cut_above(work, (60.0, 40.0), lambda x, y: 45.0 - ((x - 30.0) / 7.0) ** 2 - ((y - 20.0) / 5.0) ** 2)
    return work


def bent_sheet() -> Work:
    """Return a sheet of 2 mm bent by 90 degrees with an inside radius of 3."""
    work = bar([(0, 0), (60, 0), (60, 2), (2, 2), (2, 40), (0, 40)], 50.0, (60.0, 50.0, 40.0))
    fillet_edges(work, [(2.0, 25.0, 2.0)], 3.0)
    round_edges(work, [(0.0, 25.0, 0.0)], 5.0)
    return work


def blown() -> TopoDS_Shape:
    """Return an ellipsoid: free all over."""
    stretch = gp_GTrsf()
    stretch.SetValue(1, 1, 1.7)
    return BRepBuilderAPI_GTransform(ball((0, 0, 0), 30), stretch, True).Shape()


def vase() -> TopoDS_Shape:
    """Return a body whose outline is one free curve turned about z."""
    poles = [(0, 10), (20, 16), (40, 7), (60, 12)]
    points = Array1_gp_Pnt(1, len(poles))
    for row, (z, r) in enumerate(poles, start=1):
        points.SetValue(row, gp_Pnt(r, 0.0, z))
    curve = GeomAPI_PointsToBSpline(points).Curve()
    sides = [BRepBuilderAPI_MakeEdge(curve).Edge(), line((12, 0, 60), (0, 0, 60))]
    return revolved(wire([*sides, line((0, 0, 60), (0, 0, 0)), line((0, 0, 0), (10, 0, 0))]))


def flats() -> TopoDS_Shape:
    """Return a shaft with two opposite flats for a wrench."""
    return cut(rod((0, 0, 0), 30, 80), box((11, -20, 50), (20, 20, 70)), box((-20, -20, 50), (-11, 20, 70)))


MADE = [
    pytest.param(plate, "milled", id="block"),
    pytest.param(pocketed, "milled", id="pocketed-plate"),
    pytest.param(bossed, "milled", id="plate-with-a-boss"),
    pytest.param(bored, "milled", id="plate-with-a-bore"),
    pytest.param(round_cornered, "milled", id="round-cornered-plate"),
    pytest.param(link, "milled", id="round-ended-link"),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 30)), box((2, 2, 2), (58, 38, 31))), "milled", id="thin-box"),
    pytest.param(shaft, "turned", id="shaft"),
    pytest.param(bush, "turned", id="bush"),
    pytest.param(disc, "turned", id="disc"),
    pytest.param(lambda: turned([Length(20, 30, 60)], size=(30.0, 30.0, 60.0)), "turned", id="cone"),
    pytest.param(lambda: ball((0, 0, 0), 30), "turned", id="ball"),
    pytest.param(lambda: cut(ball((0, 0, 0), 30), rod((0, 0, -20), 8, 40)), "turned", id="bored-ball"),
    pytest.param(lambda: cut(ball((0, 0, 0), 30), box((-20, -20, 9), (20, 20, 20))), "turned", id="ball-with-a-flat"),
    pytest.param(vase, "turned", id="free-contour"),
    pytest.param(flats, "mill_turned", id="shaft-with-two-flats"),
    pytest.param(lambda: common(ball((0, 0, 0), 30), box((-9, -9, -9), (9, 9, 9))), "milled", id="trimmed-ball"),
    pytest.param(
        lambda: joined(box((0, 0, 0), (60, 40, 20)), ball((30, 20, 20), 20)), "milled", id="plate-with-a-dome"
    ),
    pytest.param(keyed, "mill_turned", id="keyed-shaft"),
    pytest.param(cross_drilled, "mill_turned", id="cross-drilled-shaft"),
    pytest.param(flange, "mill_turned", id="flange-with-a-bolt-circle"),
    pytest.param(hexagon_head, "mill_turned", id="hexagon-on-a-shaft"),
    pytest.param(bent_sheet, "not_machined", id="bent-sheet"),
    pytest.param(blown, "not_machined", id="ellipsoid"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "process"), MADE)
def test_the_process_is_seen(build: Build, process: str, pose: str) -> None:
    """Milled, turned, both, or no machined part; and why, in words."""
    made = recognised(build, POSES[pose]).made_by
    assert made.process == process, made.why
    assert len(made.why) > 10


@pytest.mark.parametrize("build", [shaft, bush, disc, keyed, flange], ids=["shaft", "bush", "disc", "keyed", "flange"])
def test_the_turning_axis_is_named(build: Build) -> None:
    """Along z as built, in either sense, wherever the part lies."""
    axis = recognised(build, ASKEW).made_by.axis
    assert axis is not None
    assert turned_axis(axis, ASKEW, (0.0, 0.0, 1.0))


def test_a_milled_part_has_no_axis() -> None:
    """No axis is made up for what does not turn."""
    assert recognised(pocketed).made_by.axis is None
