"""Line drawings against formulas, and against OpenCascade's hidden-line removal, exact and polyhedral."""

import math
from pathlib import Path

import numpy as np
import pytest
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepLib import BRepLib
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
from OCP.GCPnts import GCPnts_AbscissaPoint
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape, HLRBRep_PolyAlgo, HLRBRep_PolyHLRToShape
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Shape, TopoDS_Solid
from scipy.spatial import cKDTree

from analyzers.kernel import drawing as drawing_module
from analyzers.kernel.arrays import read_part
from analyzers.kernel.drawing import draw_lines, joined
from analyzers.kernel.exact import ExactGeometry
from analyzers.kernel.explore import explored
from analyzers.kernel.mesh_edges import INNER, mesh_edges
from analyzers.model.arrays import Floats
from analyzers.model.drawing import LineDrawing, View
from analyzers.report.views import STANDARD_VIEWS
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.recesses import pocket
from fixtures.make.vocabulary.stock import block
from tests.kernel._solids import drawn, loaded, solid_of
from tests.properties._copies import CORPORA, PARTS, solids

FRONT, TOP, RIGHT = STANDARD_VIEWS
LENGTH, WIDTH, HEIGHT = 60.0, 40.0, 15.0
HOLE = (17.0, 28.0)
DIAMETER = 9.0


def drilled() -> TopoDS_Shape:
    """Return a block with one hole through it, off its middle."""
    work = block((LENGTH, WIDTH, HEIGHT))
    drill(work, (*HOLE, HEIGHT), DIAMETER, HEIGHT, bottom="through")
    return work.shape


def length(lines: Floats) -> float:
    """Return the length of all pieces together."""
    return float(np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1).sum())


def extent(drawing: LineDrawing) -> Floats:
    """Return lowest and highest right and up of what is seen."""
    points = drawing.visible_mm.reshape(-1, 2)
    return np.array([points.min(axis=0), points.max(axis=0)])


def test_from_above_one_sees_the_outline_and_the_hole() -> None:
    """Seen: the rectangle and the rim, where they are; hidden: nothing that is not below them."""
    drawing = drawn(drilled(), TOP)[0]
    assert extent(drawing) == pytest.approx(np.array([[0.0, 0.0], [LENGTH, WIDTH]]), abs=1e-6)
    away = np.linalg.norm(drawing.visible_mm - np.array(HOLE), axis=2)
    rim = drawing.visible_mm[(np.abs(away - DIAMETER / 2) < 1e-6).all(axis=1)]
    assert length(rim) == pytest.approx(math.pi * DIAMETER, rel=0.01)
    assert length(drawing.visible_mm) == pytest.approx(2 * (LENGTH + WIDTH) + math.pi * DIAMETER, rel=0.01)


@pytest.mark.parametrize(
    ("view", "middle"),
    [pytest.param(FRONT, HOLE[0], id="front"), pytest.param(RIGHT, HOLE[1], id="right")],
)
def test_from_the_side_the_hole_is_hidden(view: View, middle: float) -> None:
    """Two dashed lines as far apart as the hole is wide, as high as the block, none of them seen."""
    drawing = drawn(drilled(), view)[0]
    upright = drawing.hidden_mm[np.abs(drawing.hidden_mm[:, 0, 1] - drawing.hidden_mm[:, 1, 1]) > HEIGHT / 2]
    inside = upright[np.abs(upright[:, 0, 0] - middle) < DIAMETER]
    assert sorted(set(np.round(inside[:, 0, 0], 3).tolist())) == pytest.approx(
        [middle - DIAMETER / 2, middle + DIAMETER / 2], abs=0.1
    )
    assert (np.abs(drawing.visible_mm.reshape(-1, 2)[:, 0] - middle) > DIAMETER).all()


def test_a_rim_is_one_line() -> None:
    """Pieces of a curve follow one another, so that dashes run on along it: a round rim is a chain."""
    drawing = drawn(drilled(), TOP)[0]
    away = np.linalg.norm(drawing.visible_mm - np.array(HOLE), axis=2)
    rim = drawing.visible_mm[(np.abs(away - DIAMETER / 2) < 1e-6).all(axis=1)]
    assert len(rim) > 8
    broken = np.abs(rim[1:, 0] - rim[:-1, 1]).max(axis=1) > 1e-9
    assert broken.sum() <= 1


def test_a_view_with_very_many_hidden_lines_shows_none(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hidden lines stay up to the limit itself and go as a whole beyond it; what is seen stays."""
    whole = drawn(drilled(), FRONT)[0]
    assert len(whole.hidden_mm) == 2
    for limit, left in ((len(whole.hidden_mm), len(whole.hidden_mm)), (len(whole.hidden_mm) - 1, 0)):
        monkeypatch.setattr(drawing_module, "MOST_HIDDEN", limit)
        drawing = drawn(drilled(), FRONT)[0]
        assert len(drawing.hidden_mm) == left
        assert np.array_equal(drawing.visible_mm, whole.visible_mm)


def exact_length(solid: TopoDS_Solid, view: View) -> dict[str, float]:
    """Return the lengths of seen and hidden lines by the exact algorithm."""
    removal = HLRBRep_Algo()
    removal.Add(solid, 0)
    removal.Projector(HLRAlgo_Projector(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(*view.out), gp_Dir(*view.right))))
    removal.Update()
    removal.Hide()
    found = HLRBRep_HLRToShape(removal)
    seen = (found.VCompound(), found.OutLineVCompound(), found.Rg1LineVCompound())
    return {"seen": sum(map(curve_length, seen))}


def curve_length(lines: TopoDS_Shape | None) -> float:
    """Return the length of all edges of a flat compound."""
    if lines is None or lines.IsNull():
        return 0.0
    BRepLib.BuildCurves3d_s(lines)
    edges, total = TopExp_Explorer(lines, TopAbs_ShapeEnum.TopAbs_EDGE), 0.0
    while edges.More():
        total += GCPnts_AbscissaPoint.Length_s(BRepAdaptor_Curve(TopoDS.Edge(edges.Current())))
        edges.Next()
    return total


@pytest.mark.parametrize(
    "view", [*STANDARD_VIEWS, View("Slanted", (0.8, 0.6, 0.0), (-0.36, 0.48, 0.8), (0.48, -0.64, 0.6))]
)
def test_as_much_is_seen_as_the_exact_algorithm_sees(view: View) -> None:
    """A block with a pocket and a hole: the lengths of all seen lines agree within the mesh's accuracy."""
    work = block((LENGTH, WIDTH, HEIGHT))
    pocket(work, (38.0, 20.0, HEIGHT), 24.0, 16.0, 6.0, corner_radius=3.0)
    drill(work, (*HOLE, HEIGHT), DIAMETER, HEIGHT, bottom="through")
    drawing = drawn(work.shape, view)[0]
    seen = length(drawing.visible_mm) + length(drawing.smooth_mm)
    assert seen == pytest.approx(exact_length(solid_of(work.shape), view)["seen"], rel=0.01)


SLANTED = View("Isometric", (-(2**-0.5), 2**-0.5, 0.0), (-(6**-0.5), -(6**-0.5), 2 * 6**-0.5), (3**-0.5,) * 3)
NEAR = 0.01
"""Of a drawing's size: what two ways of meshing an outline may be apart; a line that lies elsewhere is farther."""


def outlines_by_opencascade(solid: TopoDS_Solid, view: View) -> dict[str, Floats]:
    """Return seen, and seen or hidden edges and outlines by the polyhedral algorithm."""
    removal = HLRBRep_PolyAlgo()
    removal.Load(solid)
    removal.Projector(HLRAlgo_Projector(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(*view.out), gp_Dir(*view.right))))
    removal.Update()
    found = HLRBRep_PolyHLRToShape()
    found.Update(removal)
    seen = [*pieces(found.VCompound()), *pieces(found.OutLineVCompound())]
    hidden = [*pieces(found.HCompound()), *pieces(found.OutLineHCompound())]
    return {"seen": np.array(seen), "all": np.array([*seen, *hidden])}


def pieces(lines: TopoDS_Shape | None) -> list[list[tuple[float, float]]]:
    """Return the ends of all edges of a flat compound."""
    if lines is None or lines.IsNull():
        return []
    edges = explored(lines, TopAbs_ShapeEnum.TopAbs_EDGE)
    corners = [list(explored(edge, TopAbs_ShapeEnum.TopAbs_VERTEX)) for edge in edges]
    points = [[BRep_Tool.Pnt_s(TopoDS.Vertex(each)) for each in pair] for pair in corners]
    return [[(at.X(), at.Y()) for at in pair] for pair in points]


def dots(lines: Floats, step_mm: float) -> Floats:
    """Return points along lines, no farther apart than a step."""
    counts = 2 + (np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1) / step_mm).astype(int)
    return np.concatenate([np.linspace(line[0], line[1], int(n)) for line, n in zip(lines, counts, strict=True)])


def share_near(lines: Floats, others: Floats, size_mm: float) -> float:
    """Return the share of some lines' length that lies on or beside others."""
    there = cKDTree(dots(others, size_mm * NEAR / 4))
    away, _ = there.query(dots(lines, size_mm * NEAR / 4))
    return float(np.mean(away <= NEAR * size_mm))


@pytest.mark.parametrize("view", [*STANDARD_VIEWS, SLANTED], ids=lambda view: view.name)
@pytest.mark.parametrize("name", ["turned_bush", "oil_manifold", "mould_half", "rounded_housing", "stepped_bracket"])
def test_all_lines_are_where_the_polyhedral_algorithm_has_them(name: str, view: View) -> None:
    """What it sees is seen, what it hides is hidden or lies under what is seen; nothing is drawn that it has not."""
    (solid,) = solids(PARTS / f"{name}.step")
    part = read_part(solid, name, 1)
    ours = draw_lines(ExactGeometry(solid, part), [view])[0]
    theirs, size = outlines_by_opencascade(solid, view), float(np.ptp(extent(ours), axis=0).max())
    seen = np.concatenate([ours.visible_mm, ours.smooth_mm])
    every = np.concatenate([seen, ours.hidden_mm])
    assert share_near(theirs["seen"], seen, size) > 0.995
    assert share_near(theirs["all"], every, size) > 0.98
    assert share_near(ours.visible_mm, theirs["seen"], size) > 0.995
    assert share_near(np.concatenate([ours.visible_mm, ours.hidden_mm]), theirs["all"], size) > 0.98


@pytest.mark.parametrize("turn_deg", [0.0, 10.0, 20.0, 33.0])
def test_the_outline_of_a_cylinder_is_whole(turn_deg: float) -> None:
    """Whichever facet is edge-on: the top rim, half the bottom rim and two lines are seen, the seam never is."""
    radius, height, rise = 7.0, 30.0, math.radians(35.0)
    turn = math.radians(turn_deg)
    across = (math.cos(turn), math.sin(turn), 0.0)
    out = (math.sin(turn) * math.cos(rise), -math.cos(turn) * math.cos(rise), math.sin(rise))
    up = tuple(np.cross(out, across).tolist())
    drawing = drawn(BRepPrimAPI_MakeCylinder(radius, height).Shape(), View("Turned", across, up, out))[0]
    angle = np.linspace(0.0, 2 * math.pi, 3600)
    rim = np.column_stack([radius * np.cos(angle), radius * math.sin(rise) * np.sin(angle)])
    ellipse = float(np.linalg.norm(np.diff(rim, axis=0), axis=1).sum())
    assert not len(drawing.smooth_mm)
    assert length(drawing.visible_mm) == pytest.approx(1.5 * ellipse + 2 * height * math.cos(rise), rel=0.015)
    assert length(drawing.hidden_mm) == pytest.approx(0.5 * ellipse, rel=0.04)


def test_of_lines_that_lie_on_one_another_one_is_drawn() -> None:
    """From above the hole's far rim lies under its near one, and the block's bottom edges under its top ones."""
    drawing = drawn(drilled(), TOP)[0]
    assert not len(drawing.hidden_mm)
    assert length(drawing.visible_mm) == pytest.approx(2 * (LENGTH + WIDTH) + math.pi * DIAMETER, rel=0.01)


def test_pieces_along_one_another_are_joined() -> None:
    """Overlapping, contained, touching, turned round: one piece; beside, apart, across or in another view: another."""
    level = [[[0, 0], [4, 0]], [[3, 0], [6, 0]], [[2, 0], [1, 0]], [[8, 0], [6, 0]]]
    others = [[[9, 0], [11, 0]], [[0, 1], [4, 1]], [[0, 0], [0, 4]]]
    pieces = np.array([*level, *others, [[0, 0], [4, 0]]], dtype=float)
    found, view = joined(pieces, np.array([0] * 7 + [1]), np.full(8, 12.0))
    assert found.tolist() == [[[0, 0], [8, 0]], *others, [[0, 0], [4, 0]]]
    assert view.tolist() == [0, 0, 0, 0, 1]


def test_a_model_edge_is_one_or_more_mesh_edges() -> None:
    """Borders of neighbouring faces are put together: the lines between faces are as long as the model's edges."""
    part, _ = loaded(drilled())
    edges = mesh_edges(part)
    ends = edges.ends_mm[edges.kind != INNER]
    seam = part.edge_length_mm[part.edge_faces[:, 0] == part.edge_faces[:, 1]].sum()
    assert length(ends) == pytest.approx(part.edge_length_mm.sum() - seam, rel=0.005)
    assert (edges.triangle[:, 0] != edges.triangle[:, 1]).all()


REAL = ("mesospim-galvomount-22mm-diameter-thorlabs-left.stp", "openeai-casing3.step", "trimesh-featuretype.step")


@pytest.mark.parametrize("path", [CORPORA / "real" / name for name in REAL], ids=lambda path: path.stem)
def test_no_view_of_a_real_part_is_lost(path: Path) -> None:
    """Each view shows lines from one side of the part to the other."""
    if not path.exists():
        pytest.skip(f"NO CORPORA: {path} is not there; set PARTSIEVE_CORPORA")
    for solid in solids(path):
        part = read_part(solid, path.stem, 1)
        for drawing in draw_lines(ExactGeometry(solid, part), STANDARD_VIEWS):
            across = part.mesh.point_mm @ np.array([drawing.view.right, drawing.view.up]).T
            assert np.abs(extent(drawing) - [across.min(axis=0), across.max(axis=0)]).max() < part.mesh.chord_mm
