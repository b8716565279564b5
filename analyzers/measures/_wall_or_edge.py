"""Which shortest ways cross a wall, and which an edge: see _pairs for the three cases that count."""

import numpy as np

from analyzers.measures._meeting import Ways, end_tilts, has_width, in_sight, pointed, square
from analyzers.measures._sights import exact_normals
from analyzers.measures._surface import dot
from analyzers.model.arrays import Bools, Ints, cross_product, unit
from analyzers.model.geometry import Geometry
from analyzers.model.report import Facts
from analyzers.tolerance import BLENDED_TAPER_DEG, TAPER_DEG


class WallOrEdge:
    """Judges ways across one body's material, or (`through` -1) across the air."""

    def __init__(self, facts: Facts, geometry: Geometry, through: float) -> None:
        self._facts, self._part, self._geometry, self._through = facts, facts.part, geometry, through

    def crosses_wall(self, ways: Ways, seen: Ways) -> Bools:
        """Return (N,) True where a way crosses a wall; `seen`: the sight lines that led to the ways."""
        tilts = end_tilts(self._part, self._geometry, ways, self._through)
        most = np.where(self.blended(ways.first, ways.second), BLENDED_TAPER_DEG, TAPER_DEG)
        wall: Bools = np.maximum(*tilts) <= most
        doubt = np.flatnonzero(~wall)
        for at_second, tilt in enumerate(tilts):
            ends = square(tilt[doubt])
            slant = doubt[~ends]
            ends[~ends] = self._tip(ways.only(slant), seen.only(slant), bool(at_second))
            doubt = doubt[ends]
        wall[doubt] = True
        wall[wall] = has_width(self._part, self._geometry, ways.only(wall), self._through)
        return wall

    def _tip(self, ways: Ways, seen: Ways, at_second: bool) -> Bools:
        """Return (N,) True where a way ends on a tip, or on a ridge: there, or further along beside the sight line.

        The kernel likes to answer with the end of a ridge, where one side is air; the same way moved along the ridge
        must still be one.
        """
        if not len(ways.first):
            return np.zeros(0, dtype=bool)
        face, end = (ways.second, ways.second_mm) if at_second else (ways.first, ways.first_mm)
        start = seen.second_mm if at_second else seen.first_mm
        inwards = unit(ways.first_mm - ways.second_mm) * (1.0 if at_second else -1.0)
        tip = pointed(self._geometry, end, inwards, ways.length_mm, self._through)
        ridge = unit(cross_product(exact_normals(self._part, self._geometry, face, end), inwards))
        shift = dot(start - end, ridge)[:, None] * ridge
        moved = Ways(ways.first, ways.second, ways.first_mm + shift, ways.second_mm + shift)
        sure = np.zeros(len(face), dtype=bool)
        still = in_sight(self._part, self._geometry, moved, moved.middle_mm, self._through, (sure, sure))
        rows = np.flatnonzero(still & ~tip)
        if len(rows):
            tip[rows] = pointed(self._geometry, (end + shift)[rows], inwards[rows], ways.length_mm[rows], self._through)
        return tip

    def blended(self, first: Ints, second: Ints) -> Bools:
        """Return (N,) True where a chamfer or an edge round touches both faces: their edge has been broken."""
        broken = np.isin(np.array(self._facts.face_class, dtype=object), ["chamfer", "edge_round"])
        sides = self._part.edge_faces[(self._part.edge_faces >= 0).all(axis=1)]
        beside: dict[int, set[int]] = {}
        for a, b in np.concatenate([sides, sides[:, ::-1]])[:, :].tolist():
            if broken[b]:
                beside.setdefault(a, set()).add(b)
        nothing: set[int] = set()
        return np.array(
            [
                bool(beside.get(a, nothing) & beside.get(b, nothing))
                for a, b in zip(first.tolist(), second.tolist(), strict=True)
            ],
            dtype=bool,
        )
