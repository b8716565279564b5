"""Loading: units, names, colours, copies in assemblies, and what is no solid."""

from pathlib import Path

import numpy as np
import pytest
from OCP.BRep import BRep_Builder
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
from OCP.gp import gp_Pnt
from OCP.TopoDS import TopoDS_Shape, TopoDS_Shell

from analyzers.errors import UnreadableFile
from analyzers.kernel.arrays import faces_of, read_part
from analyzers.kernel.mass import volume
from analyzers.kernel.step_file import LoadedFile, load
from fixtures.make.model import Body, Model
from fixtures.make.step_file import write_step
from fixtures.make.vocabulary.draw import faces
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.stock import block
from fixtures.make.vocabulary.work import Place, Work
from tests.benchmarks.made import BASE_MM, HOLE_MM, PITCH_MM
from tests.benchmarks.made import plate as plate_of_holes
from tests.kernel._files import Assembly, place_of, without_unit, write_shapes, write_work

SIZE = (30.0, 20.0, 10.0)


def plate(size: tuple[float, float, float] = SIZE) -> Work:
    """Return a plate with one hole of 5 mm."""
    work = block(size)
    drill(work, (9.0, 8.0, size[2]), 5.0, size[2], bottom="through")
    return work


def said(file: LoadedFile) -> str:
    """Return everything that the file's problems say."""
    return " ".join(problem.message for problem in file.problems)


def centres(file: LoadedFile) -> np.ndarray:
    """Return (N, 3) the middle of each solid's box."""
    return np.array([read_part(each.shape, each.name, each.count).box_mm.mean(axis=0) for each in file.solids])


@pytest.mark.parametrize(
    ("unit", "word", "times"),
    [("mm", "mm", 1.0), ("inch", "inch", 1.0), ("cm", "cm", 10.0), ("m", "m", 1000.0)],
)
def test_lengths_become_millimetres(unit: str, word: str, times: float, tmp_path: Path) -> None:
    """Box and bore are in millimetres whatever the file's unit; the unit is named as it is written."""
    file = load(write_work(plate(), tmp_path / "plate.step", unit=unit))
    part = read_part(file.solids[0].shape, "plate", 1)
    assert file.source.length_unit == word
    assert file.problems == ()
    assert part.size_mm == pytest.approx([times * each for each in SIZE], abs=1e-6 * times)
    assert np.nanmax(part.face_radius_mm) == pytest.approx(2.5 * times, rel=1e-9)


def test_without_a_unit_millimetres_are_assumed_and_said(tmp_path: Path) -> None:
    """A file without a length unit is read as millimetres, with a problem that asks."""
    file = load(without_unit(write_work(plate(), tmp_path / "plate.step")))
    assert file.source.length_unit is None
    assert "no length unit: millimetres are assumed" in said(file)
    assert read_part(file.solids[0].shape, "plate", 1).size_mm == pytest.approx(SIZE, abs=1e-6)


NAMES = [
    pytest.param("plate 7", "plate 7", id="plain"),
    pytest.param("a ''quoted'' name", "a 'quoted' name", id="doubled-apostrophes"),
    pytest.param("Träger", "Träger", id="utf-8"),
    pytest.param(r"Tr\X2\00E4\X0\ger \X2\677F\X0\ ", "Träger 板", id="two-byte-letters"),
    pytest.param(r"Tr\X\E4ger", "Träger", id="one-byte-letters"),
    pytest.param(r"Tr\S\dger", "Träger", id="latin-page-letters"),
    pytest.param(r"back\\slash", r"back\slash", id="doubled-backslash"),
]


@pytest.mark.parametrize(("wrote", "name"), NAMES)
def test_a_product_keeps_its_name(wrote: str, name: str, tmp_path: Path) -> None:
    """The solid and the file carry the product's name, coded letters (ISO 10303-21, 6.4.3) included."""
    path = write_work(plate(), tmp_path / "plate.step", name="the_name")
    path.write_bytes(path.read_bytes().replace(b"the_name", wrote.encode("utf-8")))
    file = load(path)
    assert (file.solids[0].name, file.source.product_name) == (name, name)


def test_colours_are_those_written(tmp_path: Path) -> None:
    """A solid's colour is red, green, blue as the file writes them; None where it writes none."""
    bodies = [
        Body("red", plate(), colour=(0.7, 0.1, 0.2)),
        Body("bare", plate((40.0, 20.0, 10.0)), [Place((0.0, 50.0, 0.0))]),
    ]
    path = tmp_path / "two.step"
    write_step(Model("two", bodies), path)
    colours = {each.name: each.colour for each in load(path).solids}
    assert colours["red"] == pytest.approx((0.7, 0.1, 0.2), abs=1e-6)
    assert colours["bare"] is None


def test_copies_in_nested_assemblies_are_counted(tmp_path: Path) -> None:
    """A pin that stands twice in a unit which stands three times, and once beside, occurs seven times."""
    file = Assembly()
    pin, body = file.product("pin", block((4.0, 4.0, 30.0)).shape), file.product("body", plate().shape)
    unit, top = file.product("unit"), file.product("top")
    for x in (5.0, 25.0):
        file.place(unit, pin, place_of((x, 0.0, 0.0)))
    file.place(unit, body, place_of((0.0, 0.0, 100.0)))
    for y in (0.0, 200.0, 400.0):
        file.place(top, unit, place_of((0.0, y, 0.0)))
    file.place(top, pin, place_of((0.0, 900.0, 0.0)))
    loaded = load(file.write(tmp_path / "top.step"))
    assert {each.name: each.count for each in loaded.solids} == {"pin": 7, "body": 3}
    assert loaded.source.product_name == "top"


def test_a_solid_stands_where_its_first_instance_stands(tmp_path: Path) -> None:
    """Placements of an assembly in an assembly are multiplied, turns included."""
    file = Assembly()
    pin = file.product("pin", block((4.0, 6.0, 30.0)).shape)  # its middle: (2, 3, 15)
    unit, top = file.product("unit"), file.product("top")
    file.place(unit, pin, place_of((10.0, 0.0, 0.0)))
    file.place(top, unit, place_of((0.0, 100.0, 0.0), out=(1.0, 0.0, 0.0), along=(0.0, 1.0, 0.0)))
    loaded = load(file.write(tmp_path / "top.step"))
    # the unit's x, y, z become y, z, x: (12, 3, 15) lands at (15, 12, 3), then 100 along y
    assert centres(loaded) == pytest.approx(np.array([[15.0, 112.0, 3.0]]), abs=1e-9)


def test_two_solids_of_one_product_are_two(tmp_path: Path) -> None:
    """A product that holds two different solids gives both."""
    other = block((4.0, 4.0, 4.0), (50.0, 0.0, 0.0)).shape
    loaded = load(write_shapes([plate().shape, other], tmp_path / "two.step"))
    assert [each.count for each in loaded.solids] == [1, 1]
    assert loaded.problems == ()


def shell_of(shape: TopoDS_Shape) -> TopoDS_Shape:
    """Return a solid's shell with one face missing."""
    shell, builder = TopoDS_Shell(), BRep_Builder()
    builder.MakeShell(shell)
    for face in faces(shape)[1:]:
        builder.Add(shell, face)
    return shell


def wire_edge() -> TopoDS_Shape:
    """Return a lone edge."""
    return BRepBuilderAPI_MakeEdge(gp_Pnt(0.0, 0.0, 50.0), gp_Pnt(9.0, 0.0, 50.0)).Edge()


FAR = block((5.0, 5.0, 5.0), (200.0, 0.0, 0.0))

LOOSE = [
    pytest.param([shell_of(FAR.shape)], "1 open shell outside any solid", id="shell"),
    pytest.param([wire_edge()], "1 loose edge outside any face", id="edge"),
]


@pytest.mark.parametrize(("loose", "says"), LOOSE)
def test_loose_geometry_beside_a_solid_is_named(loose: list[TopoDS_Shape], says: str, tmp_path: Path) -> None:
    """The solid is loaded, and what belongs to no solid is a problem of its own."""
    loaded = load(write_shapes([plate().shape, *loose], tmp_path / "mixture.step"))
    assert len(loaded.solids) == 1
    assert says in said(loaded)


def test_wires_alone_are_named(tmp_path: Path) -> None:
    """A file of wires has no body, and says what it has instead."""
    loaded = load(write_shapes([wire_edge()], tmp_path / "loose.step"))
    assert loaded.solids == ()
    assert "1 loose edge outside any face" in said(loaded)
    assert "expected closed solids" in said(loaded)


def test_an_open_skin_alone_is_an_open_body(tmp_path: Path) -> None:
    """It is loaded with the faces it has, and what cannot be known of it is said."""
    loaded = load(write_shapes([shell_of(FAR.shape)], tmp_path / "skin.step"))
    (body,) = loaded.solids
    assert len(faces(body.shape)) == 5
    assert "1 open shell outside any solid" in said(loaded)
    assert "analysed as an open body: features are found, but there is no volume" in said(loaded)


def test_surfaces_that_meet_are_the_solid_they_bound(tmp_path: Path) -> None:
    """Six faces written one by one, out of order and one of them the wrong way round, are the block again."""
    sides = faces(FAR.shape)
    loose = [sides[k] for k in (3, 0, 5, 1, 4)] + [sides[2].Reversed()]
    loaded = load(write_shapes(loose, tmp_path / "faces.step"))
    (body,) = loaded.solids
    part = read_part(body.shape, "block", 1)
    assert (part.n_faces, part.closed) == (6, True)
    assert part.volume_mm3 == pytest.approx(125.0, rel=1e-6)
    assert "bound a solid, which is analysed; please confirm" in said(loaded)


def test_skins_apart_are_bodies_apart_the_largest_first(tmp_path: Path) -> None:
    """Skins that do not touch are not joined; of very many only the largest are taken, and that is said."""
    small = [shell_of(block((2.0, 2.0, 1.0 + 0.1 * k), (10.0 * k, 0.0, 0.0)).shape) for k in range(21)]
    loaded = load(write_shapes(small, tmp_path / "skins.step"))
    areas = [read_part(each.shape, "skin", 1).area_mm2 for each in loaded.solids]
    assert len(areas) == 20
    assert areas == sorted(areas, reverse=True)
    assert "of 21 separate skins only the 20 largest are analysed" in said(loaded)


def test_surfaces_beside_a_solid_stay_loose(tmp_path: Path) -> None:
    """Where there is a solid, construction surfaces are no further bodies."""
    loaded = load(write_shapes([plate().shape, shell_of(FAR.shape)], tmp_path / "mixture.step"))
    assert len(loaded.solids) == 1
    assert "analysed" not in said(loaded)


def test_a_whole_file_has_no_problems(tmp_path: Path) -> None:
    """A sound part in a known unit gives nothing to complain about."""
    loaded = load(write_work(plate(), tmp_path / "plate.step"))
    assert (loaded.problems, len(loaded.solids), loaded.solids[0].count) == ((), 1, 1)
    assert loaded.source.file_name == "plate.step"
    assert loaded.source.originating_system == "partsieve fixtures"


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9])
def test_a_cut_off_file_is_unreadable_and_says_where_it_ends(share: float, tmp_path: Path) -> None:
    """Text that stops in the middle is not guessed at."""
    path = write_work(plate(), tmp_path / "plate.step")
    text = path.read_text(encoding="ascii")
    path.write_text(text[: int(share * len(text))], encoding="ascii")
    with pytest.raises(UnreadableFile, match=r"plate\.step: .*cut off at line \d+"):
        load(path)


def test_a_file_without_its_last_line_is_taken_for_cut_off(tmp_path: Path) -> None:
    """Where the closing keyword is missing nobody knows what else is."""
    path = write_work(plate(), tmp_path / "plate.step")
    text = path.read_text(encoding="ascii")
    path.write_text(text[: text.index("END-ISO")], encoding="ascii")
    with pytest.raises(UnreadableFile, match="cut off"):
        load(path)


@pytest.mark.parametrize(
    "tail", [" \n" * 5000, "SIGNATURE;\n" + "MIIB\n" * 2000 + "ENDSEC;\n"], ids=["blanks", "signature-section"]
)
def test_what_follows_the_last_line_does_no_harm(tail: str, tmp_path: Path) -> None:
    """Blanks or a signature section (ISO 10303-21, edition 3) after the closing keyword are no doubt about the part."""
    path = write_work(plate(), tmp_path / "plate.step")
    path.write_text(path.read_text(encoding="ascii") + tail, encoding="ascii")
    loaded = load(path)
    assert (len(loaded.solids), loaded.problems) == (1, ())


def test_a_face_of_very_many_holes_loads_whole(tmp_path: Path) -> None:
    """Though crossing outlines are not looked for there: each hole is a face, and the volume is the formula's."""
    holes = 361
    (solid,) = load(write_shapes([plate_of_holes(holes + 6)], tmp_path / "plate.step")).solids
    found = faces_of(solid.shape)
    inside_mm3, _ = volume(found, np.zeros(len(found), dtype=bool), np.zeros(3))
    assert len(found) == holes + 6
    side_mm = 19 * PITCH_MM
    assert inside_mm3 == pytest.approx((side_mm**2 - holes * np.pi * HOLE_MM**2 / 4) * BASE_MM, rel=1e-9)
