"""The truth files are right: each number that the shape itself can confirm is read back from the STEP file with OCP.

Nothing of the analysis takes part here: volumes by Gauss's theorem in the kernel against the sum of formulas in the
scripts, radii and axes of the surfaces in the file against the recorded diameters, radii and positions.
"""

import json
import math
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from OCP.Bnd import Bnd_Box
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepGProp import BRepGProp
from OCP.GeomAbs import GeomAbs_SurfaceType as Kind
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.STEPControl import STEPControl_Reader
from OCP.TopAbs import TopAbs_ShapeEnum

from fixtures.make.vocabulary.draw import faces, parts_of
from fixtures.make.vocabulary.probe import distance_mm

ROOT = Path(__file__).resolve().parents[2]
PARTS = ROOT / "fixtures" / "parts"
STEMS = sorted(path.name.removesuffix(".truth.json") for path in PARTS.glob("*.truth.json"))
ALL_KINDS = {
    "round_hole", "counterbore_hole", "countersunk_hole", "stepped_hole", "closed_pocket", "open_pocket", "slot",
    "step", "boss", "groove", "fillet", "edge_round", "chamfer", "outer_round", "region",
}  # fmt: skip


def truth(stem: str) -> dict[str, Any]:
    """Return a part's truth."""
    content: dict[str, Any] = json.loads((PARTS / f"{stem}.truth.json").read_text(encoding="utf-8"))
    return content


@pytest.fixture(scope="module")
def read() -> Any:
    """Return a function that gives the solids of a part's STEP file, each distinct one once, placed as written."""
    kept: dict[str, list[Any]] = {}

    def solids(stem: str) -> list[Any]:
        if stem not in kept:
            reader = STEPControl_Reader()
            assert reader.ReadFile(str(PARTS / f"{stem}.step")) == IFSelect_ReturnStatus.IFSelect_RetDone
            reader.TransferRoots()
            kept[stem] = parts_of(reader.OneShape(), TopAbs_ShapeEnum.TopAbs_SOLID)
        return kept[stem]

    return solids


def volume(solid: Any) -> float:
    """Return a solid's volume, mm3."""
    props = GProp_GProps()
    BRepGProp.VolumeProperties_s(solid, props, 1e-10, False, False)
    return float(props.Mass())


def placed(body: dict[str, Any], point: list[float], index: int = 0) -> tuple[float, float, float]:
    """Return a point of a body where one of its copies stands."""
    matrix = np.array(body["placements"][index])
    x, y, z = (matrix[:, :3] @ np.array(point) + matrix[:, 3]).tolist()
    return (x, y, z)


def solid_of(body: dict[str, Any], solids: list[Any], index: int = 0) -> Any:
    """Return the solid in the file on whose skin all face points of the body lie."""
    for solid in solids:
        if all(distance_mm(placed(body, face["point_mm"], index), solid) < 1e-4 for face in body["faces"]):
            return solid
    raise AssertionError(f"no solid in the file carries the faces of {body['name']}")


@pytest.mark.parametrize("stem", STEMS)
def test_the_file_holds_the_bodies_with_their_volumes_by_formula(stem: str, read: Any) -> None:
    """Body counts, face counts, sizes and, where a formula exists, volumes are those of the file.

    Volumes agree to a millionth; for B-spline faces, which the kernel integrates less well, to 1e-5.
    """
    splines = stem.endswith("_splines")
    solids = read(stem)
    bodies = truth(stem)["bodies"]
    assert len(solids) == sum(body["count"] for body in bodies)
    for body in bodies:
        for index in range(body["count"]):
            solid = solid_of(body, solids, index)
            assert len(faces(solid)) == len(body["faces"])
            if body["volume_mm3"] is not None:
                assert volume(solid) == pytest.approx(body["volume_mm3"], rel=1e-5 if splines else 1e-6)
        box = Bnd_Box()
        BRepBndLib.AddOptimal_s(solid_of(body, solids), box, False, False)
        low, high = box.CornerMin(), box.CornerMax()
        size = [high.X() - low.X(), high.Y() - low.Y(), high.Z() - low.Z()]
        for measured, said in zip(size, body["size_mm"], strict=True):
            assert said is None or measured == pytest.approx(said, abs=1e-3)


def axis_of(surface: Any) -> tuple[Any, Any, float]:
    """Return a point of a round surface's axis, the axis, and its radius (cones: the half angle, degrees)."""
    if surface.GetType() == Kind.GeomAbs_Cylinder:
        form, number = surface.Cylinder(), surface.Cylinder().Radius()
    else:
        form, number = surface.Cone(), math.degrees(abs(surface.Cone().SemiAngle()))
    at, along = form.Axis().Location(), form.Axis().Direction()
    return np.array([at.X(), at.Y(), at.Z()]), np.array([along.X(), along.Y(), along.Z()]), number


@pytest.mark.parametrize("stem", [stem for stem in STEMS if not stem.endswith("_splines")])
def test_every_hole_has_its_cylinder_in_the_file(stem: str, read: Any) -> None:
    """Each hole's faces turn about the recorded axis, and one of them is a cylinder of the recorded diameter."""
    for body in truth(stem)["bodies"]:
        solid = solid_of(body, read(stem))
        for feature in body["features"]:
            if not feature["kind"].endswith("_hole"):
                continue
            at = np.array(placed(body, feature["position_mm"]))
            out = np.array(body["placements"][0])[:, :3] @ np.array(feature["direction"])
            radii = []
            for surface in surfaces(body, feature, solid):
                if surface.GetType() not in (Kind.GeomAbs_Cylinder, Kind.GeomAbs_Cone):
                    continue
                origin, axis, number = axis_of(surface)
                assert np.linalg.norm(np.cross(axis, out)) < 1e-6
                assert np.linalg.norm(np.cross(origin - at, out)) < 1e-5
                radii += [number] if surface.GetType() == Kind.GeomAbs_Cylinder else []
            cones_only = all(each["shape"] == "cone" for each in feature.get("segments", [{"shape": "cylinder"}]))
            assert cones_only or min(radii) == pytest.approx(feature["diameter_mm"] / 2, abs=1e-6)


@pytest.mark.parametrize("stem", [stem for stem in STEMS if not stem.endswith("_splines")])
def test_every_blend_has_its_radius_in_the_file(stem: str, read: Any) -> None:
    """Cylinders and spheres of a fillet or an edge round have its radius, tori its tube radius."""
    for body in truth(stem)["bodies"]:
        solid = solid_of(body, read(stem))
        for feature in body["features"]:
            if feature["kind"] not in ("fillet", "edge_round") or feature["variable"]:
                continue
            for surface in surfaces(body, feature, solid):
                radius = {
                    Kind.GeomAbs_Cylinder: lambda s: s.Cylinder().Radius(),
                    Kind.GeomAbs_Sphere: lambda s: s.Sphere().Radius(),
                    Kind.GeomAbs_Torus: lambda s: s.Torus().MinorRadius(),
                }[surface.GetType()](surface)
                assert radius == pytest.approx(feature["radius_mm"], abs=1e-6)


def surfaces(body: dict[str, Any], feature: dict[str, Any], solid: Any) -> list[Any]:
    """Return the surfaces of a feature's faces."""
    points = [placed(body, face["point_mm"]) for face in body["faces"] if face["feature"] == feature["id"]]
    return [BRepAdaptor_Surface(face) for face in faces(solid) for point in points if distance_mm(point, face) < 1e-5]


def test_every_kind_schema_and_unit_occurs() -> None:
    """The parts cover all feature kinds, hole bottoms and entries, groove sides, schemas, units; all are invented."""
    contents = [truth(stem) for stem in STEMS]
    features = [each for content in contents for body in content["bodies"] for each in body["features"]]
    assert len(STEMS) >= 24
    assert {each["kind"] for each in features} == ALL_KINDS
    bottoms = {each.get("bottom") for each in features} - {None}
    assert bottoms == {"through", "flat", "conical", "spherical", "into_void"}
    assert {each.get("entry") for each in features} - {None} == {"flat", "inclined", "curved"}
    assert {each.get("side") for each in features} - {None} == {"outer", "inner", "face"}
    assert {content["schema"] for content in contents} == {"AP203", "AP214", "AP242"}
    assert {content["length_unit"] for content in contents} == {"mm", "inch"}
    assert all(content["invented"] is True and "nvented" in content["scenario"] for content in contents)


@pytest.mark.parametrize("stem", STEMS)
def test_headers_say_what_the_truth_says(stem: str) -> None:
    """Schema, unit and product name stand in the file as recorded, and no user, machine or clock does."""
    text = (PARTS / f"{stem}.step").read_text(encoding="ascii")
    said = truth(stem)
    names = {"AP203": "CONFIG_CONTROL_DESIGN", "AP214": "AUTOMOTIVE_DESIGN", "AP242": "AP242_MANAGED_MODEL"}
    assert names[said["schema"]] in text
    assert ("'INCH'" in text) == (said["length_unit"] == "inch")
    assert f"PRODUCT('{said['product_name']}'" in text
    assert "'2024-03-01T08:00:00'" in text
    assert re.findall(r"PERSON\('(\w*)'|ORGANIZATION\('([\w ]*)'", text) in (
        [],
        [("nobody", ""), ("", "invented workshop")],
    )
    assert set(re.findall(r"(?:CALENDAR_DATE|LOCAL_TIME)\(\d+,\d+", text)) <= {"CALENDAR_DATE(2024,1", "LOCAL_TIME(8,0"}


def test_making_them_again_gives_the_same_bytes(tmp_path: Path) -> None:
    """Every committed file is what its script makes, to the byte: in another process, another folder, another order."""
    code = "import sys; from pathlib import Path; from fixtures.make import __main__ as m; m.remake(Path(sys.argv[1]))"
    subprocess.run([sys.executable, "-c", code, str(tmp_path)], cwd=ROOT, check=True, capture_output=True)
    committed = {
        path.relative_to(ROOT / "fixtures"): path.read_bytes()
        for folder in ("parts", "broken")
        for path in (ROOT / "fixtures" / folder).rglob("*")
        if path.is_file()
    }
    made = {path.relative_to(tmp_path): path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    assert made.keys() == committed.keys()
    assert [str(name) for name in made if made[name] != committed[name]] == []
    assert sum(len(content) for content in committed.values()) < 6_000_000
