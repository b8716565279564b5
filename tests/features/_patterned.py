"""Parts with rows, circles and mirror images, whole ones and ones that lack something."""

import math
from collections.abc import Sequence

import numpy as np
from OCP.TopoDS import TopoDS_Shape

from fixtures.make.vocabulary.blends import chamfer_edges, fillet_edges
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.raised import round_boss
from fixtures.make.vocabulary.recesses import pocket, slot, step
from fixtures.make.vocabulary.stock import Length, bar, block, outline, turned
from fixtures.make.vocabulary.work import Vec, Work

Spot = tuple[float, float]
Made = Work | TopoDS_Shape

PLATE: Vec = (120.0, 80.0, 12.0)
MIDDLE: Spot = (60.0, 40.0)
CORNERS: tuple[Spot, ...] = ((12.0, 10.0), (108.0, 10.0), (12.0, 70.0), (108.0, 70.0))
RIM = 12.0


def on_circle(count: int, radius: float, start_deg: float = 15.0, centre: Spot = (0.0, 0.0)) -> list[Spot]:
    """Return the places of a bolt circle."""
    turns = [math.radians(start_deg + 360.0 * index / count) for index in range(count)]
    return [(centre[0] + radius * math.cos(turn), centre[1] + radius * math.sin(turn)) for turn in turns]


def in_grid(columns: int, rows: int, pitch: Spot = (20.0, 15.0), low: Spot = (20.0, 20.0)) -> list[Spot]:
    """Return the places of a grid, row by row."""
    return [(low[0] + pitch[0] * x, low[1] + pitch[1] * y) for y in range(rows) for x in range(columns)]


def without(spots: Sequence[Spot], *index: int) -> list[Spot]:
    """Return the places but for some."""
    return [spot for number, spot in enumerate(spots) if number not in index]


def jittered(spots: Sequence[Spot], by_mm: float = 1e-3, seed: int = 7) -> list[Spot]:
    """Return the places each off by up to a length, as an exporter that rounds leaves them."""
    noise = np.random.default_rng(seed).uniform(-by_mm, by_mm, (len(spots), 2)).tolist()
    return [(x + dx, y + dy) for (x, y), (dx, dy) in zip(spots, noise, strict=True)]


def flange(spots: Sequence[Spot], diameter: float = 6.6, odd: dict[int, float] | None = None) -> Work:
    """Return a disc of 100 with a bore and through holes; `odd`: another diameter for some of them."""
    work = turned([Length(100.0, 100.0, RIM)], size=(100.0, 100.0, RIM))
    drill(work, (0.0, 0.0, RIM), 30.0, RIM, bottom="through")
    for number, (x, y) in enumerate(spots):
        drill(work, (x, y, RIM), (odd or {}).get(number, diameter), RIM, bottom="through")
    return work


def drilled_plate(spots: Sequence[Spot], diameter: float = 5.0, depth: float | None = None, **odd: float) -> Work:
    """Return a plate with through holes, or blind ones; `odd`: "h3=5.5" gives the fourth another diameter."""
    work = block(PLATE)
    for number, (x, y) in enumerate(spots):
        bottom = "through" if depth is None else "conical"
        drill(work, (x, y, RIM), odd.get(f"h{number}", diameter), depth or RIM, bottom=bottom)
    return work


def long_plate(left: Sequence[Spot], right: Sequence[Spot]) -> Work:
    """Return a plate of 240 x 80 whose outline is symmetric about x = 120 only, with holes."""
    work = outline([(0.0, 0.0), (240.0, 0.0), (220.0, 80.0), (20.0, 80.0)], RIM, (240.0, 80.0, RIM))
    for x, y in [*left, *right]:
        drill(work, (x, y, RIM), 5.0, RIM, bottom="through")
    return work


def upside_down_t(left: float, right: float, holes: bool = True) -> Work:
    """Return an upside-down T, symmetric about x = 60, with fillets of the two radii (0 = sharp) in its corners."""
    work = block((120.0, 50.0, 50.0))
    step(work, (0.0, 25.0, 50.0), 50.0, 50.0, 38.0, side=(-1.0, 0.0, 0.0), floor_radius=left)
    step(work, (120.0, 25.0, 50.0), 50.0, 50.0, 38.0, side=(1.0, 0.0, 0.0), floor_radius=right)
    for x in (18.0, 102.0) if holes else ():
        for y in (12.0, 38.0):
            drill(work, (x, y, 12.0), 9.0, 12.0, bottom="through")
    return work


def two_pockets(depths: Spot = (6.0, 6.0), corners: Spot = (4.0, 4.0), second: bool = True, holes: bool = True) -> Work:
    """Return a plate with a pocket left and one right of x = 60."""
    work = block(PLATE)
    for x, depth, corner in zip((32.0, 88.0)[: 2 if second else 1], depths, corners, strict=False):
        pocket(work, (x, 34.0, RIM), 36.0, 30.0, depth, corner_radius=corner)
    for x, y in CORNERS if holes else ():
        drill(work, (x, y, RIM), 5.0, RIM, bottom="through")
    return work


def chamfered(*corners: int) -> Work:
    """Return a plate with four holes whose upright edges of these numbers are chamfered."""
    work = drilled_plate([(30.0, 20.0), (90.0, 20.0), (30.0, 60.0), (90.0, 60.0)])
    at: list[Vec] = [(0.0, 0.0, 6.0), (120.0, 0.0, 6.0), (0.0, 80.0, 6.0), (120.0, 80.0, 6.0)]
    for number in corners:
        chamfer_edges(work, [at[number]], 5.0)
    return work


def with_bosses(spots: Sequence[Spot], heights: Sequence[float]) -> Work:
    """Return a plate with round bosses."""
    work = block(PLATE)
    for (x, y), height in zip(spots, heights, strict=True):
        round_boss(work, (x, y, RIM), 12.0, height)
    return work


def shaft(count: int, skip: Sequence[int] = (), odd: dict[int, float] | None = None) -> Work:
    """Return a shaft of 60 with flat-bottomed holes drilled into it all round."""
    work = turned([Length(60.0, 60.0, 50.0)], size=(60.0, 60.0, 50.0))
    for index in range(count):
        if index in skip:
            continue
        turn = math.radians(20.0 + 360.0 * index / count)
        out = (math.cos(turn), math.sin(turn), 0.0)
        diameter = (odd or {}).get(index, 6.0)
        at = (30.0 * out[0], 30.0 * out[1], 20.0)
        drill(work, at, diameter, 12.0, out=out, bottom="flat", entry="curved", simple=False)
    return work


def z_bracket(first: float, second: float) -> Work:
    """Return a bar of Z section, kept by a half turn only, with a fillet in each of its two inside corners."""
    section = [
        (0.0, 0.0),
        (60.0, 0.0),
        (60.0, 30.0),
        (110.0, 30.0),
        (110.0, 40.0),
        (50.0, 40.0),
        (50.0, 10.0),
        (0.0, 10.0),
    ]
    work = bar(section, 45.0, (110.0, 45.0, 40.0))
    for point, radius in (((50.0, 22.5, 10.0), first), ((60.0, 22.5, 30.0), second)):
        if radius:
            fillet_edges(work, [point], radius)
    return work


def split_clamp() -> Work:
    """Return a slit block whose clamping screw passes one ear and is tapped into the other."""
    work = block((60.0, 30.0, 40.0))
    slot(work, (30.0, 15.0, 40.0), 30.0, 4.0, 28.0, ends=("open", "open"), along=(0.0, 1.0, 0.0))
    drill(work, (0.0, 15.0, 30.0), 5.5, 28.0, out=(-1.0, 0.0, 0.0), bottom="through")
    drill(work, (60.0, 15.0, 30.0), 4.2, 28.0, out=(1.0, 0.0, 0.0), bottom="through")
    return work
