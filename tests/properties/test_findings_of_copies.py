"""What was accepted for a part stays accepted when it is moved, re-ordered and written anew."""

from collections import Counter
from pathlib import Path

import pytest
from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer

from analyzers import analyse
from analyzers.settings import load_settings
from tests.kernel._solids import as_splines, moved, shuffled
from tests.properties._copies import PARTS, solids
from tests.properties.test_copies import TURNED_OVER, files


def prints(path: Path) -> Counter[tuple[str, str]]:
    """Return rule and fingerprint of every finding in a file, counted."""
    report = analyse(path, load_settings())
    return Counter((each.rule, each.fingerprint) for body in report.bodies for each in body.findings)


@pytest.mark.parametrize("path", files())
def test_a_copy_written_to_another_file_has_the_same_findings(path: Path, tmp_path: Path) -> None:
    """Turned, shifted, its faces in another order, every other one of splines: each finding has its fingerprint."""
    as_it_is = sorted(PARTS.glob("*.step")).index(path) % 2 == 0 or "splines" in path.stem
    writer = STEPControl_Writer()
    for solid in solids(path):
        copy = shuffled(moved(solid, TURNED_OVER), 5)
        writer.Transfer(copy if as_it_is else as_splines(copy), STEPControl_StepModelType.STEPControl_AsIs)
    writer.Write(str(tmp_path / path.name))
    assert prints(tmp_path / path.name) == prints(path)
