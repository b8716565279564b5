"""From sight lines to one shortest way for each pair of faces that really have a wall (or a gap) between them.

Four ways to the number, the first that holds wins:

1. parallel planes: the distance of the planes;
2. plane, cylinder, cone, sphere, torus: the sight line shortened on the exact surfaces (see _meeting);
3. the same from the lines and arcs that bound the faces, for thin tapers and ridges;
4. the thinnest sight line, as exact as the shared mesh; marked `exact` False. Where that is the thinnest of all, the
   kernel is asked for the exact distance of the two bounded faces.

An edge is no wall. A way is taken for one where it stands square on both faces; where one end is a tip or ridge with
material all round (the drill point over a floor); or where it ends at a border and the faces are nearly parallel there
(the thin end of a tapered plate). Where it shrinks to nothing because the faces meet, the faces make an edge.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from analyzers.measures._borders import border_edges, edge_feet, ways_to_edges, ways_to_face
from analyzers.measures._meeting import (
    Ways,
    across_rings,
    follow_normals,
    in_sight,
    shorten,
    thin_ends,
)
from analyzers.measures._repeats import repeats
from analyzers.measures._sights import Sights
from analyzers.measures._surface import analytic
from analyzers.measures._wall_or_edge import WallOrEdge
from analyzers.model.arrays import Bools, Floats, Ints, Vec, among, vec
from analyzers.model.geometry import Geometry
from analyzers.model.part import Surface
from analyzers.model.report import Facts
from analyzers.tolerance import (
    BORDER_PAIRS_MOST,
    BORDER_SIGHT_RATIO,
    CLOSEST_EDGES_MOST,
    CLOSEST_FREE_EDGES_MOST,
    CLOSEST_MOST,
    LEVEL_TILT_DEG,
    LISTED_MM,
    LISTED_PER_DIAGONAL,
    NUDGE_RATIO,
    SAME_LENGTH_MM,
    SAME_PLACE_MM,
    TAPER_DEG,
)

_UNSET, _EDGE, _FOUND = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Between:
    """What lies between two faces at its thinnest; `first < second`, or equal for a face opposite itself."""

    first: int
    second: int
    thickness_mm: float
    first_mm: Vec
    second_mm: Vec
    exact: bool

    @property
    def faces(self) -> tuple[int, ...]:
        """The two faces, or the one that is opposite itself."""
        return (self.first,) if self.first == self.second else (self.first, self.second)


class Pairs:
    """The pairs of faces in some sight lines, and what was found between each."""

    def __init__(self, facts: Facts, geometry: Geometry, sights: Sights, through: float) -> None:
        self.part, self.geometry, self.through = facts.part, geometry, through
        self.judge = WallOrEdge(facts, geometry, through)
        key = sights.first * self.part.n_faces + sights.second
        order = np.lexsort((sights.distance_mm, key))
        self.sights = sights.only(order)
        self.start = np.flatnonzero(np.append(True, np.diff(key[order]) != 0)) if len(key) else np.zeros(0, int)
        self.size = np.diff(np.append(self.start, len(key)))
        self.of_sight = np.repeat(np.arange(len(self.start)), self.size)
        self.first, self.second = self.sights.first[self.start], self.sights.second[self.start]
        n = len(self.start)
        self.state = np.full(n, _UNSET)
        self.exact = np.ones(n, dtype=bool)
        self.length = np.full(n, np.inf)
        self.ends = np.full((n, 2, 3), np.nan)

    def found(self) -> tuple[Between, ...]:
        """Return what is between the pairs, thinnest first; pairs that only make an edge are left out."""
        if len(self.start):
            self._parallel_planes()
            self._shorten_sights()
            self._search_borders()
            self._take_sights()
            self._ask_kernel()
        rows = np.flatnonzero(self.state == _FOUND)
        rows = rows[np.lexsort((self.second[rows], self.first[rows], self.length[rows]))]
        ways = Ways(self.first[rows], self.second[rows], self.ends[rows, 0], self.ends[rows, 1])
        rows = rows[~repeats(self.part, ways)]
        return tuple(
            Between(
                first=int(self.first[row]),
                second=int(self.second[row]),
                thickness_mm=float(self.length[row]),
                first_mm=vec(self.ends[row, 0]),
                second_mm=vec(self.ends[row, 1]),
                exact=bool(self.exact[row]),
            )
            for row in rows.tolist()
        )

    def _settle(self, pair: Ints, ways: Ways, exact: bool) -> None:
        """Keep the shortest way of each pair."""
        length = ways.length_mm
        for row in np.lexsort((length, pair)).tolist():
            which = int(pair[row])
            if length[row] < self.length[which]:
                self.state[which], self.exact[which], self.length[which] = _FOUND, exact, length[row]
                self.ends[which] = (ways.first_mm[row], ways.second_mm[row])

    def _ways(self, rows: Ints) -> Ways:
        s = self.sights
        return Ways(s.first[rows], s.second[rows], s.first_mm[rows], s.second_mm[rows])

    def _parallel_planes(self) -> None:
        """Settle pairs of planes that are parallel over their whole extent, at the sight line nearest their middle."""
        part = self.part
        flat = (part.face_surface[self.first] == Surface.PLANE) & (part.face_surface[self.second] == Surface.PLANE)
        extents = self._extents()
        extent = np.minimum(extents[self.first], extents[self.second])
        tilt = np.radians(np.fmin.reduceat(self.sights.tilt_deg, self.start))
        pairs = np.flatnonzero(flat & (np.sin(tilt) * extent <= SAME_LENGTH_MM))
        if not len(pairs):
            return
        rows = np.flatnonzero(np.isin(self.of_sight, pairs) & np.isfinite(self.sights.tilt_deg))
        owner = self.of_sight[rows]
        point = 0.5 * (self.sights.first_mm[rows] + self.sights.second_mm[rows])
        count = np.bincount(owner, minlength=len(self.start))
        total = [np.bincount(owner, weights=p, minlength=len(self.start)) for p in point.T]
        middle = np.stack(total, axis=1).astype(float) / np.maximum(count, 1)[:, None]
        off = np.linalg.norm(point - middle[owner], axis=1)
        order = np.lexsort((off, owner))
        pick = rows[order[np.append(True, np.diff(owner[order]) != 0)]]
        self._settle(self.of_sight[pick], self._ways(pick), exact=True)

    def _extents(self) -> Floats:
        """Return (F,) at least the largest dimension of each face: the diagonal of its mesh's box."""
        mesh = self.part.mesh
        order = np.argsort(mesh.triangle_face, kind="stable")
        owner = mesh.triangle_face[order]
        begin = np.flatnonzero(np.append(True, np.diff(owner) != 0))
        corner = mesh.point_mm[mesh.triangle[order]]
        low = np.minimum.reduceat(corner.min(axis=1), begin)
        high = np.maximum.reduceat(corner.max(axis=1), begin)
        extent = np.zeros(self.part.n_faces)
        extent[owner[begin]] = np.linalg.norm(high - low, axis=1)
        return extent

    def _shorten_sights(self) -> None:
        """Settle pairs of analytic faces by shortening their thinnest and their most level sight line."""
        part, sights = self.part, self.sights
        fit = (self.state == _UNSET) & analytic(part, self.first) & analytic(part, self.second)
        level = np.lexsort((sights.tilt_deg, self.of_sight))[self.start]
        rows = np.concatenate([self.start[fit], level[fit]])
        flat = (part.face_surface[sights.first[rows]] == Surface.PLANE) & (
            part.face_surface[sights.second[rows]] == Surface.PLANE
        )
        rows = np.unique(rows[~flat])
        itself = sights.first[rows] == sights.second[rows]
        self._settle_self(rows[itself])
        rows = rows[~itself]
        if not len(rows):
            return
        before = self._ways(rows)
        after = shorten(part, before)
        met = after.length_mm <= SAME_PLACE_MM
        sure = np.zeros(len(rows), dtype=bool)
        clear = in_sight(part, self.geometry, after, before.middle_mm, self.through, (sure, sure))
        kept = np.flatnonzero(clear & ~met)
        wall = self.judge.crosses_wall(after.only(kept), before.only(kept))
        self._settle(self.of_sight[rows[kept[wall]]], after.only(kept[wall]), exact=True)
        edge = self.of_sight[rows[kept[~wall]]]
        self.state[edge[self.state[edge] == _UNSET]] = _EDGE

    def _settle_self(self, rows: Ints) -> None:
        """Settle faces opposite themselves: rods, balls and rings by their diameter, tapers at their thin end."""
        part = self.part
        face, kind = self.sights.first[rows], part.face_surface[self.sights.first[rows]]
        straight = rows[(kind == Surface.CYLINDER) | (kind == Surface.SPHERE)]
        self._settle(self.of_sight[straight], self._ways(straight), exact=True)
        thin = rows[(kind == Surface.CONE) & (2.0 * part.face_half_angle_deg[face] <= TAPER_DEG)]
        ways = thin_ends(part, self._ways(thin))
        whole = np.flatnonzero(ways.length_mm > SAME_PLACE_MM)
        self._settle(self.of_sight[thin[whole]], ways.only(whole), exact=True)
        rings = rows[kind == Surface.TORUS]
        ways, whole = across_rings(part, self._ways(rings))
        self._settle(self.of_sight[rings[whole]], ways.only(whole), exact=True)
        cones = self.of_sight[rows[kind == Surface.CONE]]
        self.state[cones[self.state[cones] == _UNSET]] = _EDGE

    def _search_borders(self) -> None:
        """Settle open pairs of analytic faces by their shortest way from a border, where that is a wall."""
        part, sights = self.part, self.sights
        thinnest = sights.distance_mm[self.start]
        fit = (self.state == _UNSET) & analytic(part, self.first) & analytic(part, self.second)
        fit &= thinnest <= BORDER_SIGHT_RATIO * self._worth_mm()
        opened = np.flatnonzero(fit & (self.first != self.second) & ~self._touching)
        opened = opened[np.lexsort((opened, thinnest[opened]))][:BORDER_PAIRS_MOST]
        if not len(opened):
            return
        taper = np.fmin.reduceat(sights.tilt_deg, self.start)[opened] <= TAPER_DEG
        for back in (False, True):
            self._search_from_edges(opened, taper, back)

    def _search_from_edges(self, opened: Ints, taper: Bools, back: bool) -> None:
        """Settle pairs by ways from the edges of their first (or, back, second) face to the other face or its edges."""
        part, sights = self.part, self.sights
        here, there = (self.second, self.first) if back else (self.first, self.second)
        row, edge = border_edges(part, here[opened], taper)
        owner = opened[row]
        seen = self.start[owner]
        start = (sights.second_mm if back else sights.first_mm)[seen]
        ways = ways_to_face(part, edge, here[owner], there[owner], start)
        most = (1.0 + NUDGE_RATIO) * sights.distance_mm[self.start]
        short = np.flatnonzero(ways.length_mm <= most[owner])
        missed = short[~self._take_ways(owner[short], ways.only(short), back, foot=True)]
        place, between = ways_to_edges(part, edge[missed], ways.only(missed), taper[row[missed]])
        owner = owner[missed[place]]
        short = np.flatnonzero(between.length_mm <= most[owner])
        self._take_ways(owner[short], between.only(short), back, foot=False)

    def _take_ways(self, pair: Ints, ways: Ways, back: bool, foot: bool) -> Bools:
        """Settle pairs by those ways that are clear and cross a wall; return (N,) which were clear."""
        if back:
            ways = Ways(ways.second, ways.first, ways.second_mm, ways.first_mm)
        seen = self._ways(self._nearest_sight(pair, ways.middle_mm))
        dropped = np.full(len(pair), foot)
        ends = (dropped, ~dropped) if back else (~dropped, dropped)
        if not foot:
            ends = (dropped, dropped)
        clear = in_sight(self.part, self.geometry, ways, seen.middle_mm, self.through, ends)
        rows = np.flatnonzero(clear)
        wall = rows[self.judge.crosses_wall(ways.only(rows), seen.only(rows))]
        self._settle(pair[wall], ways.only(wall), exact=True)
        return clear

    def _worth_mm(self) -> float:
        """Return the thickness up to which a better answer is worth the search: what is listed, or the least so far."""
        return max(LISTED_MM, LISTED_PER_DIAGONAL * self.part.diagonal_mm, float(self.length.min()))

    def _nearest_sight(self, pair: Ints, point_mm: Floats) -> Ints:
        """Return (N,) for each point the sight line of its pair whose middle is nearest."""
        sights = self.sights
        count = self.size[pair]
        row = np.repeat(np.arange(len(pair)), count)
        place = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
        sight = self.start[pair[row]] + place
        off = np.linalg.norm(0.5 * (sights.first_mm[sight] + sights.second_mm[sight]) - point_mm[row], axis=1)
        order = np.lexsort((off, row))
        nearest: Ints = sight[order[np.append(True, np.diff(row[order]) != 0)]] if len(row) else sight
        return nearest

    def _ask_kernel(self) -> None:
        """Ask the kernel for the bounded faces' distance where the thinnest of all is not exact yet."""
        edges = np.bincount(self.part.coedge_face, minlength=self.part.n_faces)
        plain = analytic(self.part, self.first) & analytic(self.part, self.second)
        most = np.where(plain, CLOSEST_EDGES_MOST, CLOSEST_FREE_EDGES_MOST)
        fit = (edges[self.first] * edges[self.second] <= most) & ~self._touching & (self.first != self.second)
        for _ in range(CLOSEST_MOST):
            thinnest = int(np.argmin(self.length))
            if self.exact[thinnest] or not fit[thinnest]:
                return
            fit[thinnest] = False
            self._ask_kernel_about(thinnest)

    def _ask_kernel_about(self, pair: int) -> None:
        """Take the kernel's shortest way between two faces, where it crosses a wall."""
        answer = self.geometry.closest(int(self.first[pair]), int(self.second[pair]))
        if answer is None or answer.distance_mm <= SAME_PLACE_MM:
            return
        one = np.array([pair])
        ends = np.array([answer.first_mm]), np.array([answer.second_mm])
        way = Ways(self.first[one], self.second[one], *ends)
        seen = self._ways(self._nearest_sight(one, way.middle_mm))
        sure = np.array([False])
        if not in_sight(self.part, self.geometry, way, seen.middle_mm, self.through, (sure, sure))[0]:
            return
        if self.judge.crosses_wall(way, seen)[0]:
            self._settle(one, way, exact=True)

    def _take_sights(self) -> None:
        """Settle what is left by its thinnest sight line between nearly parallel places.

        Two faces that touch make an edge there, so only their level places count, and between planes nothing does.
        """
        part, sights = self.part, self.sights
        touching = self._touching | (self.first == self.second)
        planes = (part.face_surface[self.first] == Surface.PLANE) & (part.face_surface[self.second] == Surface.PLANE)
        self.state[(self.state == _UNSET) & touching & planes] = _EDGE
        level = np.lexsort((sights.tilt_deg, self.of_sight))[self.start]
        walk = (self.state == _UNSET) & touching & (sights.distance_mm[level] <= self._worth_mm())
        rows = level[walk & (sights.tilt_deg[level] <= LEVEL_TILT_DEG)]
        if len(rows):
            ways, whole = follow_normals(part, self.geometry, self._ways(rows), self.through)
            self._settle(self.of_sight[rows[whole]], ways.only(whole), exact=True)
        most = np.where(touching | self.judge.blended(self.first, self.second), LEVEL_TILT_DEG, TAPER_DEG)
        rows = np.flatnonzero((self.state[self.of_sight] == _UNSET) & (sights.tilt_deg <= most[self.of_sight]))
        rows = rows[~self._near_shared_edge(rows)]
        self._settle(self.of_sight[rows], self._ways(rows), exact=False)

    def _near_shared_edge(self, rows: Ints) -> Bools:
        """Return (N,) True for sight lines that only narrow towards an edge their two faces share, as a cusp does."""
        part, ways = self.part, self._ways(rows)
        near = np.zeros(len(rows), dtype=bool)
        sides = np.sort(part.edge_faces, axis=1)
        key = sides[:, 0] * part.n_faces + sides[:, 1]
        order = np.argsort(key, kind="stable")
        for row in np.flatnonzero(self._touching[self.of_sight[rows]] & (ways.first != ways.second)).tolist():
            pair = ways.first[row] * part.n_faces + ways.second[row]
            first, last = np.searchsorted(key, [pair, pair + 1], sorter=order)
            edges = order[first:last]
            place = np.broadcast_to(ways.middle_mm[row], (len(edges), 3))
            off = float(np.min(np.linalg.norm(edge_feet(part, edges, place) - place, axis=1)))
            near[row] = ways.length_mm[row] <= off * np.tan(np.radians(TAPER_DEG))
        return near

    @cached_property
    def _touching(self) -> Bools:
        """(pairs,) True where the two faces share an edge."""
        n = self.part.n_faces
        sides = np.sort(self.part.edge_faces, axis=1)
        shared = sides[:, 0] * n + sides[:, 1]
        touching: Bools = among(self.first * n + self.second, np.sort(shared[sides[:, 0] >= 0]))
        return touching
