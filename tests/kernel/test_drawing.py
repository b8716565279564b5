"""Line drawings against formulas, and against OpenCascade's exact hidden-line removal as a second way there."""

import math
from itertools import pairwise

import numpy as np
import pytest
from OCP.BRep import BRep_Builder
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeWire
from OCP.BRepLib import BRepLib
from OCP.GCPnts import GCPnts_AbscissaPoint
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Compound, TopoDS_Shape, TopoDS_Solid

from analyzers.kernel import drawing as drawing_module
from analyzers.kernel.arrays import read_part
from analyzers.kernel.drawing import draw_lines
from analyzers.kernel.explore import explored
from analyzers.model.arrays import Floats
from analyzers.model.drawing import LineDrawing, View
from analyzers.report.views import STANDARD_VIEWS
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.recesses import pocket
from fixtures.make.vocabulary.stock import block
from tests.kernel._solids import solid_of
from tests.properties._copies import CORPORA, solids

FRONT, TOP, RIGHT = STANDARD_VIEWS
LENGTH, WIDTH, HEIGHT = 60.0, 40.0, 15.0
HOLE = (17.0, 28.0)
DIAMETER = 9.0


def drilled() -> TopoDS_Solid:
    """Return a block with one hole through it, off its middle, with its mesh."""
    work = block((LENGTH, WIDTH, HEIGHT))
    drill(work, (*HOLE, HEIGHT), DIAMETER, HEIGHT, bottom="through")
    solid = solid_of(work.shape)
    read_part(solid, "block", 1)
    return solid


def length(lines: Floats) -> float:
    """Return the length of all pieces together."""
    return float(np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1).sum())


def extent(drawing: LineDrawing) -> Floats:
    """Return lowest and highest right and up of what is seen."""
    points = drawing.visible_mm.reshape(-1, 2)
    return np.array([points.min(axis=0), points.max(axis=0)])


def test_from_above_one_sees_the_outline_and_the_hole() -> None:
    """Seen: the rectangle and the rim, where they are; hidden: nothing that is not below them."""
    drawing = draw_lines(drilled(), TOP)
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
    drawing = draw_lines(drilled(), view)
    upright = drawing.hidden_mm[np.abs(drawing.hidden_mm[:, 0, 1] - drawing.hidden_mm[:, 1, 1]) > HEIGHT / 2]
    inside = upright[np.abs(upright[:, 0, 0] - middle) < DIAMETER]
    assert sorted(set(np.round(inside[:, 0, 0], 3).tolist())) == pytest.approx(
        [middle - DIAMETER / 2, middle + DIAMETER / 2], abs=0.1
    )
    assert (np.abs(drawing.visible_mm.reshape(-1, 2)[:, 0] - middle) > DIAMETER).all()


def test_a_rim_is_one_line() -> None:
    """Pieces of a curve follow one another, so that dashes run on along it: a round rim is a chain."""
    drawing = draw_lines(drilled(), TOP)
    away = np.linalg.norm(drawing.visible_mm - np.array(HOLE), axis=2)
    rim = drawing.visible_mm[(np.abs(away - DIAMETER / 2) < 1e-6).all(axis=1)]
    assert len(rim) > 8
    broken = np.abs(rim[1:, 0] - rim[:-1, 1]).max(axis=1) > 1e-9
    assert broken.sum() <= 1


def test_a_view_with_very_many_hidden_lines_shows_none(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hidden lines stay up to the limit itself and go as a whole beyond it; what is seen stays."""
    whole = draw_lines(drilled(), FRONT)
    assert len(whole.hidden_mm) > 2
    for limit, left in ((len(whole.hidden_mm), len(whole.hidden_mm)), (len(whole.hidden_mm) - 1, 0)):
        monkeypatch.setattr(drawing_module, "MOST_HIDDEN", limit)
        drawing = draw_lines(drilled(), FRONT)
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
    solid = solid_of(work.shape)
    read_part(solid, "block", 1)
    drawing = draw_lines(solid, view)
    seen = length(drawing.visible_mm) + length(drawing.smooth_mm)
    assert seen == pytest.approx(exact_length(solid, view)["seen"], rel=0.03)


def test_edges_that_share_a_vertex_are_read_like_all_others() -> None:
    """Drawings of real parts have such; then OpenCascade's format has uneven steps, and each edge is asked."""
    places = [gp_Pnt(0.0, 0.0, 0.0), gp_Pnt(5.0, 0.0, 0.0), gp_Pnt(5.0, 2.0, 0.0)]
    first, second = (BRepBuilderAPI_MakeEdge(*ends).Edge() for ends in pairwise(places))
    chain = BRepBuilderAPI_MakeWire(first, second).Wire()
    joined = list(explored(chain, TopAbs_ShapeEnum.TopAbs_EDGE))
    for edges in ([first, second], joined, [first, second, first]):
        lines, builder = TopoDS_Compound(), BRep_Builder()
        builder.MakeCompound(lines)
        for each in edges:
            builder.Add(lines, each)
        found = drawing_module._pieces(lines)
        ends = [[[5.0, 0.0], [0.0, 0.0]], [[5.0, 2.0], [5.0, 0.0]], [[5.0, 0.0], [0.0, 0.0]]]
        assert found.tolist() == ends[: len(edges)]


@pytest.mark.parametrize(
    "name", ["mesospim-galvomount-22mm-diameter-thorlabs-left.stp", "openeai-casing3.step", "trimesh-featuretype.step"]
)
def test_no_view_of_a_real_part_is_lost(name: str) -> None:
    """Of each of these some view has edges that share a vertex."""
    path = CORPORA / "real" / name
    if not path.exists():
        pytest.skip(f"NO CORPORA: {path} is not there; set PARTSIEVE_CORPORA")
    for solid in solids(path):
        read_part(solid, name, 1)
        for view in STANDARD_VIEWS:
            assert len(draw_lines(solid, view).visible_mm)
