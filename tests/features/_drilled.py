"""Drilled parts: each the smallest that shows one way in which holes come."""

import math

from OCP.TopoDS import TopoDS_Shape

from fixtures.make.vocabulary.blends import chamfer_edges, fillet_edges
from fixtures.make.vocabulary.draw import line
from fixtures.make.vocabulary.edge_bites import bite
from fixtures.make.vocabulary.holes import counterbore, countersink, drill, stepped
from fixtures.make.vocabulary.recesses import pocket, slot
from fixtures.make.vocabulary.rings import inner_groove
from fixtures.make.vocabulary.stock import Length, turned
from fixtures.make.vocabulary.work import Work
from tests.features._bench import (
    Build,
    box,
    cut,
    joined,
    merged,
    plate,
    rod,
    swept,
    taper,
)

TOP = 20.0  # of the plate


def drilled(bottom: str, depth: float = 12.0, point: float = 118.0) -> Build:
    """Return the plate with one plain hole of 6 mm, off its middle."""

    def build() -> Work:
        work = plate()
        drill(work, (17.0, 13.0, TOP), 6.0, depth, bottom=bottom, point_angle=point)
        return work

    return build


def halves() -> TopoDS_Shape:
    """Return a drilled plate put together from two halves: the bore's wall is two faces of half a turn."""
    left = cut(box((0, 0, 0), (17, 40, 20)), rod((17, 13, -1), 6, 30))
    right = cut(box((17, 0, 0), (60, 40, 20)), rod((17, 13, -1), 6, 30))
    return joined(left, right)


def quarters() -> TopoDS_Shape:
    """Return a drilled plate put together from four blocks: four faces of a quarter turn."""
    tool = rod((17, 13, -1), 6, 30)
    corners = [((0, 0), (17, 13)), ((17, 0), (60, 13)), ((0, 13), (17, 40)), ((17, 13), (60, 40))]
    return joined(*[cut(box((*low, 0), (*high, 20)), tool) for low, high in corners])


def layers() -> TopoDS_Shape:
    """Return a drilled plate put together from two layers: the bore's wall is two faces one above the other."""
    return joined(*[cut(box((0, 0, z), (60, 40, z + 10)), rod((17, 13, -1), 6, 30)) for z in (0, 10)])


def layered_counterbore() -> TopoDS_Shape:
    """Return a counterbored plate in two layers and halves at once."""
    tools = [rod((17, 13, -1), 6, 30), rod((17, 13, 15), 11, 10)]
    blocks = [
        ((0, 0, 0), (17, 40, 8)),
        ((17, 0, 0), (60, 40, 8)),
        ((0, 0, 8), (17, 40, 20)),
        ((17, 0, 8), (60, 40, 20)),
    ]
    return joined(*[cut(box(low, high), *tools) for low, high in blocks])


def across_a_slot() -> Work:
    """Return a block with a slot through its middle height, drilled across it: both walls are one drilling."""
    work = plate((60.0, 40.0, 30.0))
    slot(work, (0.0, 20.0, 15.0), 40.0, 8.0, 60.0, out=(-1.0, 0.0, 0.0), along=(0.0, 1.0, 0.0), over=5.0)
    return work


def fork() -> TopoDS_Shape:
    """Return a fork whose two lugs are drilled in one go: 10 mm each, 12 mm of air between."""
    body = cut(box((0, 0, 0), (60, 32, 30)), box((20, 10, -1), (61, 22, 31)))
    return cut(body, rod((45, -1, 15), 9, 40, (0, 1, 0)))


def window() -> TopoDS_Shape:
    """Return a block with a bore that a window from the side opens over part of its turn and length."""
    return cut(box((0, 0, 0), (60, 40, 30)), rod((20, 15, -1), 10, 40), box((15, -1, 10), (25, 15, 20)))


def crossed() -> Work:
    """Return a block with a bore that a larger one crosses in its middle."""
    work = plate((60.0, 40.0, 30.0))
    drill(work, (20.0, 20.0, 30.0), 6.0, 30.0, bottom="through")
    drill(work, (20.0, 40.0, 15.0), 10.0, 40.0, out=(0.0, 1.0, 0.0), bottom="through", simple=False)
    return work


def equal_crossed() -> Work:
    """Return a block with two bores of one diameter whose axes cross."""
    work = plate((60.0, 40.0, 30.0))
    drill(work, (20.0, 20.0, 30.0), 8.0, 30.0, bottom="through")
    drill(work, (20.0, 40.0, 15.0), 8.0, 40.0, out=(0.0, 1.0, 0.0), bottom="through", simple=False)
    return work


def manifold() -> Work:
    """Return a block with a long gallery and two drillings that end in it from above."""
    work = plate((80.0, 40.0, 30.0))
    drill(work, (0.0, 20.0, 12.0), 10.0, 80.0, out=(-1.0, 0.0, 0.0), bottom="through")
    for x in (22.0, 55.0):
        drill(work, (x, 20.0, 30.0), 6.0, 13.0, bottom="into_void", void_radius=5.0, simple=False)
    return work


def in_a_pocket() -> Work:
    """Return a plate with a pocket and a through hole in the pocket's floor."""
    work = plate()
    pocket(work, (30.0, 20.0, TOP), 30.0, 20.0, 8.0, corner_radius=4.0)
    drill(work, (33.0, 18.0, 12.0), 5.0, 12.0, bottom="through")
    return work


def on_a_slope(lean_deg: float, foot: float = -1.0) -> Build:
    """Return a wedge whose slope is drilled straight down at its middle, as far down as `foot`."""

    def build() -> TopoDS_Shape:
        rise = 40.0 * math.tan(math.radians(lean_deg))
        profile = [(0.0, 0.0, 10.0), (40.0, 0.0, 10.0), (40.0, 0.0, 10.0 + rise)]
        edges = [line(a, b) for a, b in zip(profile, [*profile[1:], profile[0]], strict=True)]
        return cut(joined(box((0, 0, 0), (40, 30, 10)), swept(edges, (0.0, 30.0, 0.0))), rod((20, 13, foot), 7, 90))

    return build


def into_a_shaft() -> Work:
    """Return a shaft of 40 mm with a blind flat hole square to its axis, its middle at the crown."""
    work = turned([Length(40.0, 40.0, 60.0)], size=(40.0, 40.0, 60.0))
    drill(
        work, (20.0, 0.0, 25.0), 8.0, 12.0, out=(1.0, 0.0, 0.0), bottom="flat", entry="curved", over=5.0, simple=False
    )
    return work


def bitten(inside: float) -> Build:
    """Return the plate with a round bite of 8 mm at its border, the axis so far inside the side face."""

    def build() -> Work:
        work = plate()
        bite(work, (25.0, 0.0, TOP), 8.0, 20.0, inside=inside, side=(0.0, -1.0, 0.0))
        return work

    return build


def broken_edge() -> Work:
    """Return a through hole whose mouth is chamfered by 0.5."""
    work = plate()
    drill(work, (17.0, 13.0, TOP), 6.0, 20.0, bottom="through")
    chamfer_edges(work, [(17.0, 16.0, TOP)], 0.5)
    return work


def from_both_sides() -> Work:
    """Return two blind holes on one axis with 6 mm of material between."""
    work = plate()
    drill(work, (17.0, 13.0, TOP), 6.0, 7.0, bottom="flat")
    drill(work, (17.0, 13.0, 0.0), 6.0, 7.0, out=(0.0, 0.0, -1.0), bottom="flat")
    return work


def keyed() -> TopoDS_Shape:
    """Return a bored block with a keyway along the whole bore."""
    return cut(box((0, 0, 0), (60, 40, 20)), rod((25, 20, -1), 20, 30), box((22, 20, -1), (28, 33, 21)))


def overlapping() -> TopoDS_Shape:
    """Return two holes of 10 mm whose axes are 8 mm apart: each keeps 360 - 2 acos(0.8) = 286 degrees."""
    return cut(box((0, 0, 0), (60, 40, 20)), rod((20, 20, -1), 10, 30), rod((28, 20, -1), 10, 30))


def grooved_bore() -> Work:
    """Return a bore with a retaining-ring groove in it."""
    work = plate()
    drill(work, (25.0, 20.0, TOP), 20.0, 20.0, bottom="through")
    inner_groove(work, (25.0, 20.0, 8.0), 20.0, 24.0, 2.0, axis=(0.0, 0.0, 1.0))
    return work


def bull_nosed() -> Work:
    """Return a flat-bottomed hole with a rounded floor edge, as a bull-nose end mill leaves it."""
    work = plate()
    drill(work, (25.0, 20.0, TOP), 16.0, 9.0, bottom="flat")
    fillet_edges(work, [(25.0, 28.0, 11.0)], 2.0)
    return work


def counterbored(bore_depth: float = 6.0, bottom: str = "through", depth: float = 20.0) -> Build:
    """Return the plate with a counterbored hole."""

    def build() -> Work:
        work = plate()
        counterbore(work, (17.0, 13.0, TOP), 6.6, depth, bore=11.0, bore_depth=bore_depth, bottom=bottom)
        return work

    return build


def countersunk(angle: float) -> Build:
    """Return the plate with a countersunk hole."""

    def build() -> Work:
        work = plate()
        countersink(work, (17.0, 13.0, TOP), 5.5, 20.0, sink=11.0, angle=angle)
        return work

    return build


def in_steps(*segments: tuple[float, float, float], bottom: str = "through") -> Build:
    """Return the plate with a hole of several lengths."""

    def build() -> Work:
        work = plate()
        stepped(work, (17.0, 13.0, TOP), segments, bottom=bottom)
        return work

    return build


def point_breaks_out() -> Work:
    """Return a plate drilled so deep that the drill's point of 118 degrees, 1.8 long, comes out below."""
    work = plate()
    drill(work, (17.0, 13.0, TOP), 6.0, 19.0)
    return work


def relieved() -> TopoDS_Shape:
    """Return a dish with four screw holes whose seats run into its round floor, each with a chamfer at its foot."""
    disc = cut(rod((0, 0, 0), 60, 15), rod((0, 0, 3), 36, 15), rod((0, 0, -1), 25, 30))
    for x, y in ((13.0, 13.0), (-13.0, 13.0), (-13.0, -13.0), (13.0, -13.0)):
        disc = cut(disc, rod((x, y, -1), 3.3, 10), rod((x, y, 3.5), 9, 20), taper((x, y, 3.0), 8, 9, 0.5))
    return merged(disc)
