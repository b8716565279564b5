"""Hidden-line drawings from the shared triangulation: rays to the eye tell, place by place, what of a line is hidden.

Where two neighbouring places of a line differ, the line between them is halved until it is known where it begins to be
hidden. OpenCascade's polyhedral hidden-line removal takes up to five times as long, half of it for making edges and
reading their ends.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Final, Self

import numpy as np

from analyzers.kernel.exact import ExactGeometry
from analyzers.kernel.mesh_edges import INNER, SMOOTH, MeshEdges, in_chains, mesh_edges
from analyzers.model.arrays import Bools, Floats, Ints, cross_product, spread, unit
from analyzers.model.drawing import LineDrawing, View
from analyzers.tolerance import EDGE_ON_SIN, SIGHT_ASIDE_RATIO, SIGHT_START_RATIO

MOST_HIDDEN: Final = 6000
"""A drawing with more pieces of hidden line than this shows none: they would be a grey field, and weigh more than the
rest of the page."""
_STEPS: Final = 300
"""A line is looked at once in each so many parts of the drawing's longer side: 1.5 pixels of a small view."""
_HALVINGS: Final = 5
"""Then the place where a line begins to be hidden is known to a tenth of a pixel."""
_INSET: Final = 0.02
"""Of a step: how far from its ends a line is looked at first, as other lines begin there."""
_LOOKS: Final = (0.5, 0.2, 0.8)
"""Where along a hidden stretch it is looked whether it runs along the outline of what hides it."""
_SAME: Final = 1e-6
"""Of the drawing's size, and of a turn: lines nearer than this lie on one another."""


@dataclass(frozen=True, slots=True)
class _Lines:
    """N straight lines of some views."""

    view: Ints  # (N,) rising
    begin_mm: Floats  # (N, 3)
    along_mm: Floats  # (N, 3) from there to the end
    flat_mm: Floats  # (N, 2, 2) the ends in the picture
    out: Floats  # (N, 3) unit, to the eye
    size_mm: Floats  # (N,) the longer side of the view's picture
    soft: Bools  # (N,) the surface is tangent there, and turns from the eye nowhere near
    outline: Bools  # (N,) the surface turns from the eye there
    behind: Bools  # (N,) hidden by the material beside it

    def among(self, row: Ints) -> Self:
        """Return some of the lines."""
        return type(self)(*(getattr(self, each.name)[row] for each in fields(self)))


def draw_lines(geometry: ExactGeometry, views: Sequence[View]) -> list[LineDrawing]:
    """Return what is seen and what is hidden of a body in parallel projections, to the mesh's own accuracy.

    A drawing of a part that fills a page is off by less than a line's width.
    """
    edges, sound = mesh_edges(geometry.part), geometry.part.sound
    each_view = [_lines(edges, view, number, sound) for number, view in enumerate(views)]
    lines = _Lines(*(np.concatenate([getattr(some, each.name) for some in each_view]) for each in fields(_Lines)))
    lines = lines.among(_nearest(lines))
    line, begin, met = _runs(lines, geometry)
    end = np.ones(len(line))
    follows = line[1:] == line[:-1]
    end[:-1][follows] = begin[1:][follows]
    first, step = lines.flat_mm[line, 0], lines.flat_mm[line, 1] - lines.flat_mm[line, 0]
    pieces = np.stack([first + begin[:, None] * step, first + end[:, None] * step], axis=1)
    soft, view, size = lines.soft[line], lines.view[line], lines.size_mm[line]
    under = np.flatnonzero(met & ~soft)
    along = _along_outlines(lines, line[under], begin[under], end[under], geometry)
    seen = ~met & ~soft
    seen[under[along & lines.outline[line[under]]]] = True  # its own: rays along a flank that is edge-on meet it or not
    kinds = []
    for row in (np.flatnonzero(seen), np.flatnonzero(~met & soft), under[~along]):
        found, found_view = joined(pieces[row], view[row], size[row])
        kinds.append(np.split(found, np.searchsorted(found_view, np.arange(1, len(views)))))
    return [
        LineDrawing(each, visible, smooth, hidden if len(hidden) <= MOST_HIDDEN else hidden[:0])
        for each, visible, smooth, hidden in zip(views, *kinds, strict=True)
    ]


def _lines(edges: MeshEdges, view: View, number: int, sound: bool) -> _Lines:
    """Return the lines of a view: the model's edges, and where the surface turns from the eye within a face."""
    out = np.array(view.out)
    towards = edges.normal @ out
    front, back = towards > EDGE_ON_SIN, towards < -EDGE_ON_SIN
    one, other = edges.triangle.T
    inner = edges.kind == INNER
    turns = (front[one] != front[other]) | (~inner & (back[one] != back[other]))
    behind = back[one] & back[other] if sound else np.zeros(len(one), dtype=bool)
    soft = (edges.kind == SMOOTH) & ~turns
    row, outline = np.flatnonzero(~inner & ~(soft & behind)), np.flatnonzero(inner & turns)
    point = np.where(front[one[outline], None], edges.point[outline], edges.point[outline, ::-1])
    row = np.concatenate([row, outline[in_chains(*point.T)]])
    ends = edges.ends_mm[row]
    flat = ends @ np.array([view.right, view.up]).T
    size = max(float(np.ptp(flat[..., axis])) for axis in (0, 1)) if len(row) else 0.0
    return _Lines(
        view=np.full(len(row), number),
        begin_mm=ends[:, 0],
        along_mm=ends[:, 1] - ends[:, 0],
        flat_mm=flat,
        out=np.broadcast_to(out, (len(row), 3)),
        size_mm=np.full(len(row), size or 1.0),
        soft=soft[row],
        outline=turns[row],
        behind=behind[row],
    )


def _nearest(lines: _Lines) -> Ints:
    """Return the rows of lines that are no points; of those with the same ends in a picture the nearest to the eye.

    The others are hidden where it is hidden, and lie under it where it is seen.
    """
    cell = np.floor(lines.flat_mm / (_SAME * lines.size_mm[:, None, None]) + 0.5).astype(np.int64)
    cell -= cell.min(initial=0)
    place = (cell[..., 0] * (cell.max(initial=0) + 1) + cell[..., 1]) * 2 + lines.soft[:, None]  # soft ones apart
    long = np.flatnonzero(place[:, 0] != place[:, 1])
    low, high, view = place[long].min(axis=1), place[long].max(axis=1), lines.view[long]
    depth = np.einsum("ij,ij->i", lines.begin_mm[long] + lines.along_mm[long] / 2, lines.out[long])
    order = np.lexsort((-depth, high, low, view))
    new = np.ones(len(order), dtype=bool)
    new[1:] = np.any([np.diff(each[order]) != 0 for each in (low, high, view)], axis=0)
    rows: Ints = np.sort(long[order[new]])
    return rows


def _runs(lines: _Lines, geometry: ExactGeometry) -> tuple[Ints, Floats, Bools]:
    """Return for each stretch of a line what line it is of, where it begins (0..1), and whether it is hidden."""
    length = np.linalg.norm(lines.flat_mm[:, 1] - lines.flat_mm[:, 0], axis=1) * _STEPS / lines.size_mm
    count = np.where(lines.behind, 1, 2 + np.floor(length).astype(np.int64))
    line, number = spread(np.zeros_like(count), count - 1)
    inset = (_INSET / np.maximum(length, 1.0))[line]
    at = inset + (1.0 - 2.0 * inset) * number / np.maximum(count - 1, 1)[line]
    met = lines.behind[line]
    asked = ~met
    last, follower = _followed(lines, count)
    asked[last] = False
    met[asked] = _met(lines, line[asked], at[asked], geometry)
    met[last] = met[follower]
    change = np.flatnonzero((line[1:] == line[:-1]) & (met[1:] != met[:-1]))
    low, high, before, of = at[change], at[change + 1], met[change], line[change]
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        same = _met(lines, of, middle, geometry) == before
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    begin = np.where(number == 0, 0.0, at)
    begin[change + 1] = high
    kept = number == 0
    kept[change + 1] = True
    return line[kept], begin[kept], met[kept]


def _followed(lines: _Lines, count: Ints) -> tuple[Ints, Ints]:
    """Return the last places of lines at whose ends others begin, and the first places of those: they need one look."""
    joins = (lines.flat_mm[:-1, 1] == lines.flat_mm[1:, 0]).all(axis=1) & (lines.view[:-1] == lines.view[1:])
    follower = np.cumsum(count)[:-1][joins & ~lines.behind[:-1] & ~lines.behind[1:]]
    return follower - 1, follower


def _met(lines: _Lines, line: Ints, at: Floats, geometry: ExactGeometry, aside_mm: Floats | None = None) -> Bools:
    """Return (N,) whether material lies before a place of each line, 0 = its begin, 1 = its end; or aside of there."""
    out = lines.out[line]
    place = lines.begin_mm[line] + at[:, None] * lines.along_mm[line]
    place += SIGHT_START_RATIO * geometry.part.diagonal_mm * out
    return geometry.met(place if aside_mm is None else place + aside_mm, out)


def _along_outlines(lines: _Lines, line: Ints, begin: Floats, end: Floats, geometry: ExactGeometry) -> Bools:
    """Return (N,) whether a hidden stretch lies under the outline of what hides it: a little aside it would be seen."""
    aside = unit(cross_product(lines.out[line], lines.along_mm[line])) * SIGHT_ASIDE_RATIO * geometry.part.diagonal_mm
    along = np.arange(len(line))
    for share in _LOOKS:
        met = np.ones(len(along), dtype=bool)
        for side in (1.0, -1.0):
            row = along[met]
            at = begin[row] + share * (end[row] - begin[row])
            met[met] = _met(lines, line[row], at, geometry, side * aside[row])
        along = along[~met]
    found = np.zeros(len(line), dtype=bool)
    found[along] = True
    return found


def joined(pieces: Floats, view: Ints, size_mm: Floats) -> tuple[Floats, Ints]:
    """Return pieces (N, 2, 2) without those that lie along others of their view, and the views, rising as before.

    A round rim that is seen edge-on is one line.
    """
    if not len(pieces):
        return pieces, view
    step = pieces[:, 1] - pieces[:, 0]
    same = _SAME * size_mm
    turned = (step[:, 0] < -same) | ((np.abs(step[:, 0]) <= same) & (step[:, 1] < 0))
    ends = np.where(turned[:, None, None], pieces[:, ::-1], pieces)
    way = unit(ends[:, 1] - ends[:, 0])
    angle = np.round(np.arctan2(way[:, 1], way[:, 0]) / _SAME)
    off = np.round((way[:, 0] * ends[:, 0, 1] - way[:, 1] * ends[:, 0, 0]) / same)
    low, high = np.einsum("nej,nj->en", ends, way)
    order = np.lexsort((low, off, angle, view))
    new = np.ones(len(order), dtype=bool)
    new[1:] = np.any([np.diff(each[order]) != 0 for each in (off, angle, view)], axis=0)
    apart = np.cumsum(new) * float(high.max() - low.min() + size_mm.max())  # lines do not reach one another
    reach = np.maximum.accumulate(high[order] + apart)
    begins = np.ones(len(order), dtype=bool)
    begins[1:] = (low[order] + apart - same[order])[1:] > reach[:-1]
    first = np.flatnonzero(begins)
    last = np.append(first[1:], len(order)) - 1
    row = order[first]
    found = ends[row]
    found[:, 1] += (reach[last] - apart[last] - high[row])[:, None] * way[row]
    alone = first == last
    found[alone] = pieces[row[alone]]
    back_in_order = np.argsort(np.minimum.reduceat(order, first))
    return found[back_in_order], view[row[back_in_order]]
