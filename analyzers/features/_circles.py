"""Bolt circles: equal features that divide a circle evenly, with one place empty at most."""

from dataclasses import dataclass

import numpy as np

from analyzers.features._families import labels
from analyzers.model.arrays import Floats, Ints
from analyzers.tolerance import TWIN_PLACE_MM

_IN_LINE = 1e-12  # of the spread of points squared: they lie in a line
LEAST_SLOTS_WITH_GAP = 5
"""Judgement: three of four is as often meant (a key, a vent) as forgotten; four of five is not."""


@dataclass(frozen=True, slots=True, eq=False)
class Order:
    """Points in an order. `members`: rows of the points; `gap`: the one empty place, None where there is none."""

    members: Ints
    gap: Floats | None = None  # (2,)
    centre: Floats | None = None  # (2,) circles only
    slots: int = 0  # circles only: members and gap together


def circles(flat: Floats, centres: Floats, about_all: bool = True) -> list[Order]:
    """Return the bolt circles among (N, 2) points, fullest first, no point in two.

    Parameters
    ----------
    flat : (N, 2) places across the axis, mm
    centres : (C, 2) axes of round faces of the part, widest first
    about_all : points that share a circle about none of the centres make a bolt circle when all of them do, three or
        at least five: any four corners of a rectangle lie on a circle
    """
    found: list[Order] = []
    left = np.arange(len(flat))
    while len(left) >= 3:
        about = centres
        if about_all and len(left) != 4:
            own = _circumcentre(flat[left])
            about = centres if own is None else np.concatenate([centres, own])
        best = _fullest(flat[left], about)
        if best is None:
            break
        found.append(Order(left[best.members], best.gap, best.centre, best.slots))
        left = np.delete(left, best.members)
    return found


def _circumcentre(flat: Floats) -> Floats | None:
    """Return (1, 2) the centre of the circle through all points; None where they lie on none."""
    middle = flat.mean(axis=0)
    offset = flat - middle
    square = np.einsum("ij,ij->i", offset, offset)
    (xx, xy), (_, yy) = (offset.T @ offset).tolist()
    x, y = (0.5 * (square @ offset)).tolist()
    within = xx * yy - xy * xy
    if within <= _IN_LINE * (xx + yy) ** 2:
        return None
    found = np.array([yy * x - xy * y, xx * y - xy * x]) / within  # the normal equations, about the middle
    away = offset - found
    radius = np.sqrt(np.einsum("ij,ij->i", away, away))
    centre: Floats = (middle + found)[None, :]
    return centre if np.ptp(radius) <= TWIN_PLACE_MM else None


def _fullest(flat: Floats, centres: Floats) -> Order | None:
    """Return the evenly divided circle about one of the centres that holds most points."""
    best: Order | None = None
    offset = flat[None, :, :] - centres[:, None, :]
    radius = np.sqrt(np.einsum("ijk,ijk->ij", offset, offset))  # (C, N)
    ranked = np.sort(radius, axis=1)
    three = (ranked[:, 2:] - ranked[:, :-2] <= 2 * TWIN_PLACE_MM).any(axis=1)
    centres, radius = centres[three], radius[three]
    ring = labels(radius.T, TWIN_PLACE_MM).T if len(centres) else np.empty((0, len(flat)), dtype=np.int64)
    for row, centre in enumerate(centres):
        counts = np.bincount(ring[row])
        for each in np.flatnonzero(counts >= max(3, len(best.members) + 1 if best else 3)).tolist():
            members = np.flatnonzero(ring[row] == each)
            order = _divided(flat, members, centre)
            if order is not None and (best is None or len(members) > len(best.members)):
                best = order
    return best


def _divided(flat: Floats, members: Ints, centre: Floats) -> Order | None:
    """Return the members as a circle divided evenly, one place empty at most; None where it is not.

    Several even circles of one diameter, each turned against the others, are found one by one.
    """
    offset = flat[members] - centre
    radius = float(np.linalg.norm(offset, axis=1).mean())
    if radius <= TWIN_PLACE_MM:
        return None
    angle = np.degrees(np.arctan2(offset[:, 1], offset[:, 0])) % 360.0
    order = np.argsort(angle, kind="stable")
    angle, members = angle[order], members[order]
    steps = np.diff(np.append(angle, angle[0] + 360.0))
    slack = 2.0 * float(np.degrees(TWIN_PLACE_MM / radius))
    every = _period(steps, slack)
    if every is not None:
        return Order(np.sort(members[::every]), None, centre, len(members) // every)
    slots = len(members) + 1
    times = steps * slots / 360.0
    uneven = np.abs(times - np.round(times)).max() * 360.0 / slots > slack
    if slots < LEAST_SLOTS_WITH_GAP or uneven or np.round(times).min() < 1:
        return None
    start = np.radians(angle[int(np.argmax(times))] + 360.0 / slots)
    gap = centre + radius * np.array([np.cos(start), np.sin(start)])
    return Order(np.sort(members), gap, centre, slots)


def _period(steps: Floats, slack: float) -> int | None:
    """Return after how many steps they repeat, at least three times a turn; None where they do not."""
    for every in range(1, len(steps) // 3 + 1):
        if len(steps) % every == 0:
            rounds = steps.reshape(-1, every)
            if np.ptp(rounds, axis=0).max() <= 2.0 * slack:
                return every
    return None
