"""Holes cut by another library are found with the numbers of its catalogue.

The library is bd_warehouse 0.4 on build123d 0.13 (Apache-2.0).

The holes are its own solids; the expected numbers are read from its CSV files, so neither side is ours. What its tables
get wrong (M12, M14 and M16 clearance, see tests/data) is cut as wrong, and has to be found as cut.
"""

import csv
from importlib import import_module
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path
from typing import Any

import pytest

from analyzers.features.hole import Hole
from analyzers.features.outer_round import OuterRound
from tests.features._bench import ASKEW, differences, of_family, recognised

THICK = 40.0
SIZES = ["M3-0.5", "M4-0.7", "M5-0.8", "M6-1", "M8-1.25", "M10-1.5", "M12-1.75", "M16-2"]
FITS = ["Close", "Normal", "Loose"]


@pytest.fixture(scope="module")
def library() -> Any:
    """Return the two modules; skips, and says so, where they are not installed."""
    try:
        distribution("bd_warehouse")
        distribution("build123d")
    except PackageNotFoundError as missing:
        pytest.skip(f"{missing.name} is not installed, so no hole of another library is read: install `.[dev]`")
    return import_module("build123d"), import_module("bd_warehouse.fastener")


def table(name: str) -> dict[str, dict[str, str]]:
    """Return one table of the catalogue by size."""
    path = Path(str(distribution("bd_warehouse").locate_file(f"bd_warehouse/data/{name}.csv")))
    rows = csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines())
    return {row["Size"]: {key.strip(): (value or "").strip() for key, value in row.items()} for row in rows}


def drilled(library: Any, hole: Any) -> Any:
    """Return a block of 60 x 50 x 40 with a hole of the library, off its middle, from above."""
    build123d, _ = library
    with build123d.BuildPart() as part:
        build123d.Box(60.0, 50.0, THICK)
        with build123d.Locations((7.0, -4.0, THICK / 2)):
            hole()
    return part.part.wrapped


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("fit", FITS)
def test_clearance_holes(library: Any, size: str, fit: str) -> None:
    """A plain clearance hole through the block has the diameter of the catalogue."""
    diameter = float(table("clearance_hole_sizes")[size.split("-")[0]][fit])
    screw = library[1].SocketHeadCapScrew(size, 20, simple=True)
    shape = drilled(library, lambda: library[1].ClearanceHole(screw, fit=fit, counter_sunk=False))
    expected = [{"kind": "round_hole", "diameter_mm": diameter, "depth_mm": THICK, "through": True}]
    assert differences(expected, of_family(recognised(lambda: shape, ASKEW), Hole)) == []


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("material", ["Soft", "Hard"])
def test_tap_holes(library: Any, size: str, material: str) -> None:
    """A blind tap hole has the tap drill of the catalogue, its depth, and the library's point of 98 degrees."""
    diameter = float(table("tap_hole_sizes")[size][material])
    depth = min(2.5 * float(size.split("-")[0][1:]), 30.0)
    screw = library[1].SocketHeadCapScrew(size, 20, simple=True)
    tap = library[1].TapHole
    shape = drilled(library, lambda: tap(screw, material=material, depth=depth, counter_sunk=False))
    (found,) = of_family(recognised(lambda: shape, ASKEW), Hole)
    assert isinstance(found, Hole)
    assert (found.kind, found.bottom) == ("round_hole", "conical")
    assert found.point_angle_deg == pytest.approx(98.0, abs=1e-6)
    assert found.diameter_mm == pytest.approx(diameter, abs=1e-6)
    assert found.depth_mm == pytest.approx(depth, abs=1e-6)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("fit", FITS)
def test_counterbores(library: Any, size: str, fit: str) -> None:
    """Head diameter plus the hole's play, as deep as the head is high (ISO 4762 in the catalogue)."""
    head = table("socket_head_cap_parameters")[size]
    nominal = float(size.split("-")[0][1:])
    diameter = float(table("clearance_hole_sizes")[size.split("-")[0]][fit])
    screw = library[1].SocketHeadCapScrew(size, 20, simple=True)
    shape = drilled(library, lambda: library[1].ClearanceHole(screw, fit=fit))
    expected = [
        {
            "kind": "counterbore_hole",
            "diameter_mm": diameter,
            "depth_mm": THICK,
            "through": True,
            "counterbore_diameter_mm": float(head["iso4762:dk"]) + diameter - nominal,
            "counterbore_depth_mm": float(head["iso4762:k"]),
        }
    ]
    assert differences(expected, of_family(recognised(lambda: shape, ASKEW), Hole)) == []


@pytest.mark.parametrize("size", SIZES)
def test_countersinks(library: Any, size: str) -> None:
    """The head's diameter and included angle (ISO 10642 in the catalogue) over a clearance hole."""
    head = table("countersunk_head_parameters")[size]
    diameter = float(table("clearance_hole_sizes")[size.split("-")[0]]["Normal"])
    screw = library[1].CounterSunkScrew(size, 20, fastener_type="iso10642", simple=True)
    shape = drilled(library, lambda: library[1].ClearanceHole(screw, fit="Normal"))
    (found,) = of_family(recognised(lambda: shape, ASKEW), Hole)
    said = {
        "diameter_mm": diameter,
        "through": True,
        "countersink_diameter_mm": float(head["iso10642:dk"]),
        "countersink_angle_deg": float(head["iso10642:a"]),
    }
    assert differences([{"kind": "countersunk_hole"} | said], [found]) == []


@pytest.mark.filterwarnings("ignore:add:DeprecationWarning")
@pytest.mark.parametrize("hand", ["right", "left"])
def test_modelled_threads(library: Any, hand: str) -> None:
    """An ISO thread of the library on a core: pitch and major diameter of its size, minor of its own formula."""
    build123d, _ = library
    thread = import_module("bd_warehouse.thread").IsoThread(
        major_diameter=6.0, pitch=1.0, length=3.0, external=True, hand=hand, end_finishes=("square", "square")
    )
    with build123d.BuildPart() as part:
        build123d.Cylinder(
            thread.min_radius, 9.0, align=(build123d.Align.CENTER, build123d.Align.CENTER, build123d.Align.MIN)
        )
        build123d.add(thread)
    facts = recognised(lambda: part.part.wrapped, ASKEW)
    (found,) = [
        each.modelled_thread
        for each in of_family(facts, OuterRound)
        if isinstance(each, OuterRound) and each.modelled_thread
    ]
    assert (found.designation, found.hand, found.starts) == ("M6×1", hand, 1)
    assert found.pitch_mm == pytest.approx(1.0, abs=1e-3)
    assert found.major_mm == pytest.approx(6.0, abs=2e-3)
    assert found.minor_mm == pytest.approx(2 * thread.min_radius, abs=2e-3)
    assert found.flank_angle_deg == pytest.approx(60.0, abs=0.1)


@pytest.mark.filterwarnings("ignore:add:DeprecationWarning")
def test_modelled_threads_in_a_bore(library: Any) -> None:
    """The library's inside thread in a block: one hole, its thread and nothing else."""
    build123d, _ = library
    thread = import_module("bd_warehouse.thread").IsoThread(
        major_diameter=6.0, pitch=1.0, length=4.0, external=False, end_finishes=("square", "square")
    )
    with build123d.BuildPart() as part:
        build123d.Box(20.0, 16.0, 4.0, align=(build123d.Align.CENTER, build123d.Align.CENTER, build123d.Align.MIN))
        build123d.Hole(3.0)
        build123d.add(thread)
    (hole,) = of_family(recognised(lambda: part.part.wrapped, ASKEW), Hole)
    assert isinstance(hole, Hole)
    assert hole.through
    assert hole.modelled_thread is not None
    assert (hole.modelled_thread.designation, hole.modelled_thread.hand) == ("M6×1", "right")
    assert hole.diameter_mm == pytest.approx(hole.modelled_thread.minor_mm, abs=1e-6)
