from dataclasses import replace

import pytest

from analyzers.model.tolerance_note import ToleranceNote
from analyzers.rules._base import Case
from analyzers.settings import Cutter
from tests.rules import _builders as build

RULE = "no_tap_on_shelf"
TAP_M8 = Cutter(
    id="tap M8",
    kind="tap",
    diameter_mm=8.0,
    flute_length_mm=24.0,
    reach_mm=38.0,
    made_of="hss",
    thread="M8",
    pitch_mm=1.25,
)


def threaded(thread: str, depth: float = 20.0) -> Case:
    """Return a blind hole whose thread the model names, in a shop with one tap."""
    shop = build.shop()
    case = build.case(build.hole(6.8, depth), shop_=replace(shop, cutters=(*shop.cutters, TAP_M8)))
    return replace(
        case, facts=replace(case.facts, tolerances=(ToleranceNote(kind="thread", thread=thread, faces=(20,)),))
    )


@pytest.mark.parametrize(
    ("case", "short_mm", "words"),
    [
        pytest.param(threaded("M8×1"), 20.0, "no tap on the shelf cuts it", id="fine"),
        pytest.param(threaded("1/4-20 UNC"), 20.0, "no tap on the shelf cuts it", id="inch"),
        pytest.param(threaded("M8", 38.5), 0.5, "the tap M8 reaches 38 mm", id="deeper-than-the-tap-reaches"),
    ],
)
def test_fires(case: Case, short_mm: float, words: str) -> None:
    """Another pitch, another system, too deep."""
    (found,) = build.ask(RULE, case)
    assert build.told(found) == ("note", pytest.approx(short_mm), 0.0)
    assert words in found.message


@pytest.mark.parametrize(
    "case",
    [
        pytest.param(threaded("M8"), id="on-the-shelf"),
        pytest.param(threaded("M8×1.25-6H", 38.0), id="exactly-as-deep-as-it-reaches"),
        pytest.param(build.case(build.hole(6.8, 20.0)), id="only-the-size-suggests-a-thread"),
        pytest.param(threaded("G1/4"), id="pipe-thread-of-no-listed-size"),
    ],
)
def test_stays_silent(case: Case) -> None:
    """Tapped with what is there, or not known to be tapped."""
    assert build.ask(RULE, case) == []
