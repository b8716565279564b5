import pytest

from analyzers.data.hole_tables import InchCounterbore
from analyzers.data.rows import rows
from analyzers.features.hole import CounterboreHole, CountersunkHole, Hole
from analyzers.report.fits import probably_for, uses
from analyzers.units import MM_PER_INCH, UnitSystem
from tests.report import _builders as build

PLACE = {"faces": (), "direction": (0.0, 0.0, 1.0), "position_mm": (0.0, 0.0, 0.0)}


def counterbore(hole_mm: float, bore_mm: float, depth_mm: float) -> CounterboreHole:
    """Return a counterbored through hole."""
    return CounterboreHole(
        **PLACE,  # type: ignore[arg-type]  # the three fields that every feature needs
        diameter_mm=hole_mm,
        depth_mm=12.0,
        through=True,
        bottom="through",
        counterbore_diameter_mm=bore_mm,
        counterbore_depth_mm=depth_mm,
    )


def countersink(hole_mm: float, sink_mm: float, angle_deg: float) -> CountersunkHole:
    """Return a countersunk through hole."""
    return CountersunkHole(
        **PLACE,  # type: ignore[arg-type]  # the three fields that every feature needs
        diameter_mm=hole_mm,
        depth_mm=12.0,
        through=True,
        bottom="through",
        countersink_diameter_mm=sink_mm,
        countersink_angle_deg=angle_deg,
    )


@pytest.mark.parametrize(
    ("hole", "units", "words"),
    [
        # ISO 273 medium; ISO 2306; DIN 974-1 series 1; ISO 15065 (tables in analyzers/data, each with its source)
        pytest.param(build.hole(diameter_mm=6.6), "mm", ("clearance for M6", "ISO 273"), id="clearance"),
        pytest.param(build.hole(diameter_mm=5.0, depth_mm=15.0, through=False), "mm", ("M6", "ISO 2306"), id="tap"),
        pytest.param(counterbore(6.6, 11.0, 6.4), "mm", ("M6 socket head", "DIN 974-1"), id="counterbore"),
        pytest.param(countersink(4.5, 9.4, 90.0), "mm", ("M4",), id="countersink"),
        pytest.param(build.hole(diameter_mm=17.77), "mm", ("no standard size",), id="odd"),
    ],
)
def test_hole_is_named_for_its_screw(hole: Hole, units: UnitSystem, words: tuple[str, ...]) -> None:
    """The hole chart names the fastener and the standard where there is one, and says where there is none."""
    said = str(probably_for(hole, units))
    assert [word for word in words if word not in said] == []


def test_a_head_of_the_other_system_comes_after_what_the_hole_says() -> None:
    """3.2 mm with the bore of a No.4 screw's head in a metric part: clearance of M3; the head is named last."""
    bore_mm = next(row.handbook_bore_in * MM_PER_INCH for row in rows(InchCounterbore) if row.screw == "No.4")
    found = uses(counterbore(3.2, bore_mm, 3.0), "mm")
    assert found[0].text == "clearance for M3, fine fit"
    heads = [number for number, each in enumerate(found) if each.use == "screw_head"]
    assert heads == list(range(len(found) - len(heads), len(found)))
    assert heads
