"""Cutters for what follows other faces: fillets, edge rounds, chamfers, freeform regions."""

import math
from typing import Final

import numpy as np

from analyzers.features.chamfer import Chamfer
from analyzers.features.edge_round import EdgeRound
from analyzers.features.fillet import Fillet
from analyzers.features.region import Region
from analyzers.model.arrays import Floats
from analyzers.model.feature import mm_text
from analyzers.model.part import Surface
from analyzers.plan.bench import TURNING_TOOL, Bench, Making, Operation, at_most, quickest
from analyzers.plan.frame import across, parallel
from analyzers.plan.milling import round_edge
from analyzers.plan.turning import runs_about
from analyzers.settings import Cutter
from analyzers.tolerance import SAME_LENGTH_MM

CHAMFER_SLACK_DEG: Final = 1.0


def make_fillet(fillet: Fillet, bench: Bench, direction: Floats) -> Making:
    """Return how an inside round is made: upright ones by an end mill that rolls through, others by a round corner."""
    if _turned(fillet.faces, bench):
        return _turn(fillet.id, fillet.faces, bench)
    if fillet.radius_mm is None:
        return Making((), unknown="radius")
    area = bench.area_mm2(fillet.faces)
    if not _upright(fillet.faces, bench, direction):
        return round_edge(bench, fillet.id, fillet.radius_mm, area, 0.0, None)
    height = bench.extent_mm(fillet.faces, direction) or 0.0
    found = _rolled(fillet.radius_mm, area, height, bench)
    if found is not None:
        return Making((Operation("finish", found[0].id, found[1], fillet.id),))
    half = _rolled(fillet.radius_mm, area / 2.0, height / 2.0, bench)
    if half is not None and bench.from_below.issuperset(fillet.faces):
        return Making((Operation("finish", half[0].id, half[1], fillet.id),) * 2)
    return Making(
        (), f"no end mill of R{mm_text(fillet.radius_mm)} or less reaches {mm_text(height)} mm down into the corner"
    )


def _rolled(radius: float, area: float, height: float, bench: Bench) -> tuple[Cutter, float] | None:
    """Return the end mill that rolls through an upright corner, else one as round as the corner, and its minutes."""
    for limit in (radius * bench.shop.corner_clearance_ratio, radius):
        fitting = [
            each
            for each in bench.shelf("flat")
            if at_most(each.diameter_mm / 2.0, limit) and at_most(height, each.reach_mm)
        ]
        found = quickest(fitting, lambda each: bench.rates.wall_minutes(each, area, height))
        if found is not None:
            return found
    return None


def make_edge_round(edge_round: EdgeRound, bench: Bench, direction: Floats) -> Making:
    """Return how an outside round is made: upright ones with the side of an end mill, others in ball-nose passes."""
    if _turned(edge_round.faces, bench):
        return _turn(edge_round.id, edge_round.faces, bench)
    area = bench.area_mm2(edge_round.faces)
    if _upright(edge_round.faces, bench, direction):
        return _side(edge_round.id, edge_round.faces, area, bench, direction)
    found = quickest(bench.shelf("ball", "bull"), lambda each: bench.rates.surface_minutes(each, area))
    if found is None:
        return Making((), "no ball- or bull-nose end mill on the shelf for an outside round")
    return Making((Operation("blend", found[0].id, found[1], edge_round.id),))


def make_chamfer(chamfer: Chamfer, bench: Bench, direction: Floats) -> Making:
    """Return how a broken edge is made: a chamfer cutter of its angle, else the side of an end mill, else passes."""
    if _turned(chamfer.faces, bench):
        return _turn(chamfer.id, chamfer.faces, bench)
    area = bench.area_mm2(chamfer.faces)
    if _upright(chamfer.faces, bench, direction):
        return _side(chamfer.id, chamfer.faces, area, bench, direction)
    slope = chamfer.width_mm / max(math.cos(math.radians(min(chamfer.angle_deg, 89.0))), 1e-3)
    angles = (chamfer.angle_deg, 90.0 - chamfer.angle_deg)
    matching = [
        each
        for each in bench.shelf("chamfer", "spot")
        if each.point_angle_deg is not None
        and any(abs(each.point_angle_deg / 2.0 - angle) <= CHAMFER_SLACK_DEG for angle in angles)
    ]
    found = quickest(
        matching,
        lambda each: (
            bench.rates.path_minutes(each, area / max(slope, SAME_LENGTH_MM))
            * max(math.ceil(slope / each.flute_length_mm), 1)
        ),
    )
    if found is not None:
        return Making((Operation("chamfer", found[0].id, found[1], chamfer.id),))
    passes = quickest(bench.shelf("ball", "bull"), lambda each: bench.rates.surface_minutes(each, area))
    if passes is None:
        return Making((), f"no chamfer cutter for {chamfer.angle_deg:.4g}° and no ball-nose end mill on the shelf")
    return Making((Operation("surface", passes[0].id, passes[1], chamfer.id),))


def make_region(region: Region, bench: Bench, _direction: Floats) -> Making:
    """Return how a freeform region is made: ball-nose passes with the largest ball that follows its hollows."""
    radius = region.min_concave_radius_mm
    balls = [each for each in bench.shelf("ball") if radius is None or at_most(each.corner_radius_mm, radius)]
    found = quickest(balls, lambda each: bench.rates.surface_minutes(each, region.area_mm2))
    if found is not None:
        return Making((Operation("surface", found[0].id, found[1], region.id),))
    smallest = min(bench.shelf("ball"), key=lambda each: each.diameter_mm, default=None)
    have = (
        f"the smallest ball-nose end mill has R{mm_text(smallest.corner_radius_mm)}"
        if smallest
        else "the shelf has no ball-nose end mill"
    )
    return Making((), have if radius is None else f"hollows of R{mm_text(radius)}: {have}")


def _side(feature: str, faces: tuple[int, ...], area: float, bench: Bench, direction: Floats) -> Making:
    """Return the cutting of upright faces with the side of the quickest end mill that is long enough."""
    height = bench.extent_mm(faces, direction) or 0.0
    fitting = [each for each in bench.shelf("flat") if at_most(height, each.reach_mm)]
    found = quickest(fitting, lambda each: bench.rates.wall_minutes(each, area, height))
    if found is None:
        return Making((), f"no end mill is {mm_text(height)} mm long")
    return Making((Operation("finish", found[0].id, found[1], feature),))


def _turned(faces: tuple[int, ...], bench: Bench) -> bool:
    """Return whether all of some faces run about the lathe's axis."""
    return bench.turning is not None and bool(runs_about(bench.part, bench.turning)[list(faces)].all())


def _turn(feature: str, faces: tuple[int, ...], bench: Bench) -> Making:
    """Return the turning of some faces."""
    radius = bench.part.face_radius_mm[list(faces)]
    known = radius[np.isfinite(radius)]
    diameter = 2.0 * float(known.max()) if len(known) else float(max(bench.part.size_mm))
    return Making(
        (Operation("turn", TURNING_TOOL, bench.rates.turning_minutes(0.0, bench.area_mm2(faces), diameter), feature),)
    )


def _upright(faces: tuple[int, ...], bench: Bench, direction: Floats) -> bool:
    """Return whether all of some faces stand upright under the spindle."""
    rows = np.array(faces, dtype=np.int64)
    if not len(rows):
        return False
    kind = bench.part.face_surface[rows]
    axis = bench.part.face_axis[rows]
    with np.errstate(invalid="ignore"):
        round_up = (kind == Surface.CYLINDER) & parallel(axis, direction)
        flat_up = (kind == Surface.PLANE) & across(axis, direction)
    return bool((round_up | flat_up).all())
