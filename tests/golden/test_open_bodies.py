"""A model of surfaces alone still shows its features, and the report says what it cannot know."""

import pytest
from OCP.BRep import BRep_Builder
from OCP.TopoDS import TopoDS_Shape, TopoDS_Shell

from analyzers import analyse
from analyzers.model.report import Report
from analyzers.report.as_json import to_json
from analyzers.settings import load_settings
from fixtures.make.vocabulary.draw import faces
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.recesses import pocket
from fixtures.make.vocabulary.stock import block
from tests.kernel._files import write_shapes


def skin(without: int) -> TopoDS_Shape:
    """Return the skin of a plate with a hole and a pocket; one of its faces, by number, is missing."""
    work = block((60.0, 40.0, 20.0))
    drill(work, (12.0, 12.0, 20.0), 6.0, 14.0, bottom="flat")
    pocket(work, (38.0, 20.0, 20.0), 24.0, 16.0, 7.0, corner_radius=4.0)
    shell, builder = TopoDS_Shell(), BRep_Builder()
    builder.MakeShell(shell)
    for number, face in enumerate(faces(work.shape)):
        if number != without:
            builder.Add(shell, face)
    return shell


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Report:
    """Return the report about the plate without one of its sides."""
    path = write_shapes([skin(without=0)], tmp_path_factory.mktemp("open") / "skin.step")
    return analyse(path, load_settings())


def test_its_features_are_found_with_their_numbers(report: Report) -> None:
    """Hole and pocket are as drawn, on one open body."""
    (body,) = report.bodies
    assert not body.facts.part.closed
    sizes = {each.kind: each.dimensions() for each in body.facts.features if each.kind != "fillet"}
    assert set(sizes) == {"round_hole", "closed_pocket"}
    assert sizes["round_hole"]["diameter_mm"] == pytest.approx(6.0)
    assert sizes["round_hole"]["depth_mm"] == pytest.approx(14.0)
    assert sizes["closed_pocket"]["depth_mm"] == pytest.approx(7.0)
    assert sizes["closed_pocket"]["corner_radius_mm"] == pytest.approx(4.0)


def test_the_report_is_partial_and_says_why(report: Report) -> None:
    """No volume is made up; the gap is named as a problem and as a finding."""
    assert report.status == "partial"
    said = " ".join(each.message for each in report.problems)
    assert "1 open shell outside any solid" in said
    assert "the body is not closed: its volume is not known" in said
    assert to_json(report)["bodies"][0]["volume_mm3"] is None
    assert "open_shell" in {each.rule for each in report.bodies[0].findings}
