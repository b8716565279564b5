"""Charts against numbers worked out from the part and the shelf."""

import math
import re
from dataclasses import replace
from typing import Literal
from xml.etree import ElementTree

import numpy as np
import pytest

from analyzers.features.fillet import Fillet
from analyzers.model.report import Body
from analyzers.report import tables
from analyzers.report.charts import Chart, charts
from analyzers.settings.shop import Cutter
from tests.report import _builders as build

DEEP = "How deep, against what the shop reaches"
RADII = "Inside radii, against the cutters on the shelf"
THICK = "How thick the material is"


def cutter(kind: Literal["drill", "flat"], diameter_mm: float, reach_mm: float) -> Cutter:
    """Return a cutter of the shelf."""
    return Cutter(
        id=f"{kind} {diameter_mm:g}",
        kind=kind,
        diameter_mm=diameter_mm,
        flute_length_mm=reach_mm,
        reach_mm=reach_mm,
        point_angle_deg=118.0 if kind == "drill" else None,
    )


SHELF = (cutter("drill", 12.0, 100.0), cutter("drill", 5.0, 10.0), cutter("flat", 8.0, 40.0), cutter("flat", 3.0, 9.0))


def drawn(body: Body, shelf: tuple[Cutter, ...] = SHELF) -> dict[str, Chart]:
    """Return the charts by their titles."""
    holes = tables.hole_chart(body, {}, "mm")
    return {each.title: each for each in charts(body, holes, tables.recesses(body, {}), shelf)}


def many() -> Body:
    """Return a body with holes of 12 and 5 mm and 6.6 mm, a pocket with R4 and a fillet R4."""
    return build.with_many_features().bodies[0]


def bars(chart: Chart) -> list[float]:
    """Return the widths of the bars, top to bottom."""
    return [float(each) for each in re.findall(r'<rect class="bar[^>]*width="([\d.]+)"', str(chart.svg))]


def test_bars_are_as_long_as_the_depth_ratios() -> None:
    """Hole 5 x 12 has 2.4 diameters, hole 12 x 20 has 1.67, pocket 12 deep with R4 has 1.5."""
    body = many()
    chart = drawn(body)[DEEP]
    ratios = [getattr(each, "depth_ratio", None) for each in body.facts.features]
    widths = bars(chart)
    assert max(widths) / min(widths) == pytest.approx(max(filter(None, ratios)) / min(filter(None, ratios)), rel=0.01)


def test_beyond_the_reach_is_said_and_marked() -> None:
    """A drill of 5 mm that reaches 10 mm leaves a hole 12 mm deep undone; it heads the list."""
    body = many()
    small = build.hole(3, diameter_mm=5.0, depth_mm=12.0, through=False, bottom="flat", depth_ratio=2.4)
    body = replace(body, facts=replace(body.facts, features=(small,)))
    chart = drawn(body)[DEEP]
    assert "Beyond it: hole A" in str(chart.says)
    assert 'class="bar beyond"' in str(chart.svg)
    assert "2.4 / 2.0" in str(chart.svg)
    longer = drawn(body, (cutter("drill", 5.0, 12.0),))[DEEP]
    assert "beyond" not in str(longer.svg).lower()
    assert "within reach" in str(longer.says)


def test_without_a_shelf_no_reach_is_claimed() -> None:
    """A chart without cutters shows depths and says nothing about reach."""
    chart = drawn(many(), ())[DEEP]
    assert "limit" not in str(chart.svg)
    assert "within reach" not in str(chart.says)


def test_radii_lie_between_the_right_cutters() -> None:
    """R4 is exactly at the stroke of the 8 mm end mill and right of the 3 mm one's; an R1 has no cutter."""
    chart = drawn(many())[RADII]
    dot = float(re.search(r'<circle class="dot" cx="([\d.]+)"', str(chart.svg))[1])  # type: ignore[index]
    strokes = [float(each) for each in re.findall(r'class="shelf" d="M([\d.]+)', str(chart.svg))]
    assert strokes == sorted(strokes)
    assert dot == pytest.approx(strokes[1], abs=0.1)
    assert "No end mill" not in str(chart.says)
    larger = drawn(many(), (cutter("flat", 10.0, 40.0),))[RADII]
    assert "No end mill is small enough for" in str(larger.says)
    assert "R4" in str(larger.says)


def test_a_radius_that_rounds_to_nothing_has_no_dot() -> None:
    """A fillet of 3e-15 mm, as degenerate surfaces give it, neither stops the page nor shows beside the R4."""
    body = many()
    fillet = next(each for each in body.facts.features if isinstance(each, Fillet))
    degenerate = replace(fillet, id="F9", radius_mm=3e-15)
    body = replace(body, facts=replace(body.facts, features=(*body.facts.features, degenerate)))
    assert drawn(body)[RADII] == drawn(many())[RADII]


def test_wall_distribution_adds_up_and_finds_its_middle() -> None:
    """Half of a surface at 2 mm and a little more at 8 mm: two bars, the middle at the larger."""
    body = many()
    mesh = body.facts.part.mesh
    side = mesh.triangle_face < 4
    thickness = np.where(side, 2.0, 8.0)
    chart = drawn(replace(body, facts=replace(body.facts, thickness_mm=thickness)))[THICK]
    heights = [float(each) for each in re.findall(r'<rect class="bar"[^>]*height="([\d.]+)"', str(chart.svg))]
    corner = mesh.point_mm[mesh.triangle]
    area = np.linalg.norm(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1)
    assert len(heights) == 2
    assert heights[0] / heights[1] == pytest.approx(area[side].sum() / area[~side].sum(), rel=0.02)
    half = float(re.search(r"less than.*?([\d.]+)\xa0?.?mm", str(chart.says))[1])  # type: ignore[index]
    assert half == pytest.approx(8.0, rel=math.log(1.2))


def test_charts_are_well_formed_and_named() -> None:
    """Each is one SVG with a name for those who do not see it."""
    for chart in drawn(many()).values():
        root = ElementTree.fromstring(str(chart.svg))  # noqa: S314  # our own text
        assert root.get("role") == "img"
        assert root.get("aria-label")
