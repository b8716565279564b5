"""Sharp inside corner that no rotating cutter can leave.

What: an inside corner that runs along the cutter's axis and has no radius. The edge between wall and floor is
not meant: an end mill leaves that one sharp.
Why: a cutter is round; it leaves material in the corner. The rest is spark erosion, broaching or filing.
Instead: a corner radius above that of an end mill on the shelf, or a relief hole in the corner where a square
part must go in.
"""

import math
from collections.abc import Iterator

import numpy as np

from analyzers.model.arrays import Ints
from analyzers.model.facegraph import concave_edges
from analyzers.model.feature import Feature, mm_text
from analyzers.model.finding import Finding
from analyzers.model.part import Curve, Part
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._cavities import Cavity, cavities
from analyzers.rules._say import cutter_text, plural, subject, verb
from analyzers.rules._shelf import corner_cutter, corner_stops_mm, end_mills, fits, largest, reaches, roll_radius_mm
from analyzers.rules._units import coarsely_up, drawn_up
from analyzers.settings import Cutter
from analyzers.tolerance import SMOOTH_DEG

COMFORTABLE_RATIO = 4.0  # depth / diameter up to which the suggested cutter is chosen: see pocket_depth_ratio.toml


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal pockets, slots and steps with sharp upright corners."""
    part = case.facts.part
    sharp = tuple(each for each in cavities(case) if each.corner_radius_mm == 0.0)
    for features in alike(sharp, key=lambda each: (each.kind, each.callout(), len(corners(part, each)))):
        edges = corners(part, features[0])
        depth = features[0].depth_mm or float(max(part.edge_length_mm[edges], default=0.0))
        cutter = corner_cutter(case, depth) or next(iter(end_mills(case)), None)
        if cutter is None:
            continue
        opening = 360.0 - float(np.max(part.edge_angle_deg[edges], initial=0.0)) if len(edges) else 90.0
        left = left_in_corner_mm(cutter.diameter_mm / 2.0, opening)
        if limits["left_over"].broken_by(left):
            yield _finding(case, limits, features, edges, depth, cutter, left)


def corners(part: Part, feature: Feature) -> Ints:
    """Return the straight concave edges of a feature that run along the cutter's axis."""
    within = part.edges_within(feature.faces)
    upright = np.abs(part.edge_tangent[within] @ np.array(feature.direction)) >= math.cos(math.radians(SMOOTH_DEG))
    found: Ints = within[upright & concave_edges(part, within) & (part.edge_curve[within] == Curve.LINE)]
    return found


def left_in_corner_mm(cutter_radius_mm: float, opening_deg: float) -> float:
    """Return how far a round cutter stays away from the tip of a sharp corner of that opening angle.

    Examples
    --------
    >>> round(left_in_corner_mm(3.0, 90.0), 3)
    1.243
    """
    return cutter_radius_mm * (1.0 / math.sin(math.radians(opening_deg / 2.0)) - 1.0)


def _finding(
    case: Case, limits: Limits, on: tuple[Cavity, ...], edges: Ints, depth: float, thin: Cutter, left: float
) -> Finding:
    """Return the finding; its radius lets in an end mill that comes down, if possible without chattering."""
    width = on[0].width_mm or float("inf")
    going = [each for each in end_mills(case) if reaches(each, depth) and fits(each, width / 2.0)]
    stiff = [each for each in going if each.diameter_mm * COMFORTABLE_RATIO >= depth] or going
    cutter = stiff[0] if stiff else thin
    radius = drawn_up(case, roll_radius_mm(case, cutter))
    count = f"{len(edges)} sharp inside {plural('corner', len(edges))}" if len(edges) else "sharp inside corners"
    return limits.finding(
        limits["left_over"],
        on=on,
        faces=tuple(sorted({face for each in on for face in _corner_faces(case.facts.part, each)})),
        measured=left,
        message=f"{subject(on)} {verb(on, 'has', 'have each')} {count}; no rotating cutter makes "
        f"{'it' if len(edges) == 1 else 'them'}: even the {cutter_text(thin)} leaves {mm_text(round(left, 2))} mm "
        "standing there.",
        suggestion=_cure(case, on[0], stiff, cutter, radius),
        change=Way("corner_radius_mm", radius, corner_stops_mm(case, depth, radius)),
    )


def _cure(case: Case, feature: Cavity, stiff: list[Cutter], cutter: Cutter, radius: float) -> str:
    """Return what to draw instead: the least radius, a better one where there is room, a relief hole."""
    if not stiff:
        return (
            f"No end mill of the shelf goes in and comes down: at least {mm_text(2.0 * radius)} mm wide with "
            f"corners of R{mm_text(radius)} ({cutter_text(cutter)}), or wire and sink erosion."
        )
    room = (feature.width_mm or 0.0) / 4.0  # a quarter of the width in each corner is round enough
    best = largest(each for each in stiff if roll_radius_mm(case, each) <= room)
    better = ""
    if best is not None and best.diameter_mm > cutter.diameter_mm:
        better = f", and R{mm_text(drawn_up(case, roll_radius_mm(case, best)))} lets in the {cutter_text(best)}"
    return (
        f"Corner radius R{mm_text(radius)}: the {cutter_text(cutter)} rolls through{better}. Where a square part "
        f"must go in, a ⌀{mm_text(coarsely_up(case, 2.0 * radius))} relief hole in each corner instead."
    )


def _corner_faces(part: Part, feature: Feature) -> tuple[int, ...]:
    """Return the faces at a feature's sharp corners; all its faces where no edge was found."""
    edges = corners(part, feature)
    return tuple(sorted({int(face) for face in part.edge_faces[edges].ravel()})) if len(edges) else feature.faces
