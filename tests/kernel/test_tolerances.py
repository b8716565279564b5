"""What the model itself says: dimensions, tolerances, datums and threads, with the faces they point at."""

import math
from pathlib import Path

import numpy as np
import pytest
from OCP.collections import Sequence_TDF_Label
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFDoc import XCAFDoc_Dimension, XCAFDoc_DocumentTool, XCAFDoc_GeomTolerance

from analyzers.kernel import step_file
from analyzers.kernel.arrays import read_part
from analyzers.kernel.header import read_header
from analyzers.kernel.step_file import load
from analyzers.model.part import Part
from analyzers.model.tolerance_note import ToleranceNote
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.stock import block
from tests.kernel._annotated import Annotated
from tests.kernel._files import Assembly, place_of, write_work

BORES = (5.0, 8.0)
CTC_01 = "nist_ctc_01_asme1_ap242.stp"


def plate(path: Path, unit: str = "mm") -> tuple[Annotated, Part]:
    """Write a plate with two through bores and return its text, to be annotated, and its arrays."""
    work = block((40.0, 30.0, 10.0))
    for x, diameter in zip((10.0, 28.0), BORES, strict=True):
        drill(work, (x, 12.0, 10.0), diameter, 10.0, bottom="through")
    write_work(work, path, unit=unit)
    return Annotated(path), read_part(load(path).solids[0].shape, "plate", 1)


def bore(part: Part, diameter: float) -> int:
    """Return the face of the bore."""
    return int(np.flatnonzero(np.abs(2 * part.face_radius_mm - diameter) < 1e-6)[0])


def notes_of(text: Annotated) -> tuple[ToleranceNote, ...]:
    """Return what the annotated file says about its one solid."""
    return load(text.write()).solids[0].tolerances


@pytest.mark.parametrize(
    ("lower", "upper", "callout"),
    [
        pytest.param(-0.1, 0.05, "⌀8 +0.05/-0.1", id="on-both-sides"),
        pytest.param(-0.02, 0.02, "⌀8 ±0.02", id="even"),
        pytest.param(0.0, 0.015, "⌀8 +0.015/0", id="from-nominal-up"),
        pytest.param(0.005, 0.014, "⌀8 +0.014/+0.005", id="both-above-nominal"),
        pytest.param(-0.028, -0.013, "⌀8 -0.013/-0.028", id="both-below-nominal"),
        pytest.param(0.05, -0.1, "⌀8 +0.05/-0.1", id="written-the-wrong-way-round"),
    ],
)
def test_deviations_keep_their_sign(lower: float, upper: float, callout: str, tmp_path: Path) -> None:
    """A plus-minus tolerance is read as it is written, with the face of its bore."""
    text, part = plate(tmp_path / "plate.step")
    size = text.size(text.aspect(bore(part, 8.0)), "diameter", text.length(8.0))
    text.plus_minus(size, text.length(lower, ""), text.length(upper, ""))
    (note,) = notes_of(text)
    assert (note.id, note.kind, note.faces) == ("T1", "diameter", (bore(part, 8.0),))
    assert note.callout() == callout
    assert note.zone_mm == pytest.approx(abs(upper - lower))


@pytest.mark.parametrize("unit", ["mm", "inch", "cm"])
def test_numbers_become_millimetres_and_degrees(unit: str, tmp_path: Path) -> None:
    """Nominal, deviations and zones in the file's unit of length; angles in its radians."""
    text, part = plate(tmp_path / "plate.step", unit)
    factor = {"mm": 1.0, "inch": 25.4, "cm": 10.0}[unit]
    aspect = text.aspect(int(np.nanargmax(part.face_radius_mm)))
    size = text.size(aspect, "diameter", text.length(0.25))
    text.plus_minus(size, text.length(-0.001, ""), text.length(0.002, ""))
    turn = text.between(aspect, text.aspect(0), text.angle(math.pi / 3))
    text.plus_minus(turn, text.angle(-math.pi / 360, ""), text.angle(math.pi / 180, ""))
    text.add(f"FLATNESS_TOLERANCE('','',{text.length(0.0015, '')},{text.aspect(1)})")
    diameter, angle, flat = notes_of(text)
    numbers = (diameter.nominal_mm, diameter.upper_mm, diameter.lower_mm, flat.zone_mm)
    assert numbers == pytest.approx([factor * each for each in (0.25, 0.002, -0.001, 0.0015)])
    assert (angle.nominal_deg, angle.upper_deg, angle.lower_deg) == pytest.approx((60.0, 1.0, -0.5))
    assert (angle.kind, angle.nominal_mm, angle.zone_mm) == ("angle", None, None)


def test_limits_are_read_as_deviations_from_nominal(tmp_path: Path) -> None:
    """By name or by qualifier; without a nominal value it is the middle; one limit alone leaves the other open."""
    text, part = plate(tmp_path / "plate.step")
    aspect = text.aspect(bore(part, 5.0))
    length = text.length
    text.size(aspect, "diameter", length(5.0), length(5.03, "upper limit"), length(4.99, "lower limit"))
    text.size(aspect, "diameter", length(5.03, "", "maximum"), length(4.99, "", "minimum"))
    text.size(aspect, "radius", length(2.6, "", "maximum"))
    named, middle, most = notes_of(text)
    assert (named.nominal_mm, named.upper_mm, named.lower_mm) == pytest.approx((5.0, 0.03, -0.01))
    assert (middle.nominal_mm, middle.upper_mm, middle.lower_mm) == pytest.approx((5.01, 0.02, -0.02))
    assert (most.nominal_mm, most.upper_mm, most.lower_mm, most.zone_mm) == (2.6, 0.0, None, None)
    assert most.callout() == "R2.6 MAX"


@pytest.mark.parametrize(
    ("letter", "grade", "of", "fit", "deviations"),
    [
        pytest.param("H", "7", "hole", "H7", (0.015, 0.0), id="H7"),
        pytest.param("h", "6", "shaft", "h6", (0.0, -0.009), id="h6"),
        pytest.param("H", "6", "shaft", "h6", (0.0, -0.009), id="case-by-what-it-is-of"),
        pytest.param("JS", "9", "hole", "JS9", (0.018, -0.018), id="JS9"),
        pytest.param("F", "8", "hole", "F8", (None, None), id="F8-width-only"),
    ],
)
def test_fits_have_the_width_of_their_grade(
    letter: str, grade: str, of: str, fit: str, deviations: tuple[float | None, float | None], tmp_path: Path
) -> None:
    """ISO 286-1, over 6 to 10 mm: IT6 9, IT7 15, IT8 22, IT9 36 micrometres; H begins and h ends at nominal."""
    width = {"6": 0.009, "7": 0.015, "8": 0.022, "9": 0.036}[grade]
    text, part = plate(tmp_path / "plate.step")
    text.fit(text.size(text.aspect(bore(part, 8.0)), "diameter", text.length(8.0)), letter, grade, of)
    (note,) = notes_of(text)
    assert (note.fit, note.callout()) == (fit, f"⌀8 {fit}")
    assert note.zone_mm == pytest.approx(width)
    assert (note.upper_mm, note.lower_mm) == pytest.approx(deviations)


def test_theoretical_and_auxiliary_dimensions_say_so(tmp_path: Path) -> None:
    """Boxed and bracketed as on a drawing; a location has the faces of both its ends."""
    text, part = plate(tmp_path / "plate.step")
    one, other = text.aspect(bore(part, 5.0)), text.aspect(bore(part, 8.0))
    text.distance(one, other, text.length(18.0), text.note("theoretical"))
    text.size(other, "diameter", text.length(8.0), text.note("auxiliary"))
    auxiliary, theoretical = sorted(notes_of(text), key=lambda note: note.callout())
    assert (theoretical.use, theoretical.callout()) == ("theoretical", "[18]")
    assert theoretical.faces == tuple(sorted((bore(part, 5.0), bore(part, 8.0))))
    assert (auxiliary.use, auxiliary.callout()) == ("auxiliary", "(⌀8)")


def test_geometric_tolerances_carry_zone_datums_and_modifiers(tmp_path: Path) -> None:
    """A position with a round zone at maximum material against a datum and a common one; a plain flatness."""
    text, part = plate(tmp_path / "plate.step")
    a, b, c = (text.datum(letter, face) for letter, face in zip("ABC", (0, 1, 2), strict=True))
    system = text.datum_system(a, (b, c))
    position = text.add(
        f"(GEOMETRIC_TOLERANCE('','',{text.length(0.2, '')},{text.aspect(bore(part, 8.0))})"
        f"GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE(({system}))"
        "GEOMETRIC_TOLERANCE_WITH_MODIFIERS((.MAXIMUM_MATERIAL_REQUIREMENT.))POSITION_TOLERANCE())"
    )
    text.zone(position, "cylindrical or circular")
    text.add(f"FLATNESS_TOLERANCE('','',{text.length(0.05, '')},{text.aspect(3)})")
    text.add(f"PERPENDICULARITY_TOLERANCE('','',{text.length(0.1, '')},{text.aspect(3)},({system}))")
    notes = notes_of(text)
    assert [each.callout() for each in notes] == [
        "⌖ ⌀0.2Ⓜ | A | B-C",
        "⏥ 0.05",
        "⟂ 0.1 | A | B-C",
        "datum A",
        "datum B",
        "datum C",
    ]
    assert [each.faces for each in notes] == [(bore(part, 8.0),), (3,), (3,), (0,), (1,), (2,)]


def test_an_aspect_made_of_others_means_all_their_faces(tmp_path: Path) -> None:
    """Also where the aspects stand in a ring; a tolerance on a dimension means the dimension's faces."""
    text, part = plate(tmp_path / "plate.step")
    one, other = text.aspect(bore(part, 5.0)), text.aspect(bore(part, 8.0))
    whole = text.whole(one, other)
    text.relate(one, whole)
    size = text.size(whole, "diameter", text.length(5.0))
    text.add(f"POSITION_TOLERANCE('','',{text.length(0.1, '')},{size})")
    both = tuple(sorted((bore(part, 5.0), bore(part, 8.0))))
    assert [each.faces for each in notes_of(text)] == [both, both]


def test_a_dimension_without_a_value_says_so(tmp_path: Path) -> None:
    """It is kept: a drawing that shows it has something to say about these faces."""
    text, part = plate(tmp_path / "plate.step")
    text.size(text.aspect(bore(part, 5.0)), "diameter")
    (note,) = notes_of(text)
    assert (note.nominal_mm, note.why_none) == (None, "the file gives this dimension no value")


@pytest.mark.parametrize("where", ["face", "aspect", "dimension"])
def test_threads_are_read_from_names_and_notes(where: str, tmp_path: Path) -> None:
    """From the name of a face, of a shape aspect, or a note beside a dimension; each thread once."""
    text, part = plate(tmp_path / "plate.step")
    face = bore(part, 5.0)
    if where == "face":
        text.name_face(face, "M6x1-6H thread")
    elif where == "aspect":
        text.aspect(face, name="Tapped hole M6x1-6H")
    else:
        text.size(text.aspect(face), "diameter", text.length(5.0), text.note("M6 x 1 - 6H"))
    threads = [each for each in notes_of(text) if each.kind == "thread"]
    assert [(each.thread, each.nominal_mm, each.pitch_mm, each.faces) for each in threads] == [
        ("M6×1-6H", 6.0, 1.0, (face,))
    ]


@pytest.mark.parametrize("name", ["hole for M6x20 screw", "M6 clearance", "TOP", "G"])
def test_other_names_are_no_threads(name: str, tmp_path: Path) -> None:
    """Fasteners and plain words stay silent."""
    text, part = plate(tmp_path / "plate.step")
    text.name_face(bore(part, 5.0), name)
    assert notes_of(text) == ()


def test_a_file_without_annotations_is_not_searched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The header knows from the text; the words of a unit's dimensions and of accuracy do not count."""
    text, part = plate(tmp_path / "plate.step", "inch")
    path = text.write()
    assert "DIMENSIONAL_EXPONENTS" in path.read_text(encoding="ascii")
    assert "UNCERTAINTY" in path.read_text(encoding="ascii")
    assert not read_header(path).annotated
    text.size(text.aspect(bore(part, 5.0)), "diameter", text.length(0.2))
    assert read_header(text.write()).annotated


def test_what_cannot_be_read_costs_the_notes_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The solid stays, and a problem says what is missing."""
    text, part = plate(tmp_path / "plate.step")
    text.size(text.aspect(bore(part, 5.0)), "diameter", text.length(5.0))

    def fails(*_: object) -> None:
        raise RuntimeError("no such entity")

    monkeypatch.setattr(step_file, "read_tolerances", fails)
    file = load(text.write())
    assert [each.tolerances for each in file.solids] == [()]
    assert [each.message for each in file.problems] == [
        "the model's own dimensions and tolerances could not be read: no such entity"
    ]


def test_notes_stay_with_their_solid_in_an_assembly(tmp_path: Path) -> None:
    """A placed and turned part keeps its faces, once for its two copies; the other part has none of its notes."""
    work = block((40.0, 30.0, 10.0))
    drill(work, (10.0, 12.0, 10.0), 5.0, 10.0, bottom="through")
    file = Assembly()
    top, part = file.product("top"), file.product("part", work.shape)
    other = file.product("other", block((5.0, 6.0, 7.0)).shape)
    for at in ((100.0, 20.0, -5.0), (-60.0, 0.0, 3.0)):
        file.place(top, part, place_of(at, (0.0, 1.0, 0.0)))
    file.place(top, other, place_of((0.0, 0.0, 500.0)))
    text = Annotated(file.write(tmp_path / "assembly.step"))
    bored = read_part(load(tmp_path / "assembly.step").solids[0].shape, "part", 2)
    text.size(text.aspect(bore(bored, 5.0)), "diameter", text.length(5.0))
    text.size(text.aspect(), "thickness", text.length(10.0))
    one, two = load(text.write()).solids
    assert (one.count, two.count) == (2, 1)
    assert [(each.callout(), each.faces) for each in one.tolerances] == [("⌀5", (bore(bored, 5.0),))]
    assert two.tolerances == ()


def test_a_file_in_inches_leaves_the_next_file_in_millimetres(tmp_path: Path) -> None:
    """The writer's unit is the process's: whoever sets it puts it back."""
    work = block((40.0, 30.0, 10.0))
    write_work(work, tmp_path / "inch.step", unit="inch")
    file = Assembly()
    file.product("part", work.shape)
    assert load(file.write(tmp_path / "next.step")).source.length_unit == "mm"


def test_a_note_of_no_face_belongs_to_the_only_solid(tmp_path: Path) -> None:
    """Where there is one solid, there is no doubt which it means."""
    text, _ = plate(tmp_path / "plate.step")
    text.size(text.aspect(), "thickness", text.length(10.0))
    (note,) = notes_of(text)
    assert (note.callout(), note.faces) == ("10", ())


# --- a model of another house, read by another route ----------------------------------------------------------------


def xde_values(path: Path) -> tuple[list[float], list[float]]:
    """Return nominal values of dimensions and widths of geometric tolerances as the XDE reader converts them."""
    reader = STEPCAFControl_Reader()
    reader.SetGDTMode(True)
    reader.ReadFile(str(path))
    document = TDocStd_Document(TCollection_ExtendedString("part"))
    assert reader.Transfer(document)
    tool = XCAFDoc_DocumentTool.DimTolTool_s(document.Main())
    labels = Sequence_TDF_Label()
    tool.GetDimensionLabels(labels)
    sizes = [XCAFDoc_Dimension.Set_s(labels.Value(i)).GetObject() for i in range(1, labels.Length() + 1)]
    nominal = [each.GetValue() for each in sizes if each.GetValues() is not None and not each.IsDimWithRange()]
    nominal += [(each.GetLowerBound() + each.GetUpperBound()) / 2 for each in sizes if each.IsDimWithRange()]
    labels = Sequence_TDF_Label()
    tool.GetGeomToleranceLabels(labels)
    zones = [XCAFDoc_GeomTolerance.Set_s(labels.Value(i)).GetObject().GetValue() for i in range(1, labels.Length() + 1)]
    return nominal, zones


def test_agrees_with_the_xde_reader_and_with_the_files_own_count(corpora: Path) -> None:
    """NIST CTC 01: the file states its numbers of annotations (validation properties); XDE finds the same values."""
    path = corpora / "real" / CTC_01
    notes = load(path).solids[0].tolerances
    sizes = [each for each in notes if each.nominal_mm is not None or each.kind == "angle"]
    widths = [each.zone_mm for each in notes if each.zone_mm is not None and each.nominal_mm is None]
    nominal, zones = xde_values(path)
    assert sorted(each.nominal_mm or each.nominal_deg or 0.0 for each in sizes) == pytest.approx(sorted(nominal))
    assert sorted(widths) == pytest.approx(sorted(zones))
    said = path.read_text(encoding="ascii")
    for name, found in (
        ("dimensional locations", [each for each in notes if each.kind in ("length", "angle")]),
        ("dimensional sizes", [each for each in notes if each.kind == "diameter"]),
        ("geometric tolerances", widths),
        ("datum features", [each for each in notes if each.kind == "datum"]),
    ):
        assert f"'number of {name}',{len(found)}.)" in said
