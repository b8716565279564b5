"""What a body that is nearly symmetric, or a row, grid or circle, lacks in one place; and what is meant to be so.

The parts are built with the slip that should be found, or without one; the truth is how they were built.
"""

from pathlib import Path

import pytest

from analyzers.features import recognise
from analyzers.kernel.arrays import read_part
from analyzers.kernel.exact import ExactGeometry
from analyzers.kernel.step_file import load
from analyzers.model.feature import Pattern
from fixtures.make.vocabulary.holes import counterbore
from fixtures.make.vocabulary.recesses import pocket, slot
from fixtures.make.vocabulary.stock import Length, block, turned
from fixtures.make.vocabulary.work import Vec, Work
from tests.features._bench import POSES, Build, box, cut, placed, recognised
from tests.features._patterned import (
    CORNERS,
    PLATE,
    RIM,
    Made,
    chamfered,
    drilled_plate,
    flange,
    in_grid,
    jittered,
    long_plate,
    on_circle,
    shaft,
    split_clamp,
    two_pockets,
    upside_down_t,
    with_bosses,
    without,
    z_bracket,
)


def lacking(build: Build, pose: str) -> list[Pattern]:
    """Return the patterns that lack something."""
    return [each for each in recognised(build, POSES[pose]).patterns if each.missing]


def one_pocket_taken() -> Work:
    """Return a flange with five of six holes, a pocket in the place of the sixth."""
    spots = on_circle(6, 38.0, start_deg=0.0)
    work = flange(without(spots, 2))
    pocket(work, (*spots[2], RIM), 14.0, 14.0, 5.0, corner_radius=2.0)
    return work


def d_flange() -> Made:
    """Return a flange with five of six holes that is cut off straight where the sixth would be."""
    work = flange(without(on_circle(6, 38.0, start_deg=0.0), 0))
    return cut(work.shape, box((30.0, -60.0, -1.0), (60.0, 60.0, 20.0)))


def lead_in() -> Work:
    """Return a pin with a chamfer at one end only."""
    return turned([Length(18.0, 20.0, 1.0, chamfer=True), Length(20.0, 20.0, 60.0)], size=(20.0, 20.0, 61.0))


def keyway() -> Work:
    """Return a shaft with one keyway."""
    work = turned([Length(30.0, 30.0, 80.0)], size=(30.0, 30.0, 80.0))
    out, along = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
    slot(work, (15.0, 0.0, 40.0), 20.0, 8.0, 4.0, ends=("round", "round"), out=out, along=along)
    return work


def web(above: float, below: float) -> Work:
    """Return a plate with a pocket of one depth from each side."""
    work = block(PLATE)
    pocket(work, (60.0, 40.0, 12.0), 60.0, 40.0, above, corner_radius=5.0)
    pocket(work, (60.0, 40.0, 0.0), 60.0, 40.0, below, corner_radius=5.0, out=(0.0, 0.0, -1.0))
    return work


def counterbored(*spots: tuple[float, float]) -> Work:
    """Return a plate with counterbored holes, whose heads are all on one side."""
    work = block(PLATE)
    for x, y in spots:
        counterbore(work, (x, y, 12.0), 5.5, 12.0, bore=10.0, bore_depth=5.0)
    return work


SMALL_BYTES = 150_000  # larger files take long to read and are of the same projects
SIX, TWELVE = on_circle(6, 38.0), in_grid(4, 3)

SLIPS = [
    pytest.param(lambda: flange(without(SIX, 2)), (*SIX[2], None), id="hole-of-six-missing"),
    pytest.param(lambda: flange(without(on_circle(5, 38.0), 2)), (*on_circle(5, 38.0)[2], None), id="of-five"),
    pytest.param(lambda: flange(without(on_circle(4, 38.0), 1)), (*on_circle(4, 38.0)[1], None), id="of-four"),
    pytest.param(lambda: flange(jittered(without(SIX, 2))), (*SIX[2], None), id="of-six-by-a-rounding-exporter"),
    pytest.param(lambda: flange(on_circle(8, 38.0), odd={3: 7.0}), (*on_circle(8, 38.0)[3], None), id="one-of-eight"),
    pytest.param(lambda: flange(on_circle(8, 38.0), odd={3: 6.65}), (*on_circle(8, 38.0)[3], None), id="by-a-hair"),
    pytest.param(lambda: drilled_plate(without(TWELVE, 0)), (*TWELVE[0], None), id="corner-of-a-grid"),
    pytest.param(lambda: drilled_plate(TWELVE, h6=5.2), (*TWELVE[6], None), id="odd-one-of-a-grid"),
    pytest.param(lambda: drilled_plate(TWELVE, depth=8.0, h6=5.2), (*TWELVE[6], None), id="odd-blind-one"),
    pytest.param(lambda: drilled_plate(without(CORNERS, 3)), (*CORNERS[3], None), id="fourth-corner"),
    pytest.param(lambda: drilled_plate(jittered(without(CORNERS, 3))), (*CORNERS[3], None), id="rounded-corners"),
    pytest.param(lambda: drilled_plate(CORNERS, h1=5.5), (*CORNERS[1], None), id="odd-corner"),
    pytest.param(lambda: upside_down_t(8.0, 0.0), (70.0, None, 12.0), id="fillet-of-a-t"),
    pytest.param(lambda: upside_down_t(0.0, 8.0, False), (50.0, None, 12.0), id="fillet-of-a-t-without-holes"),
    pytest.param(lambda: upside_down_t(8.0, 5.0), None, id="radius-of-a-t"),
    pytest.param(lambda: z_bracket(5.0, 0.0), (60.0, None, 30.0), id="fillet-of-a-z"),
    pytest.param(lambda: z_bracket(5.0, 4.0), None, id="radius-of-a-z"),
    pytest.param(lambda: two_pockets((6.0, 5.0)), None, id="pocket-depth"),
    pytest.param(lambda: two_pockets(corners=(4.0, 0.0)), None, id="pocket-without-its-corner-radii"),
    pytest.param(lambda: two_pockets(corners=(4.0, 3.0)), None, id="pocket-of-another-corner-radius"),
    pytest.param(
        lambda: long_plate([(60.0, y) for y in (20.0, 30.0, 40.0, 50.0)], [(180.0, y) for y in (20.0, 30.0, 40.0)]),
        (180.0, 50.0, None),
        id="last-of-a-mirrored-row",
    ),
    pytest.param(lambda: chamfered(0, 1, 3), (0.0, 80.0, None), id="fourth-chamfer"),
    pytest.param(lambda: with_bosses(without(CORNERS, 1), [5.0] * 3), (*CORNERS[1], None), id="fourth-boss"),
    pytest.param(lambda: with_bosses(CORNERS, [5.0, 5.0, 4.0, 5.0]), (*CORNERS[2], None), id="boss-height"),
    pytest.param(lambda: shaft(7, [2]), None, id="hole-round-a-shaft"),
    pytest.param(lambda: shaft(7, (), {2: 6.5}), None, id="odd-hole-round-a-shaft"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "place"), SLIPS)
def test_a_slip_in_one_place_is_one_remark(build: Build, place: tuple[float | None, ...] | None, pose: str) -> None:
    """One pattern, with a gap for each missing copy that says what was expected and what is there."""
    (pattern,) = lacking(build, pose)
    assert len(pattern.gaps) == len(pattern.missing)
    assert all(gap.expected and gap.found and gap.expected != gap.found for gap in pattern.gaps)
    if place is not None:
        (missing,) = pattern.missing
        for value, expected in zip(placed(missing, POSES[pose]), place, strict=True):
            assert expected is None or value == pytest.approx(expected, abs=0.05)


MEANT = [
    pytest.param(lambda: flange(SIX), id="whole-flange"),
    pytest.param(lambda: flange(SIX, odd={0: 6.0, 3: 6.0}), id="two-dowels-among-six"),
    pytest.param(lambda: flange(on_circle(6, 34.0), odd={0: 16.0}), id="a-port-among-screws"),
    pytest.param(one_pocket_taken, id="the-place-is-taken"),
    pytest.param(d_flange, id="the-place-is-cut-off"),
    pytest.param(lambda: drilled_plate(without(in_grid(3, 3), 4)), id="grid-without-its-middle"),
    pytest.param(lambda: drilled_plate([*CORNERS, (60.0, 10.0)]), id="four-corners-and-one"),
    pytest.param(lambda: drilled_plate([(20.0, 20.0), (33.0, 55.0), (71.0, 31.0), (100.0, 60.0)]), id="scattered"),
    pytest.param(lambda: drilled_plate([*CORNERS, (30.0, 40.0)]), id="an-extra-hole"),
    pytest.param(lambda: drilled_plate([CORNERS[0]]), id="one-of-four-corners"),
    pytest.param(lambda: drilled_plate(CORNERS[:2]), id="two-on-one-side"),
    pytest.param(lambda: drilled_plate([CORNERS[0], CORNERS[3]]), id="two-across"),
    pytest.param(lambda: upside_down_t(8.0, 8.0), id="t-with-both-fillets"),
    pytest.param(lambda: upside_down_t(0.0, 0.0), id="t-without-fillets"),
    pytest.param(lambda: z_bracket(5.0, 5.0), id="whole-z"),
    pytest.param(lambda: two_pockets(second=False), id="one-pocket"),
    pytest.param(two_pockets, id="two-pockets"),
    pytest.param(lambda: chamfered(0), id="a-corner-marked-by-a-chamfer"),
    pytest.param(lambda: chamfered(0, 1), id="two-chamfers"),
    pytest.param(lambda: chamfered(0, 3), id="two-chamfers-across"),
    pytest.param(split_clamp, id="clamp-passed-and-tapped"),
    pytest.param(lead_in, id="lead-in-chamfer"),
    pytest.param(keyway, id="keyway"),
    pytest.param(lambda: web(5.0, 4.0), id="pockets-from-both-sides"),
    pytest.param(lambda: counterbored(*CORNERS), id="heads-on-one-side"),
    pytest.param(lambda: counterbored((60.0, 40.0)), id="one-head"),
    pytest.param(
        lambda: long_plate([(60.0, 20.0), (60.0, 30.0), (60.0, 50.0)], [(180.0, 20.0), (180.0, 30.0)]), id="uneven-rows"
    ),
    pytest.param(lambda: drilled_plate(CORNERS, depth=8.0), id="blind-from-one-side"),
    pytest.param(lambda: shaft(4, [2, 3]), id="two-at-a-right-angle-round-a-shaft"),
    pytest.param(lambda: shaft(7), id="whole-circle-round-a-shaft"),
    pytest.param(lambda: shaft(8, range(1, 8)), id="one-hole-in-a-shaft"),
    pytest.param(lambda: with_bosses(CORNERS, [5.0] * 4), id="four-bosses"),
    pytest.param(lambda: with_bosses([(20.0, 20.0)], [5.0]), id="one-boss"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", MEANT)
def test_what_is_meant_to_be_so_is_no_slip(build: Build, pose: str) -> None:
    """Whole bodies, and bodies that are merely asymmetric."""
    assert lacking(build, pose) == []


def test_a_lost_fillet_is_told_with_its_radius_and_the_sharp_edge() -> None:
    """The place lies on the edge, the expectation is the copy's callout."""
    (pattern,) = lacking(lambda: upside_down_t(8.0, 0.0), "askew")
    (gap,) = pattern.gaps
    assert (pattern.kind, gap.expected, gap.instead, gap.found) == ("mirror", "R8", None, "a sharp edge")


@pytest.mark.parametrize(("left", "right", "odd"), [(8.0, 5.0, "R5"), (5.0, 8.0, "R5")])
def test_of_two_radii_the_smaller_is_the_odd_one(left: float, right: float, odd: str) -> None:
    """Where nothing else of either size tells: a forgotten change leaves the smaller one oftener (judgement)."""
    (pattern,) = lacking(lambda: upside_down_t(left, right), "mirrored")
    (gap,) = pattern.gaps
    assert (gap.expected, gap.found) == ("R8", odd)
    assert gap.instead is not None


def corner(place: Vec) -> Vec:
    """Return a place to a tenth of a millimetre."""
    x, y, z = (round(each, 1) + 0.0 for each in place)
    return (x, y, z)


def test_pocket_corners_lost_in_the_copy_share_one_remark_with_their_places() -> None:
    """Four sharp corners at the pocket's own corners, in the middle of their height."""
    (pattern,) = lacking(lambda: two_pockets(corners=(4.0, 0.0)), "askew")
    places = {corner(placed(each, POSES["askew"]))[:2] for each in pattern.missing}
    assert all(70.0 - 0.2 <= x <= 106.0 + 0.2 and 19.0 - 0.2 <= y <= 49.0 + 0.2 for x, y in places)


def test_no_alarm_on_what_others_published(corpora: Path) -> None:
    """Bodies of real projects: none of them is known to lack a copy, so a remark is a false alarm."""
    told = []
    for path in sorted((corpora / "real").iterdir()):
        if path.suffix.lower() in (".step", ".stp") and path.stat().st_size < SMALL_BYTES:
            for solid in load(path).solids:
                part = read_part(solid.shape, solid.name or "solid", solid.count)
                patterns = recognise(part, ExactGeometry(solid.shape, part)).patterns
                told += [f"{path.name}: {each}" for each in patterns if each.missing]
    assert told == []
