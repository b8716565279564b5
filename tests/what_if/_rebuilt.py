"""Parts built from one number, so that a proposed change can be built for true and looked at again."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from analyzers.model.finding import Finding
from analyzers.model.report import Body
from analyzers.pipeline import analyse
from analyzers.settings import load_settings
from fixtures.make.model import one
from fixtures.make.step_file import write_step
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.raised import square_boss
from fixtures.make.vocabulary.recesses import pocket, profile_slot, slot
from fixtures.make.vocabulary.rings import outer_groove
from fixtures.make.vocabulary.stock import Length, bar, block, turned
from fixtures.make.vocabulary.work import Work

Build = Callable[[float], Work]
UP = (0.0, 0.0, 1.0)
RIGHT = (1.0, 0.0, 0.0)


@dataclass(frozen=True)
class Trip:
    """A part with one finding: how it is built, from which number, and which change is expected."""

    rule: str
    field: str
    first: float
    build: Build
    unit: str = "mm"


def body_of(work: Work, unit: str = "mm") -> Body:
    """Return the one body of a part, written to STEP and analysed in the built-in shop."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "part.step"
        write_step(one("trip", work, unit=unit), path)
        (body,) = analyse(path, load_settings()).bodies
    return body


@cache
def first_body(trip: Trip) -> Body:
    """Return the part as first drawn."""
    return body_of(trip.build(trip.first), trip.unit)


def serious(body: Body, rule: str) -> list[Finding]:
    """Return what a rule says at level warning or error."""
    return [each for each in body.findings if each.rule == rule and each.level != "note"]


def _pocketed(length: float, width: float, depth: float, size: tuple[float, float, float], radius: float) -> Work:
    work = block(size)
    pocket(work, (size[0] / 2, size[1] / 2, size[2]), length, width, depth, corner_radius=radius)
    return work


def sharp_pocket(radius: float) -> Work:
    """Return a block with a pocket 12 deep."""
    return _pocketed(50.0, 30.0, 12.0, (80.0, 60.0, 25.0), radius)


def deep_pocket(radius: float) -> Work:
    """Return a block with a pocket 30 deep."""
    return _pocketed(60.0, 40.0, 30.0, (90.0, 70.0, 40.0), radius)


def deeper_pocket(radius: float) -> Work:
    """Return a block with a pocket 60 deep, beyond what thin cutters reach."""
    return _pocketed(60.0, 60.0, 60.0, (100.0, 100.0, 75.0), radius)


def floored_pocket(floor: float) -> Work:
    """Return a plate with a pocket that leaves a floor."""
    return _pocketed(40.0, 20.0, 12.0 - floor, (60.0, 40.0, 12.0), 5.0)


def walled_pocket(wall: float) -> Work:
    """Return a block with a pocket that leaves a wall at one long side."""
    work = block((70.0, 40.0, 20.0))
    pocket(work, (35.0, wall + 12.0, 20.0), 50.0, 24.0, 8.0, corner_radius=5.0)
    return work


def deep_hole(diameter: float) -> Work:
    """Return a block with a hole 36 deep."""
    work = block((40.0, 40.0, 50.0))
    drill(work, (20.0, 20.0, 50.0), diameter, 36.0, bottom="flat")
    return work


def long_hole(depth: float) -> Work:
    """Return a block with a 12 mm hole."""
    work = block((40.0, 40.0, 140.0))
    drill(work, (20.0, 20.0, 140.0), 12.0, depth)
    return work


def floored_hole(depth: float) -> Work:
    """Return a plate 15 thick with a flat-bottomed hole."""
    work = block((40.0, 40.0, 15.0))
    drill(work, (20.0, 20.0, 15.0), 8.0, depth, bottom="flat")
    return work


def edge_hole(web: float) -> Work:
    """Return a plate with a hole that leaves a web beside its edge."""
    work = block((60.0, 40.0, 10.0))
    drill(work, (30.0, web + 5.0, 10.0), 10.0, 10.0, bottom="through")
    return work


def close_holes(web: float) -> Work:
    """Return a plate with two holes and a web between them."""
    work = block((80.0, 40.0, 10.0))
    drill(work, (30.0, 20.0, 10.0), 10.0, 10.0, bottom="through")
    drill(work, (40.0 + web, 20.0, 10.0), 10.0, 10.0, bottom="through")
    return work


def odd_hole(diameter: float) -> Work:
    """Return a plate with four scattered holes, three of 6 mm."""
    return four_holes([(10.0, 10.0), (64.0, 14.0), (23.0, 38.0), (70.0, 40.0)], diameter)


def odd_corner(diameter: float) -> Work:
    """Return a plate with a hole in each corner, three of 6 mm."""
    return four_holes([(10.0, 10.0), (70.0, 10.0), (10.0, 40.0), (70.0, 40.0)], diameter)


def four_holes(spots: list[tuple[float, float]], diameter: float) -> Work:
    """Return a plate with holes of 6 mm, but for the last."""
    work = block((80.0, 50.0, 10.0))
    for number, (x, y) in enumerate(spots, start=1):
        drill(work, (x, y, 10.0), diameter if number == len(spots) else 6.0, 10.0, bottom="through")
    return work


def sloped_hole(slope_deg: float) -> Work:
    """Return a block with a blind hole in its top, which slopes."""
    rise = 40.0 * math.tan(math.radians(slope_deg))
    work = bar([(0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0 + rise)], 30.0, (40.0, 30.0, 20.0 + rise))
    top = 20.0 + rise / 2.0
    entry = {} if slope_deg == 0.0 else {"entry": "inclined", "entry_angle": slope_deg, "over": 15.0}
    drill(work, (20.0, 15.0, top), 6.0, 14.0, bottom="flat", **entry)  # type: ignore[arg-type]
    return work


def deep_slot(width: float) -> Work:
    """Return a block with an open slot 24 deep."""
    work = block((60.0, 60.0, 40.0))
    slot(work, (30.0, 30.0, 40.0), 60.0, width, 24.0)
    return work


def narrow_slot(width: float) -> Work:
    """Return a block with an open slot 2 deep."""
    work = block((60.0, 40.0, 20.0))
    slot(work, (30.0, 20.0, 20.0), 60.0, width, 2.0)
    return work


def tall_rib(width: float) -> Work:
    """Return a plate with a rib 40 high."""
    work = block((80.0, 60.0, 10.0))
    square_boss(work, (40.0, 30.0, 10.0), 50.0, width, 40.0)
    return work


def grooved_shaft(width: float) -> Work:
    """Return a shaft with a groove 9 deep."""
    work = turned([Length(40.0, 40.0, 80.0)], (0.0, 0.0, 0.0), RIGHT, size=(80.0, 40.0, 40.0))
    outer_groove(work, (40.0, 0.0, 0.0), 40.0, 22.0, width, axis=RIGHT)
    return work


def long_plate(length: float) -> Work:
    """Return a plate with a hole in it."""
    work = block((length, 80.0, 15.0))
    drill(work, (40.0, 40.0, 15.0), 10.0, 15.0, bottom="through")
    return work


def tiny_plate(scale: float) -> Work:
    """Return a plate of 2 × 1.5 × 0.5 mm, that many times as large."""
    work = block((2.0 * scale, 1.5 * scale, 0.5 * scale))
    drill(work, (scale, 0.75 * scale, 0.5 * scale), 0.25 * scale, 0.5 * scale, bottom="through")
    return work


def dovetailed(count: float) -> Work:
    """Return a block with or without a dovetail slot."""
    work = block((80.0, 60.0, 30.0))
    if count:
        profile = [(-8.0, 5.0), (-8.0, 0.0), (-14.0, -10.0), (14.0, -10.0), (8.0, 0.0), (8.0, 5.0)]
        profile_slot(work, (40.0, 30.0, 30.0), 80.0, profile[::-1], opening=16.0, undercut=28.0)
    return work


def bolt_circle(missing: float) -> Work:
    """Return a plate with a circle of eight holes of which some are missing."""
    work = block((100.0, 100.0, 10.0))
    for turn in range(8 - int(missing)):
        x, y = 35.0 * math.cos(turn * math.pi / 4.0), 35.0 * math.sin(turn * math.pi / 4.0)
        drill(work, (50.0 + x, 50.0 + y, 10.0), 6.0, 10.0, bottom="through")
    return work


def inch_pocket(radius: float) -> Work:
    """Return an inch block with a pocket half an inch deep."""
    size = (4.0 * 25.4, 3.0 * 25.4, 25.4)
    return _pocketed(2.0 * 25.4, 1.5 * 25.4, 12.7, size, radius)


TRIPS = (
    Trip("sharp_internal_corner", "corner_radius_mm", 0.0, sharp_pocket),
    Trip("sharp_internal_corner", "corner_radius_mm", 0.0, inch_pocket, "inch"),
    Trip("corner_radius_below_cutters", "corner_radius_mm", 0.3, sharp_pocket),
    Trip("pocket_depth_ratio", "corner_radius_mm", 2.5, deep_pocket),
    Trip("pocket_depth_ratio", "corner_radius_mm", 2.5, deeper_pocket),
    Trip("thin_floor", "floor_thickness_mm", 0.4, floored_pocket),
    Trip("thin_wall", "wall_mm", 0.5, walled_pocket),
    Trip("hole_depth_ratio", "diameter_mm", 3.0, deep_hole),
    Trip("hole_beyond_drill_reach", "depth_mm", 112.0, long_hole),
    Trip("thin_hole_floor", "depth_mm", 14.5, floored_hole),
    Trip("hole_near_edge", "web_mm", 0.4, edge_hole),
    Trip("holes_too_close", "web_mm", 0.4, close_holes),
    Trip("odd_hole_in_family", "diameter_mm", 6.1, odd_hole),
    Trip("hole_entry_inclined", "entry_angle_deg", 20.0, sloped_hole),
    Trip("deep_narrow_slot", "width_mm", 4.0, deep_slot),
    Trip("deep_narrow_slot", "width_mm", 0.6, narrow_slot),
    Trip("tall_boss", "width_mm", 1.2, tall_rib),
    Trip("groove_proportions", "width_mm", 1.0, grooved_shaft),
    Trip("exceeds_travels", "length_mm", 900.0, long_plate),
    Trip("suspect_size", "scale", 1.0, tiny_plate),
    Trip("undercut_slot", "count", 1.0, dovetailed),
    Trip("missing_twin", "missing_places", 1.0, bolt_circle),
    Trip("missing_twin", "diameter_mm", 6.1, odd_corner),
)
