"""Holes as they come in manifolds, castings and fixtures: stepped from either side, met by others, on odd faces."""

import math

import pytest
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.gp import gp_Trsf
from OCP.TopoDS import TopoDS_Shape

from analyzers.features.hole import Hole
from tests.features._bench import (
    POSES,
    Build,
    Said,
    ball,
    box,
    common,
    cut,
    differences,
    every_face_once,
    joined,
    listed,
    of_family,
    recognised,
    ring,
    rod,
    shape_of,
    taper,
    upright,
)
from tests.kernel._solids import as_splines, shuffled

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
ROOT2 = math.sqrt(2.0)


def block(*tools: TopoDS_Shape, size: tuple[float, float, float] = (60.0, 40.0, 30.0)) -> TopoDS_Shape:
    """Return a block without the tools."""
    return cut(box((0, 0, 0), size), *tools)


def point(tip: tuple[float, float, float], diameter: float, angle_deg: float = 118.0) -> TopoDS_Shape:
    """Return the point of a drill that looks down, its tip at a place."""
    height = 0.5 * diameter / math.tan(math.radians(angle_deg) / 2)
    return taper(tip, 0.0, diameter, height)


def drill_down(x: float, y: float, diameter: float, full_to: float, top: float = 31.0) -> TopoDS_Shape:
    """Return a drill of 118 degrees that looks down, its full diameter from `full_to` up."""
    length = 0.5 * diameter / math.tan(math.radians(59.0))
    return joined(point((x, y, full_to - length), diameter), rod((x, y, full_to), diameter, top - full_to))


def bored_from_both_sides() -> TopoDS_Shape:
    """Return a block with a hole of 6 that is counterbored at both ends, unequally deep."""
    return block(rod((20, 15, -1), 6, 40), rod((20, 15, 24), 12, 10), rod((20, 15, -1), 12, 4))


def sunk_from_both_sides() -> TopoDS_Shape:
    """Return a block with a hole of 6 that is countersunk at both ends."""
    return block(rod((20, 15, -1), 6, 40), taper((20, 15, 27), 6, 12, 3), taper((20, 15, 0), 10, 6, 2))


def reduced_in_the_middle() -> TopoDS_Shape:
    """Return two wide bores from the two sides with a thin wall between that a narrow hole pierces: an orifice."""
    return block(rod((20, 15, -1), 3, 40), rod((20, 15, 17), 10, 20), rod((20, 15, -1), 10, 15))


def elbow() -> TopoDS_Shape:
    """Return a block with two drillings of one diameter that end in one another's axis, flat."""
    return block(rod((20, 20, 15), 8, 20), rod((20, 20, 15), 8, 41, X), rod((20, 20, 11), 8, 4))


def met_from_above(full_to: float) -> Build:
    """Return a blind flat bore of 8 from the side, at 12 height, that a drilling of 6 from above meets."""
    return lambda: block(rod((-1, 20, 12), 8, 31, X), drill_down(20, 20, 6, full_to))


def slanted_into_a_gallery() -> TopoDS_Shape:
    """Return a block with a gallery of 10 along x and a drilling of 5 at 45 degrees that ends in it."""
    way = (0.0, 1 / ROOT2, 1 / ROOT2)
    return block(rod((-1, 20, 10), 10, 62, X), rod((30, 20, 10), 5, 60, way))


def two_into_one() -> TopoDS_Shape:
    """Return a gallery that is met by one drilling from above and one from below on one axis: drilled in one go."""
    return block(rod((-1, 20, 15), 10, 62, X), rod((30, 20, 15), 5, 16), rod((30, 20, -1), 5, 16))


def across_a_pocket_wall() -> TopoDS_Shape:
    """Return a block with a pocket, and a hole from the side through both of the pocket's walls."""
    return block(box((20, 8, 10), (40, 32, 31)), rod((-1, 20, 20), 6, 62, X))


def into_a_pocket() -> TopoDS_Shape:
    """Return a block with a pocket and a hole from the side that ends in the pocket's wall: it is through."""
    return block(box((20, 8, 10), (40, 32, 31)), rod((-1, 20, 20), 6, 30, X))


def beside_a_pocket() -> TopoDS_Shape:
    """Return a hole that a pocket cuts open along part of its length; more than half of its turn stays."""
    return block(rod((20, 15, -1), 10, 40), box((23, 8, 15), (45, 22, 31)))


def counterbored_in_a_pocket() -> TopoDS_Shape:
    """Return a pocket with a counterbored hole in its floor."""
    return block(box((10, 8, 20), (50, 32, 31)), rod((30, 20, -1), 6.6, 40), rod((30, 20, 14), 11, 7))


def spotface_on_a_slope() -> TopoDS_Shape:
    """Return a bar with a sloped top and a hole whose head has a flat seat sunk into the slope."""
    body = cut(box((0, 0, 0), (60, 40, 40)), wedge_off())
    return cut(body, rod((30, 20, -1), 6.6, 60), rod((30, 20, 20), 14, 40))


def wedge_off() -> TopoDS_Shape:
    """Return what is above a slope of 20 degrees that is 30 high in the middle of 60."""
    rise = 30.0 * math.tan(math.radians(20.0))
    outline = [(-1.0, 30.0 + rise * 31 / 30), (61.0, 30.0 - rise * 31 / 30), (61.0, 60.0), (-1.0, 60.0)]
    return turned_up(upright(outline, -1.0, 41.0))


def turned_up(shape: TopoDS_Shape) -> TopoDS_Shape:
    """Return a shape drawn in xy and raised along z, as drawn in xz and raised along y."""
    turn = gp_Trsf()
    turn.SetValues(1, 0, 0, 0, 0, 0, 1, 0, 0, 1, 0, 0)
    return BRepBuilderAPI_Transform(shape, turn, True).Shape()


def radial_in_a_ring() -> TopoDS_Shape:
    """Return a thick ring with one radial hole from its outside into its bore."""
    body = cut(rod((0, 0, 0), 60, 20), rod((0, 0, -1), 30, 22))
    return cut(body, rod((0, 0, 10), 5, 40, X))


def across_a_tube() -> TopoDS_Shape:
    """Return a tube that is drilled across both of its walls in one go."""
    return cut(rod((0, 0, 0), 40, 60), rod((0, 0, -1), 30, 62), rod((-30, 0, 25), 6, 60, X))


def into_a_ball() -> TopoDS_Shape:
    """Return a ball with a blind flat hole towards its middle."""
    return cut(ball((0, 0, 0), 40), rod((0, 0, 8), 6, 20))


def into_a_torus() -> TopoDS_Shape:
    """Return a ring of round section with a blind hole square into its crown."""
    return cut(ring((0, 0, 0), 60, 20), rod((30, 0, 2), 5, 20))


def off_centre_on_a_shaft() -> TopoDS_Shape:
    """Return a shaft with a blind hole beside its axis: the drill meets the round surface at a slant."""
    return cut(rod((0, 0, 0), 40, 60), rod((4, 10, 25), 6, 30, X))


def blind_taper() -> TopoDS_Shape:
    """Return a blind taper bore of 1:10 with a flat bottom."""
    return block(taper((20, 15, 10), 8, 10.1, 21))


def taper_seat() -> TopoDS_Shape:
    """Return a tapered seat over a narrow through hole: two lengths."""
    return block(rod((20, 15, -1), 5, 40), taper((20, 15, 12), 8, 12.75, 19))


def through_a_rib() -> TopoDS_Shape:
    """Return three ribs on a base that are drilled in one go."""
    ribs = [box((x, 0, 10), (x + 5, 40, 40)) for x in (5, 25, 45)]
    return cut(joined(box((0, 0, 0), (60, 40, 10)), *ribs), rod((-1, 20, 25), 8, 62, X))


def stepped_fork() -> TopoDS_Shape:
    """Return a fork whose near lug has the clearance hole and whose far lug the tap drill, both on one axis."""
    body = cut(box((0, 0, 0), (60, 40, 30)), box((20, 15, -1), (61, 25, 31)))
    return cut(body, rod((45, -1, 15), 9, 17, Y), rod((45, 20, 15), 6.8, 30, Y))


def keyed_through(depth: float) -> Build:
    """Return a bore with two opposite keyways."""

    def build() -> TopoDS_Shape:
        half = 10 + depth
        return block(rod((30, 20, -1), 20, 40), box((30 - half, 17, -1), (30 + half, 23, 31)))

    return build


def plain(diameter: float, depth: float, bottom: str = "through", **more: object) -> Said:
    """Return what is said of a hole of one diameter."""
    return {"kind": "round_hole", "diameter_mm": diameter, "depth_mm": depth, "bottom": bottom} | more


def stepped(diameter: float, **more: object) -> Said:
    """Return what is said of a hole of several lengths."""
    return {"kind": "stepped_hole", "diameter_mm": diameter} | more


def bored(diameter: float, depth: float, wide: float, deep: float, **more: object) -> Said:
    """Return what is said of a counterbored hole."""
    own = {"diameter_mm": diameter, "depth_mm": depth, "counterbore_diameter_mm": wide, "counterbore_depth_mm": deep}
    return {"kind": "counterbore_hole"} | own | more


SAGITTA = 20.0 - math.sqrt(20.0**2 - 3.0**2)
ON_A_SLANT = math.degrees(math.asin(10.0 / 20.0))
FIRES = [
    pytest.param(bored_from_both_sides, [stepped(6.0, depth_mm=30.0, through=True)], id="counterbored-at-both-ends"),
    pytest.param(sunk_from_both_sides, [stepped(6.0, depth_mm=30.0, through=True)], id="countersunk-at-both-ends"),
    pytest.param(reduced_in_the_middle, [stepped(3.0, depth_mm=30.0, through=True)], id="orifice"),
    pytest.param(elbow, [{"kind": "round_hole", "diameter_mm": 8.0}] * 2, id="elbow"),
    pytest.param(met_from_above(13.0), [plain(8.0, 30.0, "flat"), plain(6.0, 14.0, "into_void")], id="point-in-a-void"),
    pytest.param(
        met_from_above(8.9),
        [plain(8.0, 30.0, "flat"), plain(6.0, 21.1, "conical", point_angle_deg=118.0)],
        id="point-beyond-a-void",
    ),
    pytest.param(
        slanted_into_a_gallery,
        [plain(10.0, 60.0), {"kind": "round_hole", "diameter_mm": 5.0, "bottom": "into_void", "entry_angle_deg": 45.0}],
        id="slanted-into-a-gallery",
    ),
    pytest.param(two_into_one, [plain(10.0, 60.0), plain(5.0, 30.0, n_faces=2)], id="above-and-below-a-gallery"),
    pytest.param(across_a_pocket_wall, [plain(6.0, 60.0, n_faces=2)], id="across-a-pocket"),
    pytest.param(into_a_pocket, [plain(6.0, 20.0)], id="into-a-pocket"),
    pytest.param(beside_a_pocket, [plain(10.0, 30.0)], id="cut-open-by-a-pocket"),
    pytest.param(counterbored_in_a_pocket, [bored(6.6, 20.0, 11.0, 6.0)], id="counterbored-in-a-pocket"),
    pytest.param(spotface_on_a_slope, [bored(6.6, 30.0, 14.0, 10.0)], id="seat-sunk-into-a-slope"),
    pytest.param(radial_in_a_ring, [plain(30.0, 20.0), plain(5.0, 15.0, "into_void", entry="curved")], id="radial"),
    pytest.param(across_a_tube, [plain(30.0, 60.0), plain(6.0, 40.0, n_faces=2, entry="curved")], id="across-a-tube"),
    pytest.param(into_a_ball, [plain(6.0, 12.0, "flat", entry="curved", entry_angle_deg=0.0)], id="into-a-ball"),
    pytest.param(into_a_torus, [plain(5.0, 8.0, "flat", entry="curved", entry_angle_deg=0.0)], id="into-a-torus"),
    pytest.param(
        off_centre_on_a_shaft,
        [plain(6.0, 20.0 * math.cos(math.radians(30.0)) - 4.0, "flat", entry="curved", entry_angle_deg=ON_A_SLANT)],
        id="off-centre-on-a-shaft",
    ),
    pytest.param(blind_taper, [stepped(8.0, depth_mm=20.0, bottom="flat", through=False)], id="blind-taper"),
    pytest.param(taper_seat, [stepped(5.0, depth_mm=30.0, through=True)], id="taper-seat"),
    pytest.param(through_a_rib, [plain(8.0, 45.0, n_faces=3)], id="through-three-ribs"),
    pytest.param(stepped_fork, [plain(9.0, 15.0), plain(6.8, 15.0)], id="two-diameters-across-a-fork"),
    pytest.param(keyed_through(3.0), [plain(20.0, 30.0)], id="two-keyways"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "expected"), FIRES)
def test_a_drilling_is_one_hole_with_its_numbers(build: Build, expected: list[Said], pose: str) -> None:
    """What was drilled in one go is one hole, whatever cuts across it and wherever it starts and ends."""
    facts = recognised(build, POSES[pose])
    assert differences(expected, of_family(facts, Hole)) == []
    assert every_face_once(facts)


@pytest.mark.parametrize(("build", "expected"), FIRES)
def test_it_is_so_however_the_file_is_written(build: Build, expected: list[Said]) -> None:
    """Every surface and curve a B-spline, and the faces in another order."""
    facts = recognised(lambda: shuffled(as_splines(shape_of(build)), 11))
    assert differences(expected, of_family(facts, Hole)) == []


def window(corner: float) -> TopoDS_Shape:
    """Return a block with a window whose corners are rounded: four quarter turns about four axes."""
    bar = cut(box((15, 10, -1), (45, 30, 31)))
    low, high = (15.0, 10.0), (45.0, 30.0)
    for x, y, sx, sy in ((*low, 1, 1), (high[0], low[1], -1, 1), (*high, -1, -1), (low[0], high[1], 1, -1)):
        square = box((min(x, x + sx * corner), min(y, y + sy * corner), -2), _far(x, y, sx, sy, corner))
        bar = cut(bar, cut(square, rod((x + sx * corner, y + sy * corner, -2), 2 * corner, 40)))
    return block(bar)


def _far(x: float, y: float, sx: int, sy: int, corner: float) -> tuple[float, float, float]:
    return (max(x, x + sx * corner), max(y, y + sy * corner), 40.0)


def socket() -> TopoDS_Shape:
    """Return a block with a hexagon socket whose mouth a cone eases."""
    corners = [(30 + 8 * math.cos(math.radians(a)), 20 + 8 * math.sin(math.radians(a))) for a in range(0, 360, 60)]
    return block(upright(corners, 18, 31), taper((30, 20, 26), 8, 18, 5))


def half_pipe_with_ends() -> TopoDS_Shape:
    """Return a block with a half-round trough that ends in quarter balls, as a ball cutter leaves it."""
    return block(rod((20, 20, 30), 10, 20, X), ball((20, 20, 30), 10), ball((40, 20, 30), 10))


def bearing_half() -> TopoDS_Shape:
    """Return the lower half of a split bearing: half a bore."""
    return block(rod((30, -1, 30), 30, 42, Y))


def cavity_with_a_neck_closed() -> TopoDS_Shape:
    """Return a closed void of two diameters, as an undercut casting has it: nothing leads in."""
    return block(rod((30, 20, 8), 12, 8), rod((30, 20, 16), 6, 6))


SILENT = [
    pytest.param(lambda: window(5.0), id="window-with-round-corners"),
    pytest.param(lambda: window(10.0), id="window-of-half-rounds"),
    pytest.param(socket, id="hexagon-socket"),
    pytest.param(half_pipe_with_ends, id="trough"),
    pytest.param(bearing_half, id="half-a-bore"),
    pytest.param(cavity_with_a_neck_closed, id="closed-void-of-two-diameters"),
    pytest.param(lambda: block(ball((30, 20, 30), 20)), id="half-ball"),
    pytest.param(lambda: block(ring((30, 20, 30), 24, 6)), id="ring-of-half-round-section"),
    pytest.param(lambda: cut(rod((0, 0, 0), 40, 20), rod((20, 0, -1), 10, 22)), id="bite-out-of-a-disc"),
    pytest.param(lambda: block(rod((60, 40, -1), 20, 32)), id="quarter-out-of-a-corner"),
    pytest.param(lambda: block(taper((30, 20, 24), 4, 30, 7)), id="dish"),
    pytest.param(lambda: joined(box((0, 0, 0), (60, 40, 10)), taper((30, 20, 10), 20, 12, 15)), id="tapered-boss"),
    pytest.param(
        lambda: cut(joined(rod((0, 0, 0), 30, 40), rod((0, 0, 40), 20, 20)), box((8, -20, -1), (20, 20, 70))),
        id="flat-on-a-shaft",
    ),
    pytest.param(lambda: block(common(rod((30, 20, 20), 20, 11), box((0, 0, 0), (30, 40, 31)))), id="half-moon-pocket"),
    pytest.param(
        lambda: joined(block(rod((30, 20, -1), 20, 40)), cut(rod((30, 20, 0), 20, 30), box((28, 0, -1), (60, 40, 31)))),
        id="d-shaped-window",
    ),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", SILENT)
def test_what_no_drill_made_is_no_hole(build: Build, pose: str) -> None:
    """Windows, sockets, troughs, halves of bores, voids and bulging rounds."""
    facts = recognised(build, POSES[pose])
    assert listed(of_family(facts, Hole)) == []
    assert every_face_once(facts)
