"""Bodies that share room are told; bodies that touch, nest in cavities or belong to an assembly are not."""

from pathlib import Path

import pytest
from OCP.TopoDS import TopoDS_Shape

from analyzers.kernel.overlaps import overlapping
from analyzers.kernel.step_file import load
from tests.features._bench import ASKEW, box, cut, rod
from tests.kernel._files import write_shapes
from tests.kernel._solids import moved, solid_of

CUBE = box((0, 0, 0), (10, 10, 10))
HOLLOW = cut(box((-5, -5, -5), (15, 15, 15)), box((-1, -1, -1), (11, 11, 11)))
SHARE_ROOM = {
    "half-in-one-another": (CUBE, box((5, 0, 0), (15, 10, 10))),
    "corner-in-corner": (CUBE, box((9, 9, 9), (20, 20, 20))),
    "one-in-the-other": (box((-5, -5, -5), (15, 15, 15)), CUBE),
    "pin-through-a-plate": (box((0, 0, 0), (40, 40, 5)), rod((20, 20, -10), 6, 30)),
    "twice-the-same": (CUBE, box((0, 0, 0), (10, 10, 10))),
}
DO_NOT = {
    "apart": (CUBE, box((11, 0, 0), (20, 10, 10))),
    "face-on-face": (CUBE, box((10, 0, 0), (20, 10, 10))),
    "edge-on-edge": (CUBE, box((10, 10, 0), (20, 20, 10))),
    "in-a-cavity": (HOLLOW, CUBE),
    "pin-in-its-hole": (cut(box((0, 0, 0), (40, 40, 5)), rod((20, 20, -1), 6, 10)), rod((20, 20, -10), 6, 30)),
}


def pairs(bodies: tuple[TopoDS_Shape, ...]) -> list[tuple[int, int]]:
    """Return what overlaps of some shapes lying askew."""
    return list(overlapping([solid_of(moved(each, ASKEW)) for each in bodies]))


@pytest.mark.parametrize("name", SHARE_ROOM)
def test_bodies_that_share_room(name: str) -> None:
    """Which way round they are listed does not matter."""
    assert pairs(SHARE_ROOM[name]) == [(0, 1)]
    assert pairs(SHARE_ROOM[name][::-1]) == [(0, 1)]


@pytest.mark.parametrize("name", DO_NOT)
def test_bodies_that_do_not(name: str) -> None:
    """Touching is not overlapping."""
    assert pairs(DO_NOT[name]) == []


def test_the_report_says_which(tmp_path: Path) -> None:
    """The pair is named, and the others are counted."""
    path = write_shapes([CUBE, box((5, 0, 0), (15, 10, 10)), box((8, 0, 0), (12, 10, 10))], tmp_path / "three.step")
    (message,) = [each.message for each in load(path).problems]
    assert message.startswith("bodies 1 (")
    assert "overlap (and 2 more pairs)" in message


def test_an_assembly_may_overlap(parts: Path) -> None:
    """The pillars of the press stand in its knobs as a modeller draws threads: nobody is asked about that."""
    assert load(parts / "press_assembly.step").problems == ()
