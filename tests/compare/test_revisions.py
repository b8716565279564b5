"""Twenty pairs of revisions with one known change each: that change is found with its numbers, and nothing else."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from OCP.gp import gp_Trsf
from OCP.TopoDS import TopoDS_Shape

from analyzers import analyse
from analyzers.compare import BodyComparison, compare
from analyzers.model.report import Report
from analyzers.settings import load_settings
from tests.compare._latch import Latch, report_of
from tests.features._bench import box, cut, rod, upright
from tests.kernel._files import write_shapes
from tests.kernel._solids import mirrored_in, moved, turned_by

ASKEW = turned_by((0.3, -0.5, 0.8), 41.9, (31.7, -12.3, 55.1))
FEATURES = 13


@dataclass(frozen=True)
class Case:
    """What is changed on the part, and what must be said of it."""

    new: dict[str, Any]
    kind: str
    said: dict[str, tuple[float, float]] | None = None  # field: old, new; None = added or removed
    moved_mm: float = 0.0


CASES = {
    "hole-wider": Case({"dowel": 8.0}, "round_hole", {"diameter_mm": (6.0, 8.0)}),
    "hole-moved": Case({"dowel_at": (12.0, 20.0)}, "round_hole", {}, 8.0),
    "hole-gone": Case({"dowel": None}, "round_hole"),
    "hole-deeper": Case(  # what is left below the drill point: 20 - 12 - 2.5 / tan 59 degrees, by hand
        {"blind_depth": 15.0}, "round_hole", {"depth_mm": (12.0, 15.0), "floor_thickness_mm": (6.4978, 3.4978)}
    ),
    "blind-hole-gone": Case({"blind": None}, "round_hole"),
    "screw-clearance": Case({"screw": 9.0}, "counterbore_hole", {"diameter_mm": (6.6, 9.0)}),
    "counterbore-deeper": Case({"bore_depth": 8.0}, "counterbore_hole", {"counterbore_depth_mm": (6.4, 8.0)}),
    "countersink-wider": Case({"sink": 10.0}, "countersunk_hole", {"countersink_diameter_mm": (9.0, 10.0)}),
    "pocket-deeper": Case(
        {"pocket": (40.0, 24.0, 10.0)}, "closed_pocket", {"depth_mm": (8.0, 10.0), "floor_thickness_mm": (12.0, 10.0)}
    ),
    "pocket-longer": Case({"pocket": (44.0, 24.0, 8.0)}, "closed_pocket", {"length_mm": (40.0, 44.0)}),
    "pocket-moved": Case({"pocket_at": (52.0, 40.0)}, "closed_pocket", {}, 2.0),
    "corner-tighter": Case({"corner": 3.0}, "closed_pocket", {"corner_radius_mm": (4.0, 3.0)}),
    "slot-wider": Case({"slot_width": 10.0}, "slot", {"width_mm": (8.0, 10.0), "corner_radius_mm": (4.0, 5.0)}),
    "slot-deeper": Case({"slot_depth": 6.0}, "slot", {"depth_mm": (5.0, 6.0), "floor_thickness_mm": (15.0, 14.0)}),
    "slot-gone": Case({"slot_width": None}, "slot"),
    "boss-higher": Case({"boss_height": 8.0}, "boss", {"height_mm": (6.0, 8.0)}),
    "boss-gone": Case({"boss": None}, "boss"),
    "chamfer-wider": Case({"chamfer": 2.0}, "chamfer", {"width_mm": (1.5, 2.0)}),
    "chamfer-gone": Case({"chamfer": None}, "chamfer"),
    "step-deeper": Case({"step_depth": 5.0}, "step", {"depth_mm": (4.0, 5.0)}),
}
MOVED = set(sorted(CASES)[::2])


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Report:
    """Return the report of revision A."""
    return report_of(Latch(), tmp_path_factory.mktemp("revisions"))


def only_body(first: Report, latch: Latch, folder: Path, moved: bool, *, back: bool = False) -> BodyComparison:
    """Return the comparison of revision A's one body with a revision's, the other way round for `back`."""
    second = report_of(latch, folder, ASKEW if moved else None, "revision_b")
    found = compare(second, first) if back else compare(first, second)
    assert not found.added_bodies
    assert not found.removed_bodies
    assert not found.notes
    (body,) = found.bodies
    assert body.move.angle_deg == pytest.approx(41.9 if moved else 0.0, abs=1e-3)
    return body


@pytest.mark.parametrize("name", CASES)
def test_the_one_change_is_found_and_nothing_else(name: str, first: Report, tmp_path: Path) -> None:
    """Half of the new revisions are turned and shifted besides."""
    case = CASES[name]
    body = only_body(first, replace(Latch(), **case.new), tmp_path, name in MOVED)
    assert body.relation == "changed"
    assert body.same_features == FEATURES - 1
    assert not body.added
    if case.said is None:
        assert [each.kind for each in body.removed] == [case.kind]
        assert not body.changed
        return
    assert not body.removed
    (change,) = body.changed
    assert change.kind == case.kind
    assert {each.field: (each.old, each.new) for each in change.differences} == {
        field: pytest.approx(values, abs=1e-3) for field, values in case.said.items()
    }
    assert change.moved_mm == pytest.approx(case.moved_mm, abs=1e-3)


@pytest.mark.parametrize("name", ["hole-gone", "slot-gone", "boss-gone", "chamfer-gone"])
def test_seen_the_other_way_round_a_lost_feature_is_a_new_one(name: str, first: Report, tmp_path: Path) -> None:
    """Comparing B with A instead of A with B turns removed into added."""
    body = only_body(first, replace(Latch(), **CASES[name].new), tmp_path, moved=False, back=True)
    assert [each.kind for each in body.added] == [CASES[name].kind]
    assert not body.removed
    assert not body.changed


@pytest.mark.parametrize("moved", [False, True], ids=["in-place", "turned-and-shifted"])
def test_the_same_part_written_again_has_no_change(moved: bool, first: Report, tmp_path: Path) -> None:
    """Nothing is reported on identical geometry."""
    body = only_body(first, Latch(), tmp_path, moved)
    assert body.relation == "same"
    assert not body.numbers
    assert body.old_faces == body.new_faces == ()
    assert body.same_features == FEATURES


def test_the_mirror_image_is_told_apart(first: Report, tmp_path: Path) -> None:
    """A left hand part is not the right hand one, though all its features are the same."""
    second = report_of(Latch(), tmp_path, mirrored_in((0.2, 0.9, 0.3)), "left_hand")
    (body,) = compare(first, second).bodies
    assert body.relation == "mirrored"
    assert not compare(first, second).same


def test_what_depends_on_the_changed_dimension_is_told(first: Report, tmp_path: Path) -> None:
    """A pocket 2 mm deeper takes 2 mm of its area away: 40 x 24 less four corners of R4, by hand."""
    body = only_body(first, replace(Latch(), pocket=(40.0, 24.0, 10.0)), tmp_path, moved=True)
    volume = next(each for each in body.numbers if each.field == "volume_mm3")
    assert isinstance(volume.old, float)
    assert isinstance(volume.new, float)
    assert volume.old - volume.new == pytest.approx(2.0 * (40 * 24 - (4 - 3.141592653589793) * 16), rel=1e-6)
    assert body.changed[0].with_it  # its corner rounds came down with it
    assert not [each for each in body.numbers if each.field.startswith("size")]


def test_the_faces_that_changed_are_named(first: Report, tmp_path: Path) -> None:
    """A wider dowel hole changes its own wall and the two faces that it pierces, and no other."""
    second = report_of(replace(Latch(), dowel=8.0), tmp_path, None, "revision_b")
    (body,) = compare(first, second).bodies
    for faces, report in ((body.old_faces, first), (body.new_faces, second)):
        part = report.bodies[0].facts.part
        wall = [face for face in faces if part.face_surface[face] == 1]
        assert len(wall) == 1
        assert len(faces) == 3


def bracket(last_hole: tuple[float, float]) -> TopoDS_Shape:
    """Return a plate without any symmetry: a step, a cut corner, four equal holes of which the last is where said."""
    plate = cut(box((0, 0, 0), (100, 70, 20)), box((60, -1, 12), (101, 20, 21)))
    plate = cut(plate, upright([(0, 70), (0, 40), (20, 70)], -1, 21))
    return cut(plate, *(rod((x, y, -1), 6.0, 30) for x, y in ((20, 15), (50, 30), (30, 50), last_hole)))


@pytest.mark.parametrize("pose", [turned_by((0.0, 0.0, 1.0), 0.0), ASKEW], ids=["as-built", "askew"])
def test_one_of_equal_holes_that_moved_leaves_the_others_where_they_were(pose: gp_Trsf, tmp_path: Path) -> None:
    """Both sides of the plate keep area and form and get other middles: it is not laid down by those."""
    old = analyse(write_shapes([bracket((80, 50))], tmp_path / "old.step"), load_settings())
    new = analyse(write_shapes([moved(bracket((82, 50)), pose)], tmp_path / "new.step"), load_settings())
    (body,) = compare(old, new).bodies
    assert [(each.kind, round(each.moved_mm, 3)) for each in body.changed] == [("round_hole", 2.0)]
    assert not body.added + body.removed
