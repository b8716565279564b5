"""How the viewer begins: the whole part, whatever its proportions."""

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from analyzers.report.as_html import to_html
from tests.report import _builders as build
from tests.report._chromium import at_rest, needs_chromium, needs_viewer, opened

pytestmark = [needs_chromium, needs_viewer]


@pytest.mark.parametrize("stretch", [(1.0, 1.0, 8.0), (8.0, 1.0, 1.0)], ids=["tall", "long"])
def test_the_whole_part_shows_at_first(tmp_path: Path, stretch: tuple[float, float, float]) -> None:
    """A part of any proportions stands inside the canvas when the page opens, and fills it in one direction."""
    plate = build.plate()
    part = replace(plate, mesh=replace(plate.mesh, point_mm=plate.mesh.point_mm * np.array(stretch)))
    file = tmp_path / "report.html"
    file.write_text(to_html(build.report(build.body(facts=build.facts(part), findings=()))), encoding="utf-8")
    with opened(file, webgl=True) as (page, wrong):
        at_rest(page)
        page.evaluate("document.querySelector('.labels').hidden = true")
        image = Image.open(io.BytesIO(page.locator(".stage canvas").screenshot())).convert("RGB")
        shot = np.asarray(image).astype(int)
        empty = np.abs(shot - shot[2, 2]).sum(axis=2) < 12
        assert empty[:3].all()
        assert empty[-3:].all()
        assert empty[:, :3].all()
        assert empty[:, -3:].all()
        shown = np.argwhere(~empty)
        filled = (np.ptp(shown, axis=0) + 1) / empty.shape
        assert filled.max() > 0.75
        assert wrong == []
