"""Edge rounds: rounded outside edges, one feature for each chain of one radius; and round faces that are none."""

import pytest
from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet
from OCP.TopoDS import TopoDS_Shape

from analyzers.features.edge_round import EdgeRound
from fixtures.make.vocabulary.blends import chamfer_edges, edges_at, fillet_edges, round_edges
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.raised import round_boss
from fixtures.make.vocabulary.recesses import pocket, step
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
    of_family,
    plate,
    recognised,
    rod,
)

TOP = 20.0
RIM = [(30.0, 0.0, TOP), (60.0, 20.0, TOP), (30.0, 40.0, TOP), (0.0, 20.0, TOP)]
UPRIGHT = [(0.0, 0.0, 10.0), (60.0, 0.0, 10.0), (60.0, 40.0, 10.0), (0.0, 40.0, 10.0)]


def rounded(radius: float, **more: object) -> Said:
    """Return what is said of one chain."""
    return {"kind": "edge_round", "radius_mm": radius, "variable": False} | more


def on(points: list[tuple[float, float, float]], radius: float = 3.0) -> Build:
    """Return the plate with these edges rounded in one go."""

    def build() -> Work:
        work = plate()
        round_edges(work, points, radius)
        return work

    return build


def corners() -> Work:
    """Return the plate with its four upright corners rounded, each by itself."""
    work = plate()
    for point in UPRIGHT:
        round_edges(work, [point], 6.0)
    return work


def corners_then_rim() -> Work:
    """Return the plate with rounded corners of 8 and then a rounded rim of 2: eight faces in one ring."""
    work = plate()
    for point in UPRIGHT:
        round_edges(work, [point], 8.0)
    round_edges(work, [(30.0, 0.0, TOP)], 2.0)
    return work


def boss_top() -> Work:
    """Return a round boss whose top is rounded: a torus."""
    work = plate()
    round_boss(work, (21.0, 17.0, TOP), 10.0, 6.0)
    round_edges(work, [(21.0, 22.0, TOP + 6.0)], 1.0)
    return work


def pocket_rim() -> Work:
    """Return a pocket whose mouth is rounded all round."""
    work = plate()
    pocket(work, (30.0, 20.0, TOP), 34.0, 24.0, 9.0, corner_radius=5.0)
    round_edges(work, [(30.0, 8.0, TOP)], 1.5)
    return work


def hole_mouth() -> Work:
    """Return a hole whose mouth is rounded."""
    work = plate()
    drill(work, (25.0, 20.0, TOP), 12.0, 20.0, bottom="through")
    round_edges(work, [(25.0, 26.0, TOP)], 1.5)
    return work


def variable() -> TopoDS_Shape:
    """Return the plate with an edge round that grows from 1 to 4."""
    shape = plate().shape
    maker = BRepFilletAPI_MakeFillet(shape)
    maker.Add(1.0, 4.0, edges_at(shape, [(30.0, 0.0, TOP)])[0])
    return maker.Shape()


def shaft_end() -> Work:
    """Return a shaft with a rounded end."""
    work = turned([Length(30.0, 30.0, 40.0)], size=(30.0, 30.0, 40.0))
    round_edges(work, [(0.0, 15.0, 40.0)], 2.5)
    return work


def acute() -> Work:
    """Return a bar of triangular profile with its sharp ridge of 60 degrees rounded."""
    work = bar([(0.0, 0.0), (40.0, 0.0), (20.0, 34.641016151377544)], 30.0, (40.0, 30.0, 34.64))
    round_edges(work, [(20.0, 15.0, 34.641016151377544)], 2.0)
    return work


def in_halves() -> TopoDS_Shape:
    """Return a rounded edge put together from two halves along it."""
    work = plate()
    round_edges(work, [(30.0, 0.0, TOP)], 3.0)
    return joined(cut(work.shape, box((30, -1, -1), (61, 41, 30))), cut(work.shape, box((-1, -1, -1), (30, 41, 30))))


FIRES = [
    pytest.param(on([RIM[0]]), [rounded(3.0, n_faces=1)], id="one-edge"),
    pytest.param(on(RIM), [rounded(3.0, n_faces=4)], id="rim"),
    pytest.param(on([RIM[0], RIM[1], UPRIGHT[1]]), [rounded(3.0, n_faces=4)], id="three-edges-and-their-corner"),
    pytest.param(on([*RIM, *UPRIGHT]), [rounded(3.0, n_faces=12)], id="rim-and-uprights"),
    pytest.param(corners, [rounded(6.0)] * 4, id="four-corners"),
    pytest.param(corners_then_rim, [rounded(8.0)] * 4 + [rounded(2.0, n_faces=8)], id="corners-and-rim"),
    pytest.param(boss_top, [rounded(1.0, n_faces=1)], id="top-of-a-boss"),
    pytest.param(pocket_rim, [rounded(1.5, n_faces=8)], id="mouth-of-a-pocket"),
    pytest.param(hole_mouth, [rounded(1.5, n_faces=1)], id="mouth-of-a-hole"),
    pytest.param(variable, [{"kind": "edge_round", "variable": True}], id="variable"),
    pytest.param(shaft_end, [rounded(2.5, n_faces=1)], id="end-of-a-shaft"),
    pytest.param(acute, [rounded(2.0, n_faces=1)], id="acute-ridge"),
    pytest.param(in_halves, [rounded(3.0, n_faces=2)], id="in-two-halves"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "expected"), FIRES)
def test_an_edge_round_is_found_with_its_radius(build: Build, expected: list[Said], pose: str) -> None:
    """Each chain of rounds of one radius, corner patches included, is one feature."""
    facts = recognised(build, POSES[pose])
    assert differences(expected, of_family(facts, EdgeRound)) == []
    assert every_face_once(facts)


def filleted() -> Work:
    """Return the plate with a filleted step."""
    work = plate()
    step(work, (30.0, 40.0, TOP), 60.0, 15.0, 8.0, side=(0.0, 1.0, 0.0))
    fillet_edges(work, [(30.0, 25.0, 12.0)], 3.0)
    return work


def chamfered() -> Work:
    """Return the plate with a chamfer."""
    work = plate()
    chamfer_edges(work, [(30.0, 0.0, TOP)], 2.0)
    return work


def bossed() -> Work:
    """Return the plate with a sharp round boss."""
    work = plate()
    round_boss(work, (21.0, 17.0, TOP), 10.0, 6.0)
    return work


def pocketed() -> Work:
    """Return the plate with a pocket of round corners and floor."""
    work = plate()
    pocket(work, (30.0, 20.0, TOP), 34.0, 24.0, 9.0, corner_radius=5.0, floor_radius=2.0)
    return work


SILENT = [
    pytest.param(plate, id="plain-block"),
    pytest.param(filleted, id="fillet"),
    pytest.param(chamfered, id="chamfer"),
    pytest.param(bossed, id="boss"),
    pytest.param(pocketed, id="inside-corners"),
    pytest.param(lambda: turned([Length(20, 20, 30), Length(30, 30, 25)], size=(30.0, 30.0, 55.0)), id="shaft"),
    pytest.param(
        lambda: joined(box((0, -10, 0), (60, 10, 8)), rod((0, 0, 0), 20, 8), rod((60, 0, 0), 20, 8)),
        id="half-round-ends",
    ),
    pytest.param(lambda: cut(box((0, 0, 0), (60, 40, 20)), rod((30, 20, -1), 12, 30)), id="hole"),
    pytest.param(lambda: turned([Length(20, 20, 30), Length(20, 30, 25)], size=(30.0, 30.0, 55.0)), id="taper"),
    pytest.param(
        lambda: bar([(0, 0), (60, 0), (60, 10), (45, 22), (15, 22), (0, 10)], 30.0, (60.0, 30.0, 22.0)), id="roof"
    ),
    pytest.param(
        lambda: joined(
            box((0, 0, 0), (60, 40, 20)), cut(rod((60, 0, 10), 20, 40, (0, 1, 0)), box((0, 0, 0), (60, 40, 20)))
        ),
        id="half-round-side",
    ),
    pytest.param(
        lambda: cut(joined(box((0, 0, 0), (60, 40, 20))), rod((-1, 20, 20), 10, 70, (1, 0, 0))), id="round-channel"
    ),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", SILENT)
def test_what_is_no_edge_round_is_not_taken_for_one(build: Build, pose: str) -> None:
    """Fillets, bosses, shafts, round ends and tapers are no edge rounds."""
    facts = recognised(build, POSES[pose])
    assert listed(of_family(facts, EdgeRound)) == []
    assert every_face_once(facts)


def test_a_growing_round_names_its_least_and_largest_radius() -> None:
    """From 1 to 4, as it was made; the kernel follows that within a hundredth."""
    (found,) = of_family(recognised(variable), EdgeRound)
    assert isinstance(found, EdgeRound)
    assert found.radius_mm == pytest.approx(1.0, abs=0.05)
    assert found.largest_radius_mm == pytest.approx(4.0, abs=0.05)


def test_the_callout() -> None:
    """A radius as drawings write it."""
    (found,) = of_family(recognised(on([RIM[0]])), EdgeRound)
    assert found.callout() == "R3"
