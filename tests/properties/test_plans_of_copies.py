"""A part costs the same however it lies in its file: of equal ways to hold it the same one is taken."""

from pathlib import Path

import pytest

from analyzers import analyse
from analyzers.model.report import Body
from analyzers.settings import load_settings
from tests.kernel._files import write_shapes
from tests.kernel._solids import moved, turned_by
from tests.properties._copies import CORPORA, PARTS, solids

QUARTERS = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}
PATHS = [
    *(PARTS / f"{stem}.step" for stem in ("stepped_bracket", "hopper_frame", "press_bed")),
    CORPORA / "mfinst" / "mfinst_p046.step",  # two covers of four sides; through pockets lie both ways
    CORPORA / "real" / "mesospim-galvomount-22mm-diameter-right-scanlab-v4.stp",  # a holder clears a wall by 0.03 mm
    CORPORA / "real" / "brlcad-nist_mbe_pmi_1.stp",  # a step that runs round a boss is open at four sides, none its top
]


def body_of(path: Path) -> Body:
    """Return the first body of a file's report."""
    return analyse(path, load_settings()).bodies[0]


@pytest.mark.parametrize("axis", QUARTERS)
@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_a_quarter_turn_costs_nothing(path: Path, axis: str, tmp_path: Path) -> None:
    """Features have the same callouts; setups and minutes are the same."""
    if not path.is_file():
        pytest.skip(f"no {path.name} among the corpora")
    turned = moved(solids(path)[0], turned_by(QUARTERS[axis], 90.0, (3.0, 5.0, 7.0)))
    was, now = body_of(path), body_of(write_shapes([turned], tmp_path / "turned.step"))
    assert sorted(each.callout() for each in now.facts.features) == sorted(
        each.callout() for each in was.facts.features
    )
    assert len(now.plan.setups) == len(was.plan.setups)
    assert now.plan.minutes.likely == pytest.approx(was.plan.minutes.likely, rel=1e-3)
