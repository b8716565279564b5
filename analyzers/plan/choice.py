"""The smallest set of directions that reaches everything: an exact set cover, few and right-angled first."""

from functools import lru_cache
from typing import Final

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from analyzers.model.arrays import Bools, Floats, frozen
from analyzers.model.part import Part, Surface
from analyzers.plan.directions import Coverage, Need, open_below
from analyzers.plan.frame import Frame, parallel, same_way

SLANTED_COST: Final = 0.4
"""A direction that is not square to the part's own costs this much of a setup more: it wants a sine vise or a table."""

WORTH_A_SETUP: Final = 0.02
"""A slanted setup is only made for loose patches of this share of the skin together (judgement)."""

PREFERENCE: Final = 0.05
"""All preferences together weigh this much of a setup at most: they decide between covers of one size."""

SAME_APPEAL: Final = 1e-6
"""Appeals that differ by less are equal, for they are sums of rounded areas: then the earlier direction is taken."""


def choose(part: Part, coverage: Coverage, frame: Frame, turning: Floats | None = None) -> tuple[int, ...]:
    """Return rows of the directions to work from, the one with most to do first, then its opposite, then the others.

    Parameters
    ----------
    part, coverage, frame : the body, what reaches what, its main directions
    turning : (3,) axis of a turned part: one of its two ends is always among the directions, and comes first

    Notes
    -----
    Integer linear program (set cover), solved exactly by SciPy's HiGHS: minimise the sum of costs of the directions
    taken so that every need is reached by one of them at least. Small patches that only slanted directions reach are
    let go where a setup more for them would be out of proportion.
    """
    directions = coverage.directions
    work = _work(coverage)
    appeal = _appeal(part, directions, work)
    lead = np.ones(len(directions), dtype=bool) if turning is None else parallel(directions, turning)
    square = np.asarray(same_way(directions[:, None, :], frame.six[None, :, :]).any(axis=1))
    must, may, worth = _rows(coverage, square, part.area_mm2)
    costs = _costs(square, appeal)
    taken = np.flatnonzero(_solve(np.vstack([must, lead]), may, worth, costs)).tolist()
    most = [(-round(work[i] / SAME_APPEAL), -round(appeal[i] / SAME_APPEAL), i) for i in range(len(directions))]
    first = min((i for i in taken if lead[i]), key=most.__getitem__)
    opposite = same_way(directions, -directions[first])
    return tuple(sorted(taken, key=lambda i: (i != first, not opposite[i], most[i])))


def asks_the_same(part: Part, coverage: Coverage, like: Coverage) -> bool:
    """Return whether `choose` is sure to take the same directions as for another coverage of the same faces."""
    before = like.table.part
    return (
        coverage.directions is like.directions
        and part.face_area_mm2 is before.face_area_mm2
        and part.area_mm2 == before.area_mm2
        and len(coverage.needs) == len(like.needs)
        and all(map(_equal, coverage.needs, like.needs))
    )


def _equal(one: Need, other: Need) -> bool:
    """Return whether two needs weigh the same when directions are chosen."""
    if one is other:
        return True
    if one.feature is None or other.feature is None:
        return False
    return one.feature.direction == other.feature.direction and np.array_equal(one.reached, other.reached)


def _work(coverage: Coverage) -> Floats:
    """Return (D,) how many features each direction makes; one that several can make is shared between them."""
    made = [each for each in coverage.needs if each.feature is not None and each.reached.any()]
    if not made:
        return np.zeros(len(coverage.directions))
    reached = np.array([each.reached for each in made])  # (n, D)
    features = [each.feature for each in made if each.feature is not None]
    ways = np.array([each.direction for each in features])
    either = np.array([open_below(each) for each in features])[:, None]  # which end is theirs says nothing
    own = same_way(coverage.directions, ways[:, None, :]) | either & same_way(coverage.directions, -ways[:, None, :])
    own &= reached
    work: Floats = (reached / reached.sum(axis=1, keepdims=True) + own).sum(axis=0)
    return work


def _appeal(part: Part, directions: Floats, work: Floats) -> Floats:
    """Return (D,) 0..1 how much speaks for a direction: features made from it, and flat area that faces it.

    Flat alone, for the middle normal of a round face hangs on its triangles, and so on how the part lies.
    """
    flat = part.face_surface == Surface.PLANE
    facing = np.nan_to_num(directions @ part.face_normal[flat].T).clip(0.0)  # (D, flat faces)
    area = facing**2 @ part.face_area_mm2[flat]
    share: Floats = 0.5 * work / max(float(work.sum()), 1.0) + 0.5 * area / max(part.area_mm2, 1e-12)
    return share


def _rows(coverage: Coverage, square: Bools, area_mm2: float) -> tuple[Bools, Bools, Floats]:
    """Return the distinct needs that must be reached, those that may be let go, and what each of these is worth."""
    none = np.zeros((0, len(square)), dtype=bool)
    wanted = [each for each in coverage.needs if each.reached.any()]
    loose = [each.feature is None and not each.far_end and not each.reached[square].any() for each in wanted]
    hard = [each.reached for each, let_go in zip(wanted, loose, strict=True) if not let_go]
    soft: dict[bytes, tuple[Bools, float]] = {}
    for each, let_go in zip(wanted, loose, strict=True):
        if let_go:
            _, worth = soft.get(each.reached.tobytes(), (each.reached, 0.0))
            soft[each.reached.tobytes()] = (each.reached, worth + each.area_mm2 / (area_mm2 * WORTH_A_SETUP))
    must = np.unique(np.array(hard), axis=0) if hard else none
    may = np.array([reached for reached, _ in soft.values()]) if soft else none
    return must, may, np.array([worth for _, worth in soft.values()])


def _costs(square: Bools, appeal: Floats) -> Floats:
    """Return (D,) the cost of a setup from each direction, about 1; ties go to the earlier row."""
    order = np.arange(len(square)) / max(len(square), 1)
    liked = PREFERENCE * (appeal - SAME_APPEAL * order)
    costs: Floats = 1.0 + np.where(square, 0.0, SLANTED_COST) - liked
    return costs


def _solve(must: Bools, may: Bools, worth: Floats, costs: Floats) -> Bools:
    """Return (D,) which directions to take at least cost.

    Every row of `must` is reached by one of them; a row of `may` as well, or its worth is paid instead. Where what
    only one direction makes calls for all that is needed, nothing is left to solve.
    """
    forced: Bools = must[must.sum(axis=1) == 1].any(axis=0)
    if bool(must[:, forced].any(axis=1).all() and may[:, forced].any(axis=1).all()):
        return forced
    return _solved(must.tobytes(), may.tobytes(), worth.tobytes(), costs.tobytes())


@lru_cache(maxsize=64)  # most changes that `what_if` tries leave the program as it was; solving it takes 2 to 4 ms
def _solved(must_bytes: bytes, may_bytes: bytes, worth_bytes: bytes, costs_bytes: bytes) -> Bools:
    """Return the answer of `_solve` by integer programming; what it is given are the bytes of its arrays."""
    worth, costs = np.frombuffer(worth_bytes), np.frombuffer(costs_bytes)
    count, spare = len(costs), len(worth)
    must, may = (np.frombuffer(each, dtype=bool).reshape(-1, count) for each in (must_bytes, may_bytes))
    matrix = np.vstack(
        [
            np.hstack([must, np.zeros((len(must), spare))]),
            np.hstack([may, np.eye(spare)]),
        ]
    )
    result = milp(
        c=np.concatenate([costs, worth]),
        constraints=LinearConstraint(matrix, lb=1.0, ub=np.inf),
        integrality=np.ones(count + spare, dtype=np.int64),
        bounds=Bounds(0.0, 1.0),
        options={"mip_rel_gap": 0.0},  # preferences are smaller than the gap that is let pass otherwise
    )
    assert result.x is not None, result.message  # no row is empty, so taking everything is always a solution
    taken: Bools = frozen(np.round(result.x[:count]).astype(bool))
    return taken


def left_over(coverage: Coverage, order: tuple[int, ...]) -> tuple[int, ...]:
    """Return the faces of which the chosen directions leave something that another would reach."""
    left = {
        face
        for need in coverage.needs
        if need.feature is None and need.reached.any() and not need.reached[list(order)].any()
        for face in need.faces
    }
    return tuple(sorted(left))
