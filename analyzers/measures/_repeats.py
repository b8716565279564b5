"""One place, one pair: a way that ends where two faces meet belongs to one of them."""

from collections.abc import Iterator

import numpy as np

from analyzers.measures._meeting import Ways, square
from analyzers.measures._sights import angle_deg
from analyzers.measures._surface import analytic, feet, outward
from analyzers.model.arrays import Bools, unit
from analyzers.model.part import Part
from analyzers.tolerance import SAME_LENGTH_MM, SAME_PLACE_MM


def repeats(part: Part, ways: Ways) -> Bools:
    """Return (N,) True for ways that another of them tells already; `ways` the thinnest first, one for each pair.

    Another tells it where one of its faces is the same, the other one touches this way's face, is as near, and holds
    the end of this way: it stands square on that face, as at the corner between a pocket's wall and its floor; or the
    other simply comes first, as with the two flanks of a groove over a floor.
    """
    repeated = np.zeros(len(ways.first), dtype=bool)
    rows = np.array(list(_candidates(part, ways)), dtype=np.int64).reshape(-1, 4)
    if not len(rows):
        return repeated
    way, other, beside, at_second = rows.T
    last = at_second == 1
    end = np.where(last[:, None], ways.second_mm[way], ways.first_mm[way])
    known = analytic(part, beside)
    holds = known & (np.linalg.norm(feet(part, beside, end) - end, axis=1) <= SAME_PLACE_MM)
    across = unit(ways.second_mm - ways.first_mm)[way]
    tilt = angle_deg(across, outward(part, beside, end))
    upright = square(np.minimum(tilt, 180.0 - tilt))
    for row in np.flatnonzero(holds & (upright | (other < way))).tolist():
        if not repeated[other[row]]:  # two ways that tell one another are one: the later stays
            repeated[way[row]] = True
    return repeated


def _candidates(part: Part, ways: Ways) -> Iterator[tuple[int, int, int, int]]:
    """Yield (way, other way, the face it has instead, 1 where that is the second face) of ways that are as long."""
    sides = part.edge_faces[(part.edge_faces >= 0).all(axis=1)]
    beside: dict[int, set[int]] = {}
    for a, b in np.concatenate([sides, sides[:, ::-1]]).tolist():
        if a != b:
            beside.setdefault(a, set()).add(b)
    ordered = {face: sorted(others) for face, others in beside.items()}
    length = ways.length_mm.tolist()
    pairs = list(zip(ways.first.tolist(), ways.second.tolist(), strict=True))
    row = {pair: index for index, pair in enumerate(pairs)}
    for way, (first, second) in enumerate(pairs):
        for kept, left, at_second in ((second, first, 0), (first, second, 1)):
            for face in ordered.get(left, ()):
                other = row.get((min(kept, face), max(kept, face)))
                if other is not None and length[other] <= length[way] + SAME_LENGTH_MM:
                    yield way, other, face, at_second
