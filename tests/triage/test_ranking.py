"""Twenty parts of other people's, put in order as at the counter: which of two is easier, and why a machinist says so.

The order is ours, from looking at the models (judgement, no source); it names pairs, not points, so that the weights
may change as long as what is plainly easier stays easier.
"""

from functools import cache
from pathlib import Path

import pytest

from analyzers.model.report import Body
from analyzers.pipeline import analyse
from analyzers.settings import load_settings

CUBE = "cad_to_dagmc-single_cube.stp"
ROD_GAUGE = "amazinghand-balljoint_rod_-_length_toolings.step"
FOOT_PLATE = "beta-tripod_foot_plate_150928.step"
ADAPTER = "mesospim-m-060-adapter.stp"
SERVO = "mesospim-servo-dynamixel-adapter-v2.stp"
CUVETTE = "mesospim-large-cuvette-mount-25mm-v3.stp"
SKELETON = "beta-betaskeletonv02.stp"
COVER_PLATE = "openeai-jxs-01-05.step"
HEAT_FINS = "openeai-jxs-04-07.step"
DISTAL = "amazinghand-amazing_hand_parts_-_distal.step"
GALVO = "mesospim-galvomount-22mm-diameter-right-scanlab-v4.stp"
CAMERA = "so-so-arm101_camera_wrist_mount.step"
BASE_MOUNT = "so-4040_base_mount.step"
JAW = "openeai-clamping_jaw_v3.step"
PULLEY = "open_robot_act-transmission_pulley_at3_t10_center.step"
COVER = "original-fs-cover-mmu2s.stp"
SERVO_BODY = "so-sts3215_03a.step"
CASTING = "nist_ftc_06_asme1_rd.stp"
TENSIONER = "original-y-belt-tensioner.stp"
IDLER = "original-y-belt-idler.stp"

PAIRS = [
    (CUBE, SERVO, "six faces against three setups of small holes"),
    (ROD_GAUGE, DISTAL, "a bar with two holes against sharp slots from three sides"),
    (FOOT_PLATE, COVER_PLATE, "holes from above against a deep pocket and a second clamping"),
    (ADAPTER, CUVETTE, "a round plate with holes against three setups beside a wall of 1 mm"),
    (SERVO, HEAT_FINS, "holes in a block against 58 features and walls of 0.9 mm"),
    (CUVETTE, GALVO, "round bores against sharp steps, a wall of half a millimetre, four setups"),
    (SKELETON, JAW, "one deep hole against a pocket 75 mm deep with sharp corners"),
    (COVER_PLATE, CAMERA, "a pocket with R1 against two sharp ones that go through"),
    (HEAT_FINS, COVER, "thin ribs against sharp pockets of 6 mm beside a wall of 0.2 mm"),
    (DISTAL, PULLEY, "a slot too sharp against twenty teeth with fillets of half a millimetre, 14 mm deep"),
    (GALVO, IDLER, "two sharp steps against pockets all round with walls of a quarter millimetre"),
    (CAMERA, SERVO_BODY, "two sharp pockets against eight corners of 3 mm and a wall thinner than all cutters"),
    (BASE_MOUNT, TENSIONER, "five setups of plain work against five with slots 46 diameters deep"),
    (CUVETTE, CASTING, "an afternoon of milling for a block of 300 mm with a slot 66 mm deep and R3"),
    (COVER, IDLER, "both are for the printer; the idler has it on five sides"),
]


@cache
def body(path: Path) -> Body:
    """Return the first body of a file in the built-in shop."""
    return analyse(path, load_settings()).bodies[0]


@pytest.mark.parametrize(("easier", "harder", "why"), PAIRS)
def test_the_easier_part_has_the_lower_difficulty(corpora: Path, easier: str, harder: str, why: str) -> None:
    """By more than a hair: a fifth of a bucket's width."""
    easy, hard = (body(corpora / "real" / name).triage.difficulty for name in (easier, harder))
    assert easy + 3.0 <= hard, why


def test_twenty_parts_are_ranked() -> None:
    """The pairs speak of twenty different parts."""
    assert len({name for easier, harder, _ in PAIRS for name in (easier, harder)}) == 20


def test_each_says_why_in_a_line(corpora: Path) -> None:
    """The summary names the worst first: what cannot be made, in full, else the largest reasons; never nothing."""
    for name in {each for easier, harder, _ in PAIRS for each in (easier, harder)}:
        triage = body(corpora / "real" / name).triage
        assert triage.summary.endswith(".")
        assert triage.summary.split(":")[0] in ("Routine", "Involved", "Demanding", "Not as modelled")
        if triage.bucket in ("involved", "demanding"):
            assert triage.drivers[0].why in triage.summary


def test_only_simple_ones_are_routine(corpora: Path) -> None:
    """Blocks, plates and bars with holes from above are; nothing with thin walls or sharp corners is."""
    routine = {name for pair in PAIRS for name in pair[:2] if body(corpora / "real" / name).triage.bucket == "routine"}
    assert {CUBE, ROD_GAUGE, FOOT_PLATE, ADAPTER, SERVO} <= routine
    assert routine.isdisjoint({HEAT_FINS, DISTAL, GALVO, CAMERA, JAW, PULLEY, COVER, SERVO_BODY, TENSIONER, IDLER})
