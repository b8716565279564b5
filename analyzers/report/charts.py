"""Charts as SVG: what the tables say, for people who would rather look. Each bar and dot has its number in words too.

Lengths are on logarithmic axes: a shop's cutters go up in ratios, and so do the sizes on drawings.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from markupsafe import Markup

from analyzers.model.arrays import Floats, triangle_normals
from analyzers.model.report import Body, Facts
from analyzers.report.german import sentence, spoken, tspan
from analyzers.report.quantity import mm_number
from analyzers.report.tables import FeatureRow
from analyzers.settings.shop import Cutter

WIDTH: Final = 620
BAR: Final = 24
MOST_BARS: Final = 10
"""Holes and pockets shown, the ones nearest to or farthest beyond the shop's reach."""
BINS: Final = 28
NEAR_DRILL: Final = 0.8
"""A drill down to this share of a hole's diameter tells how deep the shop gets there."""
_END_MILLS: Final = ("flat", "bull", "ball")
_NICE: Final = (1.0, 2.0, 5.0)
_PADDING: Final = 1.12
"""A logarithmic axis goes on this far beyond its first and last value."""
_TICK_PX: Final = 54


@dataclass(frozen=True, slots=True)
class Chart:
    """One chart: heading, what it says in a sentence, and the drawing."""

    title: str
    says: Markup
    svg: Markup


@dataclass(frozen=True, slots=True)
class _Reach:
    tag: str
    kind: str
    ratio: float
    limit: float | None


def charts(
    body: Body, holes: Sequence[FeatureRow], recesses: Sequence[FeatureRow], cutters: Sequence[Cutter]
) -> Iterable[Chart]:
    """Yield the charts that have something to show."""
    for chart in (_depths(body, holes, recesses, cutters), _radii(body, cutters), _walls(body.facts)):
        if chart is not None:
            yield chart


# --- how deep, against what the shop reaches ---


def _depths(
    body: Body, holes: Sequence[FeatureRow], recesses: Sequence[FeatureRow], cutters: Sequence[Cutter]
) -> Chart | None:
    found = [*_reaches(body, holes, cutters, "hole"), *_reaches(body, recesses, cutters, "pocket")]
    if not found:
        return None
    found.sort(key=lambda each: -(each.ratio / each.limit if each.limit else each.ratio / 10))
    shown = found[:MOST_BARS]
    most = max(max(each.ratio, each.limit or 0.0) for each in shown) * 1.08
    left, right = 190, WIDTH - 96
    scale = (right - left) / most
    parts = []
    for row, each in enumerate(shown):
        y, beyond = row * BAR + 6, each.limit is not None and each.ratio > each.limit
        parts.append(
            Markup(
                '<text x="%s" y="%s" text-anchor="end">%s %s</text>'
                '<rect class="%s" x="%s" y="%s" width="%.1f" height="12"/>'
                '<text class="value" x="%.1f" y="%s">%.1f%s</text>'
            )
            % (
                *(left - 8, y + 11, tspan(each.kind), each.tag),
                *("bar beyond" if beyond else "bar", left, y + 1, each.ratio * scale),
                *(left + max(each.ratio, each.limit or 0) * scale + 8, y + 11, each.ratio),
                f" / {each.limit:.1f}" if each.limit else "",
            )
        )
        if each.limit:
            x = left + each.limit * scale
            parts.append(Markup('<path class="limit" d="M%.1f %sv18"/>') % (x, y - 2))
    over = [f"{each.kind} {each.tag}" for each in shown if each.limit is not None and each.ratio > each.limit]
    says = "Bars: depth in diameters. Upright marks: how far a drill or end mill of the shop reaches there."
    says += (
        f" Beyond it: {', '.join(over)}."
        if over
        else " Every marked one is within reach."
        if any(e.limit for e in shown)
        else ""
    )
    return Chart("How deep, against what the shop reaches", sentence(says), _svg(parts, len(shown) * BAR + 8, says))


def _reaches(body: Body, rows: Sequence[FeatureRow], cutters: Sequence[Cutter], kind: str) -> Iterable[_Reach]:
    features = {each.id: each for each in body.facts.features}
    for row in rows:
        first = features[row.features[0]]
        ratio, depth = getattr(first, "depth_ratio", None), getattr(first, "depth_mm", None)
        if not ratio or not depth:
            continue
        diameter = depth / ratio
        fitting = [
            each.reach_mm
            for each in cutters
            if each.diameter_mm <= diameter * (1 + 1e-6)
            and (each.kind in _END_MILLS if kind == "pocket" else _drills(each, diameter))
        ]
        yield _Reach(row.tag, kind, ratio, max(fitting) / diameter if fitting else None)


def _drills(cutter: Cutter, diameter_mm: float) -> bool:
    return cutter.kind == "drill" and cutter.diameter_mm >= NEAR_DRILL * diameter_mm


# --- inside radii against the cutters ---


def _radii(body: Body, cutters: Sequence[Cutter]) -> Chart | None:
    found: dict[float, int] = {}
    for each in body.facts.features:
        radius = (
            getattr(each, "corner_radius_mm", None) if each.face_class != "fillet" else getattr(each, "radius_mm", None)
        )
        shown = round(radius or 0.0, 3)
        if shown > 0.0:  # a radius of less is none that a logarithmic axis or a drawing shows
            found[shown] = found.get(shown, 0) + 1
    if not found:
        return None
    shelf = sorted({each.diameter_mm / 2 for each in cutters if each.kind in _END_MILLS})
    x = _Axis([*found, *shelf], 20, WIDTH - 20)
    parts = [Markup('<path class="axis" d="M20 70H%s"/>') % (WIDTH - 20)]
    parts += [Markup('<path class="shelf" d="M%.1f 70v14"/>') % x(radius) for radius in shelf]
    smallest = shelf[0] if shelf else 0.0
    for radius, count in found.items():
        beyond = radius < smallest
        half = 4.0 + min(8.0, 2.0 * math.sqrt(count))
        if beyond:
            square = Markup('<rect class="dot beyond" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>')
            parts.append(square % (x(radius) - half, 50 - half, 2 * half, 2 * half))
        else:
            parts.append(Markup('<circle class="dot" cx="%.1f" cy="50" r="%.1f"/>') % (x(radius), half))
    parts += _spaced((x(radius), f"{count}×", 50 - 18) for radius, count in sorted(found.items()))
    parts += _ticks(x, 100)
    says = "Dots: inside radii of the part, larger where there are more. Strokes below: radii of the shop's end mills."
    small = [f"R{mm_number(radius)}" for radius in sorted(found) if radius < smallest]
    says += f" No end mill is small enough for {', '.join(small)}." if small else ""
    return Chart("Inside radii, against the cutters on the shelf", sentence(says), _svg(parts, 106, says))


# --- how thick ---


def _walls(facts: Facts) -> Chart | None:
    if facts.thickness_mm is None:
        return None
    known = np.isfinite(facts.thickness_mm) & (facts.thickness_mm > 0)
    if not known.any():
        return None
    thickness, area = facts.thickness_mm[known], _areas(facts)[known]
    x = _Axis([float(thickness.min()), float(thickness.max())], 20, WIDTH - 20)
    edges = np.geomspace(x.low, x.high, BINS + 1)
    share, _ = np.histogram(thickness, edges, weights=area)
    total = float(share.sum())
    if total <= 0:
        return None
    share = share / total
    most = float(share.max())
    parts = []
    for value, low, high in zip(share.tolist(), edges[:-1].tolist(), edges[1:].tolist(), strict=True):
        if value > 0:
            height = max(1.5, 78 * value / most)
            parts.append(
                Markup('<rect class="bar" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>')
                % (x(low) + 0.5, 90 - height, x(high) - x(low) - 1, height)
            )
    parts.append(Markup('<path class="axis" d="M20 90H%s"/>') % (WIDTH - 20))
    for number, wall in enumerate(facts.walls[:1], start=1):
        at = x(min(max(wall.thickness_mm, x.low), x.high))
        parts.append(
            Markup('<path class="limit" d="M%.1f 12V90"/><text class="value" x="%.1f" y="10">T%s</text>')
            % (at, at + 4, number)
        )
    parts += _ticks(x, 106)
    half = float(np.exp(np.interp(0.5, np.cumsum(share), np.log(edges[1:]))))
    says = "Share of the surface by the thickness of the material behind it; half of it has less than "
    says += f"{mm_number(round(half, 2))} mm."
    return Chart("How thick the material is", sentence(says), _svg(parts, 112, says))


def _areas(facts: Facts) -> Floats:
    mesh = facts.part.mesh
    corner = mesh.point_mm[mesh.triangle]
    cross = triangle_normals(corner)
    areas: Floats = np.linalg.norm(cross, axis=1) / 2
    return areas


# --- what they share ---


class _Axis:
    """A logarithmic axis: lengths in mm to pixels."""

    def __init__(self, values: Sequence[float], left: float, right: float) -> None:
        self.low, self.high = min(values) / _PADDING, max(values) * _PADDING
        self._left, self._scale = left, (right - left) / math.log(self.high / self.low)

    def __call__(self, value: float) -> float:
        return self._left + math.log(value / self.low) * self._scale

    def ticks(self, per_mm: float) -> Iterable[tuple[float, float]]:
        """Yield round numbers of a unit with their places; `per_mm`: how many of it make a millimetre."""
        first, last = self.low * per_mm, self.high * per_mm
        for power in range(math.floor(math.log10(first)), math.ceil(math.log10(last)) + 1):
            for step in _NICE:
                value = step * 10.0**power
                if first <= value <= last:
                    yield value, self(value / per_mm)


def _ticks(axis: _Axis, y: float) -> list[Markup]:
    """Return the numbers along an axis in both units."""
    mm = _spaced(((x, f"{value:g} mm", y) for value, x in axis.ticks(1.0)), "mm")
    inch = _spaced(((x, f"{value:g} in", y) for value, x in axis.ticks(1 / 25.4)), "in")
    return mm + inch


def _spaced(texts: Iterable[tuple[float, str, float]], name: str = "value") -> list[Markup]:
    """Return texts around their places, leaving out those that would touch the one before."""
    shown, last = [], -math.inf
    for x, text, y in texts:
        if x - last >= (_TICK_PX if name != "value" else len(text) * 9):
            shown.append(Markup('<text class="%s" x="%.1f" y="%s" text-anchor="middle">%s</text>') % (name, x, y, text))
            last = x
    return shown


def _svg(parts: Sequence[Markup], height: float, says: str) -> Markup:
    inner = Markup("").join(parts)
    return Markup('<svg class="chart" viewBox="0 0 %s %s" role="img" aria-label="%s" %s>%s</svg>') % (
        WIDTH,
        height,
        says,
        spoken(says),
        inner,
    )
