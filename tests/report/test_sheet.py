"""The drawing sheet of real example parts: where callouts point, against the lines that are drawn there."""

import re
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from analyzers.features.hole import Hole
from analyzers.model.drawing import LineDrawing
from analyzers.model.report import Body, Report
from analyzers.pipeline import analyse_file
from analyzers.report.as_html import to_html
from analyzers.report.line_art import line_art, report_thumbnail
from analyzers.report.page import body_view
from analyzers.report.sheet import MARGIN, SheetView
from analyzers.report.views import STANDARD_VIEWS
from analyzers.settings import load_settings

PARTS = Path(__file__).parents[2] / "fixtures" / "parts"
NAMES = ["oil_manifold", "press_bed", "drilling_sampler", "inch_adapter", "askew_clamp"]


@cache
def drawn(name: str) -> Report:
    """Return the report of an example part with its drawings."""
    return analyse_file(PARTS / f"{name}.step", load_settings(None, None, None, 1)).drawn()


def sheets(name: str) -> list[tuple[Body, SheetView]]:
    """Return each view of the part's first body."""
    report = drawn(name)
    return [(report.bodies[0], view) for view in body_view(report.bodies[0], report.source).views]


@pytest.mark.parametrize("name", NAMES[:-1])  # the last one's holes are askew: no straight view shows them truly
def test_a_hole_callout_points_into_its_hole(name: str) -> None:
    """A hole of the row has its axis at the leader's end, and its rim is drawn around it, a radius away."""
    checked = 0
    for body, view in sheets(name):
        if view.name == "Isometric":
            continue
        drawing = next(each for each in body.drawings if each.view.name == view.name)
        for note in view.notes:
            if note.tag.startswith("T"):
                continue
            foot = np.array([note.point_mm]) @ np.array([drawing.view.right, drawing.view.up]).T
            holes = [
                h for h in body.facts.features if isinstance(h, Hole) and np.allclose(h.position_mm, note.point_mm)
            ]
            assert holes
            ends = np.concatenate([drawing.visible_mm, drawing.smooth_mm, drawing.hidden_mm]).reshape(-1, 2)
            away = np.linalg.norm(ends - foot, axis=1)
            radius = holes[0].diameter_mm / 2
            assert np.min(np.abs(away - radius)) < 0.05 + 0.02 * radius, (view.name, note.tag)
            assert (note.x - MARGIN, note.y) == pytest.approx(view.art.place(note.point_mm))
            checked += 1
    assert checked > 0


@pytest.mark.parametrize("name", NAMES)
def test_thin_places_are_marked_on_the_wall(name: str) -> None:
    """The isometric view points at the point of the thin place itself, or at a face of it that shows."""
    body, view = sheets(name)[-1]
    assert view.name == "Isometric"
    for note in view.notes:
        if note.tag.startswith("T"):
            wall = body.facts.walls[int(note.tag.split(", ")[0][1:]) - 1]
            mesh, face = body.facts.part.mesh, list(wall.faces)
            corners = mesh.point_mm[mesh.triangle[np.isin(mesh.triangle_face, face)]].reshape(-1, 3)
            low, high = corners.min(axis=0), corners.max(axis=0)
            slack = 0.02 * body.facts.part.diagonal_mm
            assert (np.array(note.point_mm) > low - slack).all()
            assert (np.array(note.point_mm) < high + slack).all()


@pytest.mark.parametrize("name", NAMES)
def test_callouts_do_not_overlap(name: str) -> None:
    """Texts of one margin keep two lines apart, and every callout is in a drawing that has room for it."""
    for _, view in sheets(name):
        for anchor in ("start", "end"):
            heights = sorted(note.label_y for note in view.notes if note.anchor == anchor)
            assert all(b - a > 18 for a, b in pairwise(heights))
            assert all(0 <= height <= view.art.height for height in heights)


def test_a_stepped_hole_is_called_out_in_lines_that_fit() -> None:
    """Three steps are more than the margin is wide: they stand one below the other, none is lost."""
    notes = [note for _, view in sheets("turned_bush") for note in view.notes if not note.tag.startswith("T")]
    assert any(len(note.mm) > 1 for note in notes)
    for note in notes:
        assert " ".join(note.mm).count("⌀") == 3
        assert max(map(len, note.mm)) < 22


def test_drawing_fills_its_frame_and_is_in_the_page() -> None:
    """All path data lie inside the frame; the page carries four views, each with seen lines."""
    html = to_html(drawn("press_bed"))
    assert html.count('<figure class="drawing"') == 4
    for _, view in sheets("press_bed"):
        starts = np.array(re.findall(r"M(-?\d+) (-?\d+)", view.art.visible), dtype=float) / 10
        assert len(starts) > 3
        assert (starts >= 0).all()
        assert (starts <= [view.art.width, view.art.height]).all()


def test_what_is_seen_goes_before_what_is_hidden() -> None:
    """A hidden edge straight behind a seen one is not drawn, whichever way round, and nothing twice (ISO 128-2)."""
    front = np.array([[0.0, 0.0], [10.0, 0.0]])
    behind = np.array([[10.0, 0.0], [0.0, 0.0]])
    other = np.array([[0.0, 0.0], [0.0, 10.0]])
    drawing = LineDrawing(STANDARD_VIEWS[0], np.array([front]), np.zeros((0, 2, 2)), np.array([behind, other, other]))
    art = line_art(drawing, 100, 100)
    assert art.visible.count("M") == 1
    assert re.fullmatch(r"M(\d+) (\d+)l0 -(\d+)", art.hidden)


def test_thumbnail_is_a_small_picture_of_its_own() -> None:
    """The list's picture is one well-formed SVG file without any reference to another."""
    text = report_thumbnail(drawn("oil_manifold"))
    assert text is not None
    root = ElementTree.fromstring(text)  # noqa: S314  # our own text
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert "href" not in text
    assert 500 < len(text) < 60_000


def test_thin_places_at_one_spot_bear_one_callout() -> None:
    """Walls as thick as one another behind one dot have one leader; another thickness or another place has its own."""
    body, source = drawn(NAMES[0]).bodies[0], drawn(NAMES[0]).source
    wall = body.facts.walls[0]
    x, y, z = (each + body.facts.part.diagonal_mm / 5 for each in wall.point_mm)
    elsewhere, thicker = replace(wall, point_mm=(x, y, z)), replace(wall, thickness_mm=wall.thickness_mm + 1.0)
    for other, tags in ((wall, {"T1, T2"}), (elsewhere, {"T1", "T2"}), (thicker, {"T1", "T2"})):
        with_two = replace(body, facts=replace(body.facts, walls=(wall, other)))
        *straight, _ = body_view(with_two, source).views
        found = {note.tag for view in straight for note in view.notes}
        assert {tag for tag in found if tag.startswith("T")} == tags
