"""Pocket deep for the cutter that its corners allow.

What: depth of a pocket, step or notch against the widest end mill that its inside corners and its width let
in.
Why: a long thin cutter bends and chatters; one that is too short does not get there at all, its holder hits
the part first.
Instead: larger inside corners (a thicker cutter), less depth, or a second level that takes the depth in two.
What goes right through is cut half from either end where no cutter reaches the whole of it.
"""

from collections.abc import Iterator

from analyzers.features.pocket import Pocket
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.plan.directions import open_below
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._cavities import Cavity, wide_cavities
from analyzers.rules._say import cutter_text, subject, verb
from analyzers.rules._shelf import corner_stops_mm, cut_depth_mm, end_mills, fits, reaches, roll_radius_mm
from analyzers.rules._units import drawn_down, drawn_up

TOO_NARROW = "It is too narrow for larger corners, and goes right through: a wider one, or a thinner part."


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal pockets; where no cutter reaches the bottom, that and nothing else."""
    rounded = tuple(each for each in wide_cavities(case) if each.depth_mm and each.corner_radius_mm)
    for pockets in alike(rounded, key=lambda each: (each.kind, each.callout(), each.corner_radius_mm)):
        depth, radius = cut_depth_mm(case, pockets[0]), pockets[0].corner_radius_mm or 0.0
        finding = _beyond_reach(case, limits, pockets, depth, radius)
        if finding := finding or _too_slender(case, limits, pockets, depth, radius):
            yield finding


def _beyond_reach(
    case: Case, limits: Limits, pockets: tuple[Cavity, ...], depth: float, radius: float
) -> Finding | None:
    """Return a finding where end mills go into the corner, but none comes down to the floor."""
    mills = [each for each in end_mills(case) if fits(each, radius)]
    longest = max(mills, key=lambda each: each.reach_mm, default=None)
    if longest is None or not limits["reach"].broken_by(depth / longest.reach_mm):
        return None
    deeper = min((roll_radius_mm(case, each) for each in end_mills(case) if reaches(each, depth)), default=None)
    rounder = None if deeper is None else drawn_up(case, deeper)
    cures = [] if rounder is None else [f"Corners R{mm_text(rounder)} let in an end mill that reaches"]
    ways = [] if rounder is None else [Way("corner_radius_mm", rounder, corner_stops_mm(case, depth, rounder))]
    if open_below(pockets[0]):  # as deep as the part is thick
        cures.append(f"buy an end mill that reaches {mm_text(depth)} mm")
    else:
        cures.append(f"make it no deeper than {mm_text(drawn_down(case, longest.reach_mm))} mm")
        ways.append(Way("depth_mm", drawn_down(case, longest.reach_mm)))
    suggestion = "; or ".join(cures)
    return limits.finding(
        limits["reach"],
        on=pockets,
        measured=depth,
        against=longest.reach_mm,
        unit="mm",
        message=f"{subject(pockets)} {verb(pockets)} {mm_text(depth)} mm deep; of the end mills that go into its "
        f"corners R{mm_text(radius)} the longest, {cutter_text(longest)}, reaches {mm_text(longest.reach_mm)} mm.",
        suggestion=f"{suggestion[:1].upper()}{suggestion[1:]}.",
        change=ways[0] if ways else None,
        or_else=ways[1:],
    )


def _too_slender(
    case: Case, limits: Limits, pockets: tuple[Cavity, ...], depth: float, radius: float
) -> Finding | None:
    """Return a finding where the depth is many diameters of the widest cutter."""
    width = pockets[0].width_mm if isinstance(pockets[0], Pocket) else None
    diameter = min(2.0 * radius, width or 2.0 * radius)
    ratio = depth / diameter
    limit = limits.strictest_broken(ratio, "comfortable", "hard")
    if limit is None:
        return None
    aim = limits.to_aim_at(limit)
    wider = drawn_up(case, depth / limit.value / 2.0)
    room = width is None or 2.0 * wider <= width
    ways = [Way("corner_radius_mm", drawn_up(case, depth / aim / 2.0))] if room else []
    if open_below(pockets[0]):
        suggestion = f"Corners R{mm_text(wider)} bring it to {limit.value:g}." if room else TOO_NARROW
    else:
        ways.append(Way("depth_mm", drawn_down(case, aim * diameter)))
        suggestion = (
            f"{f'Corners R{mm_text(wider)}, or' if room else 'It is too narrow for larger corners:'} a depth of "
            f"{mm_text(drawn_down(case, limit.value * diameter))} mm, brings it to {limit.value:g}."
        )
    halved = ", half from either end" if cut_depth_mm(case, pockets[0]) < (pockets[0].depth_mm or 0.0) else ""
    return limits.finding(
        limit,
        on=pockets,
        measured=ratio,
        message=f"{subject(pockets)} {verb(pockets)} {ratio:.1f} times as deep as the widest end mill its inside "
        f"corners R{mm_text(radius)} allow (⌀{mm_text(diameter)}){halved}; {'up to ' if limit.name == 'hard' else ''}"
        f"{limit.value:g} {'is workable' if limit.name == 'hard' else 'is comfortable'}.",
        suggestion=suggestion,
        change=ways[0] if ways else None,
        or_else=ways[1:],
    )
