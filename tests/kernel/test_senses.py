"""What the reader turns round is told: all of a solid, or some of its faces; sound files are accused of nothing."""

import math
from pathlib import Path

import pytest
from OCP.TopoDS import TopoDS_Shape

from analyzers import analyse
from analyzers.kernel.arrays import read_part
from analyzers.kernel.step_file import load
from analyzers.settings import load_settings
from fixtures.make.vocabulary.draw import faces
from tests.features._bench import ball, cut
from tests.kernel._broken import BLOCK, PLATE, SIZE_MM, inside_out, turned
from tests.kernel._files import Assembly, place_of, write_shapes
from tests.kernel._solids import moved, turned_by

PLATE_MM3 = math.prod(SIZE_MM) - math.pi * 4.0**2 * SIZE_MM[2]
ASKEW = turned_by((0.3, -0.5, 0.8), 41.9, (31.7, -12.3, 55.1))


def told(path: Path) -> list[tuple[str, int]]:
    """Return code and count of each defect of a file's solids."""
    return [(each.code, each.count) for solid in load(path).solids for each in solid.defects]


@pytest.mark.parametrize("shape", [PLATE, moved(PLATE, ASKEW)], ids=["as-built", "askew"])
def test_an_inside_out_solid_is_told_though_it_is_turned_when_it_is_read(shape: TopoDS_Shape, tmp_path: Path) -> None:
    """With the volume that it has as written, and the same after; the report is complete, for nothing is in doubt."""
    path = write_shapes([inside_out(shape)], tmp_path / "plate.step")
    report = analyse(path, load_settings())
    (found,), (done,) = report.health.defects, report.health.repairs
    assert (found.code, found.body, done.body, done.asked) == ("inside_out_in_file", "B1", "B1", False)
    assert found.kind.term == "inconsistent_face_and_closed_shell_normals"
    assert done.volume_before_mm3 == pytest.approx(-PLATE_MM3)
    assert done.volume_after_mm3 == pytest.approx(PLATE_MM3)
    assert (report.status, report.health.verdict) == ("complete", "sound")


@pytest.mark.parametrize("numbers", [(0,), (6,), (1, 3)], ids=["a-side", "the-bore", "two"])
def test_turned_faces_are_told_with_their_places(numbers: tuple[int, ...], tmp_path: Path) -> None:
    """A point of each lies on the face that was turned, and the volume as written is that with its cone taken off."""
    path = write_shapes([turned(PLATE, *numbers)], tmp_path / "plate.step")
    (solid,) = load(path).solids
    (found,), (done,) = solid.defects, solid.repairs
    assert (found.code, found.count) == ("turned_face_in_file", len(numbers))
    assert len(found.places) == len(numbers)
    part, meant = read_part(solid.shape, "plate", 1), read_part(turned(PLATE), "plate", 1)
    areas = sorted(part.face_area_mm2[list(place.faces)].item() for place in found.places)
    assert areas == pytest.approx(sorted(meant.face_area_mm2[list(numbers)].tolist()))
    assert done.volume_after_mm3 == pytest.approx(PLATE_MM3)
    assert (done.volume_before_mm3 or 0.0) != pytest.approx(PLATE_MM3)


@pytest.mark.parametrize(
    "shapes",
    [
        pytest.param([PLATE], id="plate"),
        pytest.param([moved(PLATE, ASKEW)], id="askew"),
        pytest.param([cut(BLOCK, ball((20, 15, 5), 6))], id="void"),
        pytest.param([PLATE, moved(BLOCK, ASKEW)], id="two"),
        pytest.param(faces(BLOCK), id="loose-faces"),
    ],
)
def test_what_is_as_written_is_not_told(shapes: list[TopoDS_Shape], tmp_path: Path) -> None:
    """Voids look inwards by right, and loose faces belong to no shell that could be inside out."""
    assert told(write_shapes(shapes, tmp_path / "model.step")) == []


def test_one_among_sound_ones_is_found(tmp_path: Path) -> None:
    """Of two solids that differ in their number of faces alone the right one is told, wherever it is placed."""
    file = Assembly()
    top = file.product("top")
    file.place(top, file.product("sound", BLOCK), place_of((0.0, 0.0, 0.0)))
    file.place(top, file.product("turned", inside_out(PLATE)), place_of((90.0, 0.0, 0.0), out=(1.0, 0.0, 0.0)))
    found = {
        each.name: [defect.code for defect in each.defects] for each in load(file.write(tmp_path / "a.step")).solids
    }
    assert found == {"sound": [], "turned": ["inside_out_in_file"]}


def test_one_of_two_equal_ones_is_found(tmp_path: Path) -> None:
    """As it is read it has the senses that the sound one is written with."""
    path = write_shapes([BLOCK, inside_out(moved(BLOCK, ASKEW))], tmp_path / "two.step")
    assert told(path) == [("inside_out_in_file", 1)]


def test_real_files_are_not_accused(corpora: Path) -> None:
    """In 76 files of 20 projects no reader had to turn anything."""
    assert {path.name: said for path in sorted(corpora.glob("real/*.st*p"))[::3] if (said := told(path))} == {}
