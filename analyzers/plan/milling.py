"""End mills for pockets, slots, steps and bosses: one that clears, one for the corners, one for the floor."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from analyzers.features.boss import Boss
from analyzers.features.pocket import ClosedPocket, Pocket
from analyzers.features.slot import Slot
from analyzers.features.step import Step
from analyzers.model.arrays import Floats, Ints
from analyzers.model.feature import mm_text
from analyzers.model.part import Part, Surface
from analyzers.plan.bench import Bench, Making, Operation, Work, at_most, cutter_words, quickest
from analyzers.plan.directions import milled_from_both_ends, sharp_corners_along
from analyzers.plan.frame import across, parallel
from analyzers.plan.undercut import make_undercut
from analyzers.settings import Cutter
from analyzers.tolerance import SAME_LENGTH_MM

CORNERS: Final = 4
"""Inside corners that a rest cutter is charged for: those of a rectangular plan."""

SAME_LEAN_DEG: Final = 1.0
"""A chamfer cutter whose side is off by no more leaves a wall of that lean."""

FLOOR_KINDS: Final = ("bull", "ball")


@dataclass(frozen=True, slots=True)
class Cavity:
    """What a cutter meets: sizes in mm, None = open or unknown."""

    feature: str
    depth: float
    width: float | None  # narrowest way in for the cutter
    volume: float  # mm3
    walls: float  # mm2
    floor: float  # mm2
    corner_radius: float | None  # smallest upright inside corner; None = none
    round_ends: bool  # the corner is the round end of a slot: the cutter may be as wide as the slot
    floor_radius: float | None
    passage: float | None = None  # narrowest way between walls and islands, where it is narrower than the width


def make_cavity(feature: Pocket | Slot | Step, bench: Bench, direction: Floats) -> Making:
    """Return how a pocket, slot or step is made from a direction, or why not."""
    cavity = _cavity(feature, bench, direction)
    if cavity is None:
        return Making((), unknown="depth or width")
    reasons = []
    sharp = sharp_corners_along(bench.part, feature.faces, direction)
    along_own = abs(float(direction @ np.array(feature.direction))) > 0.5
    if len(sharp) or (cavity.corner_radius == 0.0 and along_own):
        reasons.append(_sharp_words(cavity, bench))
    operations: list[Operation] = []
    if along_own and milled_from_both_ends(feature, bench.wall_reach_mm):
        steps = [_clear_and_corners(_half(cavity), bench)] * 2
    else:
        steps = [_clear_and_corners(cavity, bench), _floor(cavity, bench)]
    if isinstance(feature, Slot) and feature.undercut_width_mm:
        steps.append(make_undercut(feature, bench, direction))
    elif along_own and len(slanted := slanted_faces(bench.part, feature.faces, direction)):
        steps.append(_slanted(cavity, bench, slanted, direction))
    for step in steps:
        operations += step.operations
        reasons += [step.unmade] if step.unmade else []
    return Making(tuple(operations), "; ".join(dict.fromkeys(reasons)) or None)


def slanted_faces(part: Part, faces: tuple[int, ...], direction: Floats) -> Ints:
    """Return which faces of a cavity neither side nor end of an end mill leaves: slanted flats, cones, lying rounds."""
    rows = np.array(faces, dtype=np.int64)
    kind, axis = part.face_surface[rows], part.face_axis[rows]
    with np.errstate(invalid="ignore"):
        along, square = parallel(axis, direction), across(axis, direction)
    flat = (kind == Surface.PLANE) & ~along & ~square
    lying = (kind == Surface.CYLINDER) & square & part.face_concave[rows]
    found: Ints = rows[flat | lying | (kind == Surface.CONE)]
    return found


def _slanted(cavity: Cavity, bench: Bench, faces: Ints, direction: Floats) -> Making:
    """Return the finishing of slanted and round floors and walls, in steps by a cutter whose end is round.

    A round floor takes a ball no larger than it; leaning walls a ball- or bull-nose end mill, or the point of a chamfer
    cutter of their angle. Where the holder itself goes in, no cutter is too short.
    """
    part = bench.part
    lying = faces[part.face_surface[faces] == Surface.CYLINDER]
    radius = float(part.face_radius_mm[lying].min()) if len(lying) else math.inf
    area = float(part.face_area_mm2[faces].sum())
    fitting = [
        each
        for each in bench.shelf("ball", "bull")
        if at_most(each.corner_radius_mm if each.kind == "bull" else each.diameter_mm / 2.0, radius)
        and (each.kind == "ball" or not len(lying))
        and (cavity.width is None or at_most(each.diameter_mm, cavity.width))
        and (_roomy(cavity, bench, each) or bench.comes_down(each, cavity.feature, cavity.depth))
    ]
    found = quickest(fitting, lambda each: _round_minutes(bench, each, radius, area))
    lean = _lean_deg(part, faces, direction)
    slope = cavity.depth / math.cos(math.radians(lean or 0.0))
    pointed = [
        each
        for each in bench.shelf("chamfer")
        if lean is not None
        and each.point_angle_deg is not None
        and abs(each.point_angle_deg / 2.0 - lean) <= SAME_LEAN_DEG
        and at_most(slope, each.flute_length_mm)
    ]
    point = quickest(pointed, lambda each: bench.rates.path_minutes(each, area / slope))
    if point is not None and (found is None or point[1] < found[1]):
        found = point
    if found is None:
        what = f"its round floor R{mm_text(radius)}" if len(lying) else "its slanted walls"
        return Making((), f"no ball-nose end mill comes {mm_text(cavity.depth)} mm down to {what}")
    return Making((Operation("surface", found[0].id, found[1], cavity.feature),))


def _roomy(cavity: Cavity, bench: Bench, cutter: Cutter) -> bool:
    """Return whether a cutter's holder goes into the cavity with it."""
    return cavity.width is None or cavity.width > bench.holder(cutter).diameter_mm


def _lean_deg(part: Part, faces: Ints, direction: Floats) -> float | None:
    """Return by how much flats lean from upright; None where they differ, or some of the faces are round."""
    if (part.face_surface[faces] != Surface.PLANE).any():
        return None
    lean = np.degrees(np.arcsin(np.abs(part.face_axis[faces] @ direction).clip(0.0, 1.0)))
    return float(lean.mean()) if float(np.ptp(lean)) <= SAME_LEAN_DEG else None


def _half(cavity: Cavity) -> Cavity:
    """Return what is cut from one end of a cavity that is cut from both."""
    return replace(cavity, depth=cavity.depth / 2.0, volume=cavity.volume / 2.0, walls=cavity.walls / 2.0)


def make_boss(boss: Boss, bench: Bench, direction: Floats) -> Making:
    """Return the finishing around a boss; the material around it is cleared with the outside or with its pocket."""
    walls = bench.walls_mm2(boss.faces, direction) or 2.0 * (boss.length_mm + boss.width_mm) * boss.height_mm
    fitting = [each for each in bench.shelf("flat", "bull") if bench.comes_down(each, boss.id, boss.height_mm)]
    found = quickest(fitting, lambda each: bench.rates.wall_minutes(each, walls, boss.height_mm))
    if found is None:
        beside = bench.beside_words(boss.id)
        return Making((), f"no end mill reaches {mm_text(boss.height_mm)} mm down beside it{beside}")
    return Making((Operation("finish", found[0].id, found[1], boss.id),))


def _cavity(feature: Pocket | Slot | Step, bench: Bench, direction: Floats) -> Cavity | None:
    """Return the cavity as seen from a direction; None where it has no measured depth."""
    own = abs(float(direction @ np.array(feature.direction))) > 0.5
    depth = feature.depth_mm if own else bench.extent_mm(feature.faces, direction)
    if depth is None or depth <= 0.0 or feature.width_mm is None or feature.width_mm <= SAME_LENGTH_MM:
        return None
    length = _length_mm(feature, bench) or feature.width_mm
    plan = length * feature.width_mm
    floor = bench.floors_mm2(feature.faces, direction)
    through = feature.through and isinstance(feature, Pocket)
    volume = (min(plan, floor) if floor and own and not through else plan) * (feature.depth_mm or depth)
    walls = bench.walls_mm2(feature.faces, direction) or 2.0 * (length + feature.width_mm) * depth
    width = None if isinstance(feature, Step) else feature.width_mm
    radius = feature.corner_radius_mm if own else None
    ends = isinstance(feature, Slot) and (feature.ends == "round" or radius is None)
    full = radius is not None and width is not None and radius >= width / 2.0 - SAME_LENGTH_MM
    return Cavity(
        feature=feature.id,
        depth=depth,
        width=width,
        volume=volume,
        walls=walls,
        floor=0.0 if through else floor or plan,
        corner_radius=radius or None,
        round_ends=ends or full,
        floor_radius=feature.floor_radius_mm or None,
        passage=_passage_mm(feature, bench) if own and isinstance(feature, Pocket) else None,
    )


def _passage_mm(pocket: Pocket, bench: Bench) -> float | None:
    """Return how wide a cutter may be to come everywhere: as measured between the walls, or as heights show.

    The map is asked where a closed pocket has no corners that are known, as where each is drilled away: what it says is
    taken if it is more than its resolution.
    """
    known = bench.around.get(pocket.id)
    if pocket.corner_radius_mm is not None or not isinstance(pocket, ClosedPocket) or known is None:
        return pocket.passage_mm
    if known.finishes_mm is None or known.finishes_mm <= known.resolution_mm:
        return pocket.passage_mm
    return min(known.finishes_mm, pocket.passage_mm or math.inf)


def _length_mm(feature: Pocket | Slot | Step, bench: Bench) -> float | None:
    """Return the length of a cavity: its own, or what the box around a step's two faces leaves for it."""
    if not isinstance(feature, Step):
        return feature.length_mm
    box = bench.box_mm3(feature.faces)
    if box is None or not feature.width_mm or not feature.depth_mm:
        return None
    return box / (feature.width_mm * feature.depth_mm)


def _narrow_enough(cavity: Cavity, bench: Bench) -> list[Cutter]:
    """Return the flat and bull-nose end mills that go in, however far down they come."""
    return [
        each
        for each in bench.shelf("flat", "bull")
        if (cavity.width is None or at_most(each.diameter_mm, cavity.width))
        and (each.kind == "flat" or at_most(each.corner_radius_mm, cavity.floor_radius or 0.0))
    ]


def _entering(cavity: Cavity, bench: Bench) -> list[Cutter]:
    """Return those of them that reach the floor."""
    return [each for each in _narrow_enough(cavity, bench) if bench.comes_down(each, cavity.feature, cavity.depth)]


def corner_limit_mm(cavity: Cavity, bench: Bench) -> float:
    """Return the largest cutter radius that rolls through the corners."""
    passage = math.inf if cavity.passage is None else cavity.passage / 2.0
    if cavity.corner_radius is None or cavity.round_ends:
        return passage if cavity.width is None else min(cavity.width / 2.0, passage)
    return min(cavity.corner_radius * bench.shop.corner_clearance_ratio, passage)


def _clear_and_corners(cavity: Cavity, bench: Bench) -> Making:
    """Return clearing and wall finishing, by the two end mills that take the least time together.

    A wide cutter clears fast and leaves much in the corners, so neither is chosen without the other. What is open to
    the side is cleared layer by layer with the cutter held short; only its wall needs the reach.
    """
    entering = _entering(cavity, bench)
    if not entering:
        return Making((), _no_entry(cavity, bench))

    def clearing(cutter: Cutter) -> float:
        depth = cavity.depth if cavity.width is not None else min(cavity.depth, cutter.flute_length_mm)
        return bench.rates.roughing_minutes(cutter, cavity.volume, depth)

    costs = {
        each.id: (
            bench.rates.wall_minutes(each, cavity.walls, cavity.depth),
            bench.rates.roughing_minutes(each, 1.0, cavity.depth),
        )
        for each in _narrow_enough(cavity, bench)
    }
    left = {each.id: _left_mm3(cavity, each) for each in entering}
    after = {each: _finisher(cavity, bench, entering, each, costs) for each in set(left.values())}
    finishing = {name: after[each] for name, each in left.items()}
    if None in finishing.values():  # whatever clears, the corners stay
        rough, spent = min(((each, clearing(each)) for each in entering), key=lambda pair: (pair[1], pair[0].id))
        return Making((Operation("rough", rough.id, spent, cavity.feature),), _no_corner(cavity, bench))
    done = {name: found for name, found in finishing.items() if found is not None}
    best = quickest(entering, lambda each: clearing(each) + done[each.id][1])
    assert best is not None  # `entering` is not empty
    rough, (finish, spent) = best[0], done[best[0].id]
    return Making(
        (
            Operation("rough", rough.id, clearing(rough), cavity.feature),
            Operation("finish", finish.id, spent, cavity.feature),
        )
    )


def _left_mm3(cavity: Cavity, clearing: Cutter) -> float:
    """Return what a clearing cutter leaves in the corners."""
    if cavity.corner_radius is None or cavity.round_ends:
        return 0.0
    big = clearing.diameter_mm / 2.0
    return max(CORNERS * (1.0 - math.pi / 4.0) * (big**2 - cavity.corner_radius**2), 0.0) * cavity.depth


def _finisher(
    cavity: Cavity, bench: Bench, entering: list[Cutter], left_mm3: float, costs: Mapping[str, tuple[float, float]]
) -> tuple[Cutter, float] | None:
    """Return the end mill that finishes the walls and takes what is left in the corners, and its minutes.

    A cutter that rolls through the corner is wanted. Where none reaches, one as round as the corner itself will do: it
    is eased into the corners, and so is charged no less than the longest of those that roll would take if it came
    down. Without that a pocket would get cheaper by being too deep for the cutter that it should have.

    `costs`: of each cutter by its id, minutes for the walls and for a mm3 in the corners.
    """

    def minutes(cutter: Cutter) -> float:
        walls, each_mm3 = costs[cutter.id]
        return walls + left_mm3 * each_mm3

    def rolls(cutter: Cutter) -> bool:
        return at_most(cutter.diameter_mm / 2.0, corner_limit_mm(cavity, bench))

    rolling = quickest([each for each in entering if rolls(each)], minutes)
    if rolling is not None or cavity.corner_radius is None:
        return rolling
    most = min(cavity.corner_radius, math.inf if cavity.passage is None else cavity.passage / 2.0)
    round_enough = [each for each in entering if at_most(each.diameter_mm / 2.0, most)]
    found = quickest(round_enough, minutes)
    if found is None:
        return None
    short = [each for each in _narrow_enough(cavity, bench) if rolls(each)]
    longest = max((each.reach_mm for each in short), default=0.0)
    wanted = quickest([each for each in short if each.reach_mm == longest], minutes)
    return found if wanted is None else (found[0], max(found[1], wanted[1]))


def _floor(cavity: Cavity, bench: Bench) -> Making:
    """Return the finishing of the floor, and of its rounded edge with a bull- or ball-nose end mill."""
    entering = _entering(cavity, bench)
    if not entering or cavity.floor <= 0.0:
        return Making(())
    flat = quickest(entering, lambda each: bench.rates.floor_minutes(each, cavity.floor))
    assert flat is not None  # `entering` is not empty
    done = Operation("finish", flat[0].id, flat[1], cavity.feature)
    if cavity.floor_radius is None:
        return Making((done,))
    edge = math.pi / 2.0 * cavity.floor_radius * cavity.walls / cavity.depth
    return _join((done,), round_edge(bench, cavity.feature, cavity.floor_radius, edge, cavity.depth, cavity.width))


def _join(operations: tuple[Operation, ...], making: Making) -> Making:
    return Making((*operations, *making.operations), making.unmade)


def round_edge(
    bench: Bench, feature: str, radius: float, area: float, depth: float, width: float | None, work: Work = "blend"
) -> Making:
    """Return the cutting of a concave round by a cutter whose own corner is at most as round, in passes if less."""
    fitting = [
        each
        for each in bench.shelf("bull", "ball")
        if at_most(each.corner_radius_mm, radius)
        and bench.comes_down(each, feature, depth)
        and (width is None or at_most(each.diameter_mm, width))
    ]
    found = quickest(fitting, lambda each: _round_minutes(bench, each, radius, area))
    if found is not None:
        return Making((Operation(work, found[0].id, found[1], feature),))
    return Making((), _no_round(bench, feature, radius, depth, width))


def _no_round(bench: Bench, feature: str, radius: float, depth: float, width: float | None) -> str:
    """Return why no bull- or ball-nose end mill cuts a concave round: too large a corner, too thick, or too short."""
    small = [each for each in bench.shelf("bull", "ball") if at_most(each.corner_radius_mm, radius)]
    if not small:
        return f"no bull- or ball-nose end mill of R{mm_text(radius)} or less on the shelf"
    lacking = f"no bull- or ball-nose end mill for R{mm_text(radius)}"
    slim = [each for each in small if width is None or at_most(each.diameter_mm, width)]
    if not slim:
        return f"{lacking} is slim enough for {mm_text(width)} mm between the walls (the {cutter_words(small[0])})"
    longest = max(slim, key=lambda each: each.reach_mm)
    return bench.kept_off_words(longest, feature, depth) or (
        f"{lacking} reaches {mm_text(depth)} mm down "
        f"(the {cutter_words(longest)}: {mm_text(longest.reach_mm)} mm){bench.beside_words(feature)}"
    )


def _round_minutes(bench: Bench, cutter: Cutter, radius: float, area: float) -> float:
    """Return the time for a concave round: one pass where the cutter's corner is the round, else many."""
    if abs(cutter.corner_radius_mm - radius) <= SAME_LENGTH_MM:
        return bench.rates.path_minutes(cutter, area / (math.pi / 2.0 * radius))
    return bench.rates.surface_minutes(cutter, area)


def _no_entry(cavity: Cavity, bench: Bench) -> str:
    """Return why no end mill clears the cavity, and what would let one."""
    narrow = [each for each in bench.shelf("flat") if cavity.width is None or at_most(each.diameter_mm, cavity.width)]
    if not narrow:
        smallest = min(bench.shelf("flat"), key=lambda each: each.diameter_mm, default=None)
        least = f"; the smallest end mill is ⌀{mm_text(smallest.diameter_mm)}" if smallest else ""
        return f"{mm_text(cavity.width)} mm wide{least}"
    longest = max(narrow, key=lambda each: each.reach_mm)
    reaching = min(
        (each for each in bench.shelf("flat") if bench.comes_down(each, cavity.feature, cavity.depth)),
        key=lambda each: each.diameter_mm,
        default=None,
    )
    wider = f", or a width of {mm_text(reaching.diameter_mm)} mm for the {cutter_words(reaching)}" if reaching else ""
    return bench.kept_off_words(longest, cavity.feature, cavity.depth) or (
        f"{mm_text(cavity.depth)} mm deep, the longest end mill that goes in, the {cutter_words(longest)}, reaches "
        f"{mm_text(longest.reach_mm)} mm{bench.beside_words(cavity.feature)}: that depth{wider}"
    )


def _no_corner(cavity: Cavity, bench: Bench) -> str:
    """Return why no end mill makes the corners, and which radius would let one."""
    if cavity.passage is not None and not any(
        at_most(each.diameter_mm, cavity.passage) for each in _entering(cavity, bench)
    ):
        return f"no end mill that comes down passes where its walls are {mm_text(cavity.passage)} mm apart"
    assert cavity.corner_radius is not None  # otherwise whatever passes also finishes the walls
    thin = [each for each in bench.shelf("flat") if at_most(each.diameter_mm / 2.0, cavity.corner_radius)]
    longest = max(thin, key=lambda each: each.reach_mm, default=None)
    what = f"R{mm_text(cavity.corner_radius)} corners {mm_text(cavity.depth)} mm deep"
    if longest and (kept_off := bench.kept_off_words(longest, cavity.feature, cavity.depth)):
        return kept_off
    have = (
        f"the {cutter_words(longest)} reaches {mm_text(longest.reach_mm)} mm"
        if longest
        else "no end mill is that small"
    )
    return f"{what}: {have}{_larger_radius(cavity, bench)}"


def _larger_radius(cavity: Cavity, bench: Bench) -> str:
    """Return the smallest corner radius that a cutter of the shelf makes at this depth, as words."""
    fitting = sorted(_entering(cavity, bench), key=lambda each: each.diameter_mm)
    if not fitting:
        return ""
    least = math.ceil(fitting[0].diameter_mm / 2.0 / bench.shop.corner_clearance_ratio * 10.0) / 10.0
    return f"; with R{mm_text(least)} the {cutter_words(fitting[0])} does it"


def _sharp_words(cavity: Cavity, bench: Bench) -> str:
    """Return that the corners are sharp, and which radius would do."""
    return f"sharp inside corners: no rotating cutter leaves them{_larger_radius(cavity, bench)}"
