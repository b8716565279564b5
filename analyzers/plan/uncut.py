"""What each end mill of the plan leaves in the features it works on, by rolling it over the setup's height map.

Holes are drilled, and what lies under a lip is not seen from above: both are left out. The passes of a flat cutter over
a slope are taken to be as fine as wanted.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.ndimage import maximum_filter

from analyzers.features.region import Region
from analyzers.model.arrays import Bools
from analyzers.model.feature import Feature
from analyzers.model.part import Part
from analyzers.model.plan import CutterUse, Uncut
from analyzers.model.report import Facts
from analyzers.plan.bench import at_most
from analyzers.plan.heightmap import HeightMap
from analyzers.plan.reach import Around, View, extent_mm
from analyzers.plan.rolling import left_by_disc, left_by_tip, resolution_mm
from analyzers.settings import Cutter, Shop

MILLS: Final = ("flat", "bull", "ball")

STEEP: Final = 1.0
"""Height that a round tip leaves, in cells, from which it counts: a grid draws a slope of 45 degrees that well."""


@dataclass(frozen=True, slots=True)
class _Left:
    """Cells of a map and how high the material stands on them."""

    cells: Bools  # (U, V)
    mm3: float


def uncut(facts: Facts, views: dict[str, View], uses: tuple[CutterUse, ...], shop: Shop) -> tuple[Uncut, ...]:
    """Return what each mill leaves in each of its features, and what all mills of a feature leave together.

    Parameters
    ----------
    views : by feature, the view from the direction it is made from
    uses : the cutters of the plan

    Returns
    -------
    Only what is more than nothing, in the order of `uses`; then the features that their cutters leave unfinished.
    """
    known = {each.id: each for each in shop.cutters}
    features = {each.id: each for each in facts.features}
    found: list[Uncut] = []
    together: dict[str, Bools] = {}
    deepest: dict[str, tuple[str, float]] = {}
    for use in uses:
        cutter = known.get(use.cutter)
        if cutter is None or cutter.kind not in MILLS:
            continue
        for name in use.features:
            view, feature = views.get(name), features[name]
            left = _left(facts.part, view, feature, cutter) if view is not None else None
            if view is None or left is None:
                continue
            if left.cells.any():
                found.append(_record(facts, view.chart, feature, use.setup, cutter.id, left))
            together[name] = left.cells & together[name] if name in together else left.cells
            deepest[name] = (use.setup, min(left.mm3, deepest[name][1]) if name in deepest else left.mm3)
    for name, cells in together.items():
        if cells.any():
            setup, mm3 = deepest[name]
            view, feature = views[name], features[name]
            found.append(_record(facts, view.chart, feature, setup, None, _Left(cells, mm3)))
    return tuple(found)


def _record(facts: Facts, chart: HeightMap, feature: Feature, setup: str, cutter: str | None, left: _Left) -> Uncut:
    return Uncut(
        feature=feature.id,
        setup=setup,
        cutter=cutter,
        area_mm2=round(float(left.cells.sum()) * chart.cell_mm**2, 3),
        volume_mm3=round(left.mm3, 3),
        faces=_beside(facts, chart, feature, left.cells),
        resolution_mm=round(resolution_mm(chart.cell_mm, facts.part.mesh.chord_mm), 3),
    )


def _beside(facts: Facts, chart: HeightMap, feature: Feature, cells: Bools) -> tuple[int, ...]:
    """Return the faces of a feature, and the fillets along it, that have a corner of a triangle at the cells."""
    part = facts.part
    near = maximum_filter(cells, size=5)  # walls stand beside the cells they are seen at
    beside = part.edge_faces[part.edges_of(feature.faces)].ravel()
    fillets = [face for face in beside.tolist() if face >= 0 and facts.face_class[face] == "fillet"]
    rows = part.mesh.rows_of([*feature.faces, *fillets])
    place = chart.cells(part.mesh.point_mm[part.mesh.triangle[rows]].reshape(-1, 3)).reshape(-1, 3, 2)
    touched = near[place[:, :, 0], place[:, :, 1]].any(axis=1)
    return tuple(np.unique(part.mesh.triangle_face[rows[touched]]).tolist())


def _left(part: Part, view: View, feature: Feature, cutter: Cutter) -> _Left | None:
    """Return what one cutter leaves of one feature; None for kinds that are not rolled over."""
    if isinstance(feature, Region):
        return _left_on_region(view.chart, feature, cutter)
    known = view.around.get(feature.id)
    if known is None or not known.levels:
        return None
    return _left_in_cavity(part, view.chart, feature, known, cutter)


def _left_in_cavity(part: Part, chart: HeightMap, feature: Feature, known: Around, cutter: Cutter) -> _Left:
    """Return what a cutter leaves on a cavity's floors, up to the rim: corners, and passages that it does not fit."""
    cells = np.zeros(chart.face.shape, dtype=bool)
    if at_most(cutter.diameter_mm, known.finishes_mm or 0.0):
        return _Left(cells, 0.0)
    _, rim = extent_mm(part, feature, chart)
    volume = 0.0
    for level in known.levels:
        missed = left_by_disc(level.room_mm, level.wanted, cutter.diameter_mm / 2.0, chart.cell_mm)
        cells[level.place] |= missed
        volume += float(missed.sum()) * chart.cell_mm**2 * (rim - level.height_mm)
    return _Left(cells, volume)


def _left_on_region(chart: HeightMap, region: Region, cutter: Cutter) -> _Left | None:
    """Return what a cutter leaves in the hollows of a free surface."""
    own = np.isin(chart.face, region.faces)
    if not own.any():
        return None
    place = chart.around(own, cutter.diameter_mm)
    height, cell = left_by_tip(chart.top_mm[place], chart.bottom_mm, chart.cell_mm, cutter)
    factor = round(cell / chart.cell_mm)
    fine = np.repeat(np.repeat(height, factor, axis=0), factor, axis=1)[: own[place].shape[0], : own[place].shape[1]]
    missed = own[place] & (fine > STEEP * cell)
    cells = np.zeros(own.shape, dtype=bool)
    cells[place] = missed
    return _Left(cells, float(fine[missed].sum()) * chart.cell_mm**2)
