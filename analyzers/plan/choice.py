"""The smallest set of directions that reaches everything: an exact set cover, few and right-angled first."""

from typing import Final

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from analyzers.model.arrays import Bools, Floats
from analyzers.model.part import Part
from analyzers.plan.directions import Coverage
from analyzers.plan.frame import Frame, parallel, same_way

SLANTED_COST: Final = 0.4
"""A direction that is not square to the part's own costs this much of a setup more: it wants a sine vise or a table."""

PREFERENCE: Final = 0.05
"""All preferences together weigh this much of a setup at most: they decide between covers of one size."""


def choose(part: Part, coverage: Coverage, frame: Frame, turning: Floats | None = None) -> tuple[int, ...]:
    """Return rows of the directions to work from, the one with most to do first, then its opposite, then the others.

    Parameters
    ----------
    part, coverage, frame : the body, what reaches what, its main directions
    turning : (3,) axis of a turned part: one of its two ends is always among the directions, and comes first

    Notes
    -----
    Integer linear program (set cover), solved exactly by SciPy's HiGHS: minimise the sum of costs of the directions
    taken so that every need is reached by one of them at least.
    """
    directions = coverage.directions
    work = _work(coverage)
    appeal = _appeal(part, directions, work)
    lead = np.ones(len(directions), dtype=bool) if turning is None else parallel(directions, turning)
    taken = np.flatnonzero(_solve(_rows_to_cover(coverage), _costs(directions, frame, appeal), lead)).tolist()
    first = min((i for i in taken if lead[i]), key=lambda i: (-work[i], -appeal[i], i))
    opposite = same_way(directions, -directions[first])
    return tuple(sorted(taken, key=lambda i: (i != first, not opposite[i], -work[i], i)))


def _work(coverage: Coverage) -> Floats:
    """Return (D,) how many features each direction makes; one that several can make is shared between them."""
    work = np.zeros(len(coverage.directions))
    for need in coverage.needs:
        if need.feature is not None and need.reached.any():
            own = same_way(coverage.directions, np.array(need.feature.direction)) & need.reached
            work += need.reached / need.reached.sum() + own
    return work


def _appeal(part: Part, directions: Floats, work: Floats) -> Floats:
    """Return (D,) 0..1 how much speaks for a direction: features made from it, and area that faces it."""
    facing = np.nan_to_num(directions @ part.face_normal.T).clip(0.0)  # (D, F)
    area = facing**2 @ part.face_area_mm2
    share: Floats = 0.5 * work / max(float(work.sum()), 1.0) + 0.5 * area / max(part.area_mm2, 1e-12)
    return share


def _costs(directions: Floats, frame: Frame, appeal: Floats) -> Floats:
    """Return (D,) the cost of a setup from each direction, about 1; ties go to the earlier row."""
    square = same_way(directions[:, None, :], frame.six[None, :, :]).any(axis=1)
    order = np.arange(len(directions)) / max(len(directions), 1)
    costs: Floats = 1.0 + np.where(square, 0.0, SLANTED_COST) - PREFERENCE * appeal + 0.01 * PREFERENCE * order
    return costs


def _rows_to_cover(coverage: Coverage) -> Bools:
    """Return (N, D) the distinct needs that something reaches."""
    reached = [need.reached for need in coverage.needs if need.reached.any()]
    if not reached:
        return np.zeros((0, len(coverage.directions)), dtype=bool)
    return np.unique(np.array(reached), axis=0)


def _solve(rows: Bools, costs: Floats, lead: Bools) -> Bools:
    """Return (D,) which directions to take: every row reached, at least one of those that may lead, least cost."""
    matrix = np.vstack([rows, lead]).astype(float)
    result = milp(
        c=costs,
        constraints=LinearConstraint(matrix, lb=1.0, ub=np.inf),
        integrality=np.ones(len(costs), dtype=np.int64),
        bounds=Bounds(0.0, 1.0),
    )
    assert result.x is not None, result.message  # no row is empty, so taking everything is always a solution
    taken: Bools = np.round(result.x).astype(bool)
    return taken
