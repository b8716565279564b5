import base64
import io
import math
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from analyzers.model.arrays import Vec
from analyzers.model.drawing import View
from analyzers.report.page import body_view
from analyzers.report.palette import LOOKS, hatched
from analyzers.report.pictures import Picture, draw, spot
from analyzers.report.views import STANDARD_VIEWS, best_corner, seen_along
from tests.report import _builders as build

FRONT, TOP, RIGHT = STANDARD_VIEWS


def top() -> Picture:
    """Return the plate from above."""
    return draw(build.facts(), TOP, 400, 300)


def test_seen_areas_are_the_areas_of_the_part() -> None:
    """From above, the top face's pixels over the hole's opening's pixels are as their areas in mm²."""
    picture = top()
    length, width, _ = build.SIZE
    hole_mm2 = np.pi * build.HOLE_D**2 / 4
    face_mm2 = length * width - hole_mm2
    seen_mm2 = np.count_nonzero(picture.face == build.TOP_FACE) / picture.scale**2
    assert seen_mm2 == pytest.approx(face_mm2, rel=0.01)


def test_a_through_hole_is_see_through() -> None:
    """In the middle of the hole, from above, there is nothing."""
    picture = top()
    column = int(build.HOLE_XY[0] * picture.scale + picture.shift[0])
    row = int(picture.shift[1] - build.HOLE_XY[1] * picture.scale)
    assert picture.face[row, column] == -1


@pytest.mark.parametrize(
    ("view", "seen"),
    [
        pytest.param(FRONT, {2}, id="front"),
        pytest.param(TOP, {5}, id="top"),
        pytest.param(RIGHT, {1}, id="right"),
    ],
)
def test_standard_views_show_their_side(view: View, seen: set[int]) -> None:
    """Front looks at -y, top at +z, right at +x (ISO 5456-2), and the picture fills its frame to the margin."""
    picture = draw(build.facts(), view, 320, 240)
    faces = set(np.unique(picture.face).tolist()) - {-1}
    assert seen <= faces
    assert faces <= seen | {build.HOLE_FACE}
    rows, columns = np.nonzero(picture.face >= 0)
    filled = max(np.ptp(rows) / 240, np.ptp(columns) / 320)
    assert 0.85 < filled < 1.0


def test_right_and_up_are_not_mirrored() -> None:
    """The hole, left of and above the middle, is left of and above the middle from above."""
    picture = top()
    place = spot(picture, point_mm=(*build.HOLE_XY, build.SIZE[2]))
    assert place is not None
    assert place.x < picture.width / 2
    assert place.y < picture.height / 2


def test_a_place_in_front_is_visible_and_one_behind_is_hidden() -> None:
    """A point on the top is seen from above; one on the bottom is not, and says so."""
    picture = top()
    seen, behind = spot(picture, point_mm=(60.0, 20.0, 20.0)), spot(picture, point_mm=(60.0, 20.0, 0.0))
    assert seen is not None
    assert behind is not None
    assert (seen.hidden, behind.hidden) == (False, True)
    assert (seen.x, seen.y) == (behind.x, behind.y)


def test_a_face_is_marked_where_it_shows() -> None:
    """The pixel chosen for a face shows that face, also where its middle is cut away."""
    picture = draw(build.facts(), best_corner(build.facts()), 400, 300)
    for face in sorted(set(np.unique(picture.face).tolist()) - {-1}):
        place = spot(picture, faces=(face,))
        assert place is not None
        assert picture.face[int(place.y), int(place.x)] == face


def test_faces_that_show_nowhere_have_no_place() -> None:
    """From above the bottom cannot be marked; a place that could not be measured is none."""
    assert spot(top(), faces=(4,)) is None
    assert spot(top(), point_mm=(math.nan, 1.0, 2.0)) is None


def test_hidden_point_moves_to_a_visible_part_of_its_faces() -> None:
    """A point deep in the hole is hidden; the hole's wall above it is not."""
    facts = build.facts()
    picture = draw(facts, best_corner(facts), 400, 300)
    place = spot(picture, faces=(build.HOLE_FACE,), point_mm=(25.0, 24.0, 1.0))
    assert place is not None
    assert not place.hidden
    assert picture.face[int(place.y), int(place.x)] == build.HOLE_FACE


def test_best_corner_looks_into_the_features() -> None:
    """A part whose features all open to -y and below is shown from there."""
    facts = replace(
        build.facts(), features=(build.hole(direction=(0.0, -1.0, 0.0)), build.hole(2, direction=(0, 0, -1)))
    )
    assert best_corner(facts).out[1] < 0
    assert best_corner(facts).out[2] < 0


def test_picture_is_a_png_with_a_clear_background() -> None:
    """The file opens at its size, and outside the part one sees the page."""
    image = Image.open(io.BytesIO(top().png)).convert("RGBA")
    assert image.size == (400, 300)
    assert image.getpixel((1, 1))[3] == 0  # type: ignore[index]  # RGBA gives four numbers


def test_every_class_looks_different_without_colour() -> None:
    """Hatching and word tell two classes apart; no two share colour and hatching."""
    assert len({(look.colour, look.hatch) for look in LOOKS.values()}) == len(LOOKS)
    assert len({look.word for look in LOOKS.values()}) == len(LOOKS)


@pytest.mark.parametrize("hatch", sorted({look.hatch for look in LOOKS.values()}))
def test_hatching_leaves_most_of_the_face_clear(hatch: str) -> None:
    """A hatching draws something, but never more than half."""
    y, x = np.mgrid[0:200, 0:300]
    share = hatched(hatch, x, y).mean()  # type: ignore[arg-type]  # the words come from LOOKS
    assert share == 0 if hatch == "none" else 0.01 < share < 0.5


@pytest.mark.parametrize(
    "direction", [(0.0, 0.0, 1.0), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.6, 0.0, 0.8)]
)
def test_a_setup_is_seen_from_its_cutter(direction: Vec) -> None:
    """The view looks along the direction; its axes are square to one another and no mirror image."""
    view = seen_along(direction)
    axes = np.array([view.right, view.up, view.out])
    assert view.out == pytest.approx(direction)
    assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(axes) == pytest.approx(1.0)
    assert view.right[2] == 0.0


def test_each_setup_has_its_picture() -> None:
    """What is cut in a setup has its colour there and nowhere else: the hole is seen in its own setup alone."""
    body = build.body(plan=build.plan())
    setup = replace(body.plan.setups[0], direction=(0.0, -0.3, 0.95))  # a little from the side: the hole's wall shows
    other = replace(setup, id="S2", features=())
    view = body_view(replace(body, plan=replace(body.plan, setups=(setup, other))), build.report().source)
    shown = [
        np.asarray(Image.open(io.BytesIO(base64.b64decode(each.split(",", 1)[1]))).convert("RGBA")).astype(int)
        for each in view.setup_pictures
    ]
    blue = [int((image[..., 2] - image[..., 0] > 60).sum()) for image in shown]
    assert setup.features
    assert blue[0] > 0
    assert blue[1] == 0
