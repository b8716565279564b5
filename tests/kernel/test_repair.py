"""Repair: what is broken becomes the solid it was made from; what cannot is left as it is; what is sound is let be."""

import math
from pathlib import Path

import pytest
from OCP.BRepTools import BRepTools
from OCP.TopoDS import TopoDS_Shape, TopoDS_Solid

from analyzers import analyse
from analyzers.kernel import repair as module
from analyzers.kernel.arrays import read_part
from analyzers.kernel.repair import NOT_REPAIRED, repaired
from analyzers.kernel.step_file import load
from analyzers.model.health import Repair
from analyzers.pipeline import analyse_file
from analyzers.settings import load_settings
from analyzers.tolerance import REPAIR_GAPS_MM
from fixtures.make.vocabulary.draw import faces
from fixtures.make.vocabulary.work import copy
from tests.features._bench import ball, box, cut
from tests.kernel._broken import (
    BLOCK,
    PLATE,
    SIZE_MM,
    gaping,
    inside_out,
    shell_of,
    solid_from,
    turned,
    with_slivers,
)
from tests.kernel._files import write_shapes
from tests.kernel._solids import moved, solid_of, turned_by

BLOCK_MM3 = math.prod(SIZE_MM)
PLATE_MM3 = BLOCK_MM3 - math.pi * 4.0**2 * SIZE_MM[2]
PLATE_TOP_MM2 = SIZE_MM[0] * SIZE_MM[1] - math.pi * 4.0**2
SETTINGS = load_settings(repair=True)


def done_to(solid: TopoDS_Solid) -> Repair:
    """Return what the repair of a body came to; it is another body exactly where it was made."""
    out, done = repaired(solid)
    assert done is not None
    assert done.asked
    assert done.made == (not out.IsSame(solid))
    return done


def written(shape: TopoDS_Shape) -> bytes:
    """Return a shape as bytes: geometry, topology, tolerances."""
    path = Path("shape.brep")
    assert BRepTools.Write_s(shape, str(path))
    return path.read_bytes()


@pytest.mark.parametrize("gap_mm", [0.005, 0.03, 0.08])
def test_gaps_are_sewn_with_the_smallest_tolerance_that_suffices(gap_mm: float) -> None:
    """The lid lies a gap above its walls: the volume is between those with and without the gap filled."""
    body, done = repaired(solid_from(gaping(PLATE, gap_mm)))
    assert done is not None
    assert done.tolerance_mm == min(each for each in REPAIR_GAPS_MM if each >= gap_mm)
    assert done.largest_deviation_mm == pytest.approx(gap_mm, rel=1e-6)
    assert done.volume_before_mm3 is None
    assert PLATE_MM3 <= (done.volume_after_mm3 or 0.0) <= PLATE_MM3 + gap_mm * PLATE_TOP_MM2
    assert (done.faces_before, done.faces_after) == (7, 7)
    assert "volume_mm3" in done.doubted
    assert "min_wall_mm" in done.doubted
    part = read_part(body, "plate", 1)
    assert (part.closed, part.valid) == (True, True)
    assert part.volume_mm3 == pytest.approx(done.volume_after_mm3)


def test_a_turned_face_is_turned_back() -> None:
    """The faces bound the plate, so its volume is exact; nothing is moved, and what it was before nobody knows."""
    done = done_to(turned(PLATE, 0))
    assert done.volume_before_mm3 is None
    assert done.volume_after_mm3 == pytest.approx(PLATE_MM3)
    assert done.largest_deviation_mm == pytest.approx(0.0, abs=1e-9)


def test_an_inside_out_solid_is_turned_outwards() -> None:
    """The volume changes its sign, which is no change of size."""
    done = done_to(inside_out(PLATE))
    assert done.volume_before_mm3 == pytest.approx(-PLATE_MM3)
    assert done.volume_after_mm3 == pytest.approx(PLATE_MM3)
    assert done.doubted == ()


def test_slivers_go_and_the_block_stays() -> None:
    """Four strips of 0.005 mm were cut off its long sides: the block has its six faces and twelve edges again."""
    done = done_to(with_slivers(0.005))
    assert (done.faces_before, done.faces_after, done.edges_before, done.edges_after) == (10, 6, 20, 12)
    assert done.volume_after_mm3 == pytest.approx(BLOCK_MM3)
    assert done.area_after_mm2 == pytest.approx(2.0 * (40 * 30 + 40 * 10 + 30 * 10))
    assert done.largest_deviation_mm == pytest.approx(0.0, abs=1e-9)


def test_a_border_that_is_no_sliver_stays() -> None:
    """A face drawn in two halves is not made one because there is a sliver elsewhere."""
    halves = solid_of(moved(with_slivers(15.0), turned_by((0, 0, 1), 0.0)))
    assert repaired(halves) == (halves, None)
    cracked = solid_of(cut(halves, box((-1, -1, 5), (0.005, 31, 11))))
    body, done = repaired(cracked)
    assert done is not None
    assert done.made
    assert len(faces(body)) == 10 + 1  # those of the halves, and the side below the step


def test_a_lip_of_a_hundredth_is_flattened_and_said() -> None:
    """A step of 0.005 mm goes, by half of which the sides move."""
    done = done_to(solid_of(cut(BLOCK, box((39.995, -1, 5), (41, 31, 11)))))
    assert (done.faces_before, done.faces_after) == (8, 7)
    assert 0.0 < (done.largest_deviation_mm or 0.0) <= 0.005
    assert done.volume_after_mm3 == pytest.approx(BLOCK_MM3, abs=0.005 * 30 * 10)
    assert {"min_wall_mm", "sharp_internal_corners"} <= set(done.doubted)


@pytest.mark.parametrize(
    ("faces_left", "why"),
    [
        pytest.param(lambda: gaping(PLATE, 0.5), "is not closed", id="gap-too-wide"),
        pytest.param(lambda: faces(copy(PLATE))[1:], "is not closed", id="face-missing"),
        pytest.param(lambda: faces(copy(PLATE))[:1], "make 0 shells", id="one-face"),
    ],
)
def test_what_does_not_close_is_refused(faces_left: object, why: str) -> None:
    """The body stays the one it was, and the reason is told."""
    assert callable(faces_left)
    done = done_to(solid_from(faces_left()))
    assert why in (done.refused or "")
    assert done.what == NOT_REPAIRED
    assert done.doubted == ()


@pytest.mark.parametrize(("share", "refused"), [(1e-6, True), (0.01, False)])
def test_a_change_of_volume_beyond_the_stated_share_is_refused(
    share: float, refused: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The flattened lip is 2e-5 of the block: within a hundredth, beyond a millionth."""
    monkeypatch.setattr(module, "REPAIR_SHARE", share)
    done = done_to(solid_of(cut(BLOCK, box((39.995, -1, 5), (41, 31, 11)))))
    assert ("change the volume" in (done.refused or "")) == refused


@pytest.mark.parametrize(
    "shape",
    [
        pytest.param(PLATE, id="plate"),
        pytest.param(cut(BLOCK, ball((20, 15, 5), 6)), id="void"),
        pytest.param(cut(BLOCK, box((39.9, -1, 5), (41, 31, 11))), id="small-step"),
    ],
)
def test_a_sound_body_is_left_bit_for_bit(shape: TopoDS_Shape, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The very same object comes back, and not one byte of it has changed."""
    monkeypatch.chdir(tmp_path)
    solid = solid_of(shape)
    before = written(solid)
    out, done = repaired(solid)
    assert done is None
    assert out.IsEqual(solid)
    assert written(out) == before


def test_a_body_that_is_refused_is_left_bit_for_bit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Repairs are tried on copies."""
    monkeypatch.chdir(tmp_path)
    solid = solid_from(gaping(PLATE, 0.5))
    before = written(solid)
    out, _ = repaired(solid)
    assert out.IsEqual(solid)
    assert written(out) == before


def test_sound_files_are_analysed_the_same_with_and_without(parts: Path) -> None:
    """No repair is recorded, and no number moves: only the settings differ."""
    for path in sorted(parts.glob("*.step"), key=lambda each: each.stat().st_size)[:5]:
        plain, asked = (analyse(path, each) for each in (load_settings(), SETTINGS))
        assert asked.health == plain.health
        assert [each.facts.measures for each in asked.bodies] == [each.facts.measures for each in plain.bodies]
        assert [each.facts.features for each in asked.bodies] == [each.facts.features for each in plain.bodies]


def test_a_file_of_gaping_surfaces_is_one_solid_when_asked(tmp_path: Path) -> None:
    """Not asked, it is two open bodies, since the lid is sewn to nothing; asked, the plate."""
    path = write_shapes([shell_of(gaping(PLATE, 0.03))], tmp_path / "plate.step")
    plain, asked = (analyse(path, each) for each in (load_settings(), SETTINGS))
    assert [each.facts.part.closed for each in plain.bodies] == [False, False]
    assert not plain.health.repaired
    (body,) = asked.bodies
    (done,) = asked.health.repairs
    assert (done.body, done.asked, done.made, asked.health.repaired) == (body.id, True, True, True)
    assert body.facts.part.volume_mm3 == pytest.approx(done.volume_after_mm3)


def test_a_refused_repair_of_a_file_is_measured_as_today(tmp_path: Path) -> None:
    """The same bodies with the same numbers, and the refusal for each."""
    path = write_shapes([shell_of(gaping(PLATE, 0.5))], tmp_path / "plate.step")
    plain, asked = (analyse(path, each) for each in (load_settings(), SETTINGS))
    assert [each.facts.measures for each in asked.bodies] == [each.facts.measures for each in plain.bodies]
    assert not asked.health.repaired
    refused = [each for each in asked.health.repairs if not each.made]
    assert [each.body for each in refused] == ["B1", "B2"]


def test_a_repaired_solid_stands_where_it_stood_and_is_written_again(tmp_path: Path) -> None:
    """Its faces are named in the STEP file that is handed back, which is the repaired model."""
    path = write_shapes([moved(with_slivers(0.005), turned_by((1, 2, 3), 40.0, (50, 60, 70)))], tmp_path / "block.step")
    (there,) = load(path).solids
    analysis = analyse_file(path, SETTINGS)
    (body,) = analysis.report.bodies
    assert body.facts.part.centroid_mm == pytest.approx(read_part(there.shape, "block", 1).centroid_mm)
    analysis.write_step(tmp_path / "marked.step")
    (marked,) = load(tmp_path / "marked.step").solids
    assert len(faces(marked.shape)) == 6
