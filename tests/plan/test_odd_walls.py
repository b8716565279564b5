"""What the side and the end of an end mill do not leave: slanted walls, round floors, keyways in bores."""

from collections.abc import Callable
from pathlib import Path

import pytest
from OCP.TopoDS import TopoDS_Shape

from analyzers import analyse
from analyzers.features.slot import Slot
from analyzers.model.report import Body
from analyzers.settings import load_settings
from fixtures.make.vocabulary.draw import polygon, prism
from tests.features._bench import box, cut, rod
from tests.kernel._files import write_shapes

X = (1.0, 0.0, 0.0)


def body_of(shape: TopoDS_Shape, folder: Path) -> Body:
    """Return the one body of a shape, written to STEP and analysed in the built-in shop."""
    (body,) = analyse(write_shapes([shape], folder / "part.step"), load_settings()).bodies
    return body


def kinds(body: Body) -> set[str]:
    """Return the kinds of the cutters that make the part's features."""
    shop = {each.id: each.kind for each in load_settings().shop.cutters}
    return {shop[each.cutter] for each in body.plan.tools if each.features and each.cutter in shop}


def trough(half_width: float, depth: float) -> TopoDS_Shape:
    """Return a block with a V along it."""
    outline = [(-1, 20 - half_width, 20), (-1, 20 + half_width, 20), (-1, 20, 20 - depth)]
    return cut(box((0, 0, 0), (80, 40, 20)), prism(polygon(outline), (82, 0, 0)))


@pytest.mark.parametrize(
    ("build", "wanted"),
    [
        pytest.param(
            lambda: cut(box((0, 0, 0), (80, 40, 20)), rod((-1, 20, 20), 10, 82, X)), {"ball"}, id="half-round"
        ),
        pytest.param(lambda: trough(3.0, 3.0), {"chamfer"}, id="vee-of-a-chamfer-cutter"),
        pytest.param(lambda: trough(4.0, 6.0), {"ball"}, id="vee-of-another-angle"),
        pytest.param(lambda: cut(box((0, 0, 0), (80, 40, 20)), box((-1, 15, 14), (81, 25, 21))), set(), id="square"),
    ],
)
def test_slanted_and_round_floors_take_a_cutter_of_their_form(
    build: Callable[[], TopoDS_Shape], wanted: set[str], tmp_path: Path
) -> None:
    """A flat end mill leaves square slots alone (common practice, no source)."""
    body = body_of(build(), tmp_path)
    assert kinds(body) - {"flat"} == wanted
    assert not body.plan.unmade


def test_leaning_walls_cost_more_than_upright_ones(tmp_path: Path) -> None:
    """Two troughs of one volume: a square one, and one whose walls lean by 45 degrees."""
    square = cut(box((0, 0, 0), (80, 60, 20)), box((-1, 15, 10), (81, 45, 21)))
    outline = [(-1, 10, 20), (-1, 50, 20), (-1, 40, 10), (-1, 20, 10)]
    leaning = cut(box((0, 0, 0), (80, 60, 20)), prism(polygon(outline), (82, 0, 0)))
    spent = [body_of(each, tmp_path).plan.minutes.likely for each in (square, leaning)]
    assert spent[1] > spent[0]


def test_a_keyway_in_a_bore_is_not_milled_through_the_wall(tmp_path: Path) -> None:
    """8 mm wide as DIN 6885-1 has it for 25 mm: broached or slotted; the same one on a shaft is milled."""
    hub = cut(rod((0, 0, 0), 60, 30), rod((0, 0, -1), 25, 32), box((0, -4, -1), (15.8, 4, 31)))
    body = body_of(hub, tmp_path)
    (slot,) = [each for each in body.facts.features if isinstance(each, Slot)]
    assert [each.feature for each in body.plan.unmade] == [slot.id]
    assert "a broach or a slotting tool" in body.plan.unmade[0].why
    shaft = cut(rod((0, 0, 0), 30, 80), box((11, -4, -1), (16, 4, 81)))
    assert not body_of(shaft, tmp_path).plan.unmade
