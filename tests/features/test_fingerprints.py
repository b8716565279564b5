"""Names of features: what they survive, and what changes them."""

from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from OCP.gp import gp_Pnt, gp_Trsf

from analyzers.features import recognise
from analyzers.features._families import middles
from analyzers.features._fingerprints import _own, stepped
from analyzers.features.hole import RoundHole
from analyzers.model.arrays import Floats
from analyzers.model.feature import Feature
from analyzers.model.report import Facts
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.recesses import pocket, slot
from fixtures.make.vocabulary.work import Vec, Work
from tests.features._bench import ASKEW, MIRRORED, plate, recognised
from tests.kernel._solids import loaded, moved, shuffled, turned_by

TURNED_OVER = turned_by((0.9, 0.2, -0.1), 201.0, (-210.0, 40.0, 7.0))


def bracket(
    pocket_radius: float = 4.0,
    pocket_depth: float = 8.0,
    odd_hole: float = 5.0,
    slot_at: float = 12.0,
    length: float = 80.0,
    extra: Vec | None = None,
) -> Work:
    """Return a plate with no symmetry: two rows of holes, a pocket, a slot."""
    work = plate((length, 50.0, 20.0))
    for x, y in ((10.0, 10.0), (30.0, 10.0), (62.0, 10.0), (10.0, 41.0)):
        drill(work, (x, y, 20.0), 5.0, 12.0, bottom="flat")
    drill(work, (62.0, 41.0, 20.0), odd_hole, 12.0, bottom="flat")
    pocket(work, (38.0, 30.0, 20.0), 24.0, 16.0, pocket_depth, corner_radius=pocket_radius)
    slot(work, (slot_at, 25.0, 20.0), 16.0, 6.0, 5.0, along=(0.0, 1.0, 0.0), ends=("round", "round"))
    if extra is not None:
        drill(work, extra, 3.0, 6.0, bottom="flat")
    return work


def names(facts: Facts) -> Counter[str]:
    """Return the fingerprints, counted."""
    return Counter(each.fingerprint for each in facts.features)


def by_place(facts: Facts, pose: gp_Trsf) -> dict[str, Floats]:
    """Return the fingerprint at each place of the shape as built."""
    back = pose.Inverted()
    found = {}
    for feature, middle in zip(facts.features, middles(facts.part, facts.features)[0], strict=True):
        point = gp_Pnt(*(float(v) for v in middle)).Transformed(back)
        found[feature.fingerprint] = np.array([point.X(), point.Y(), point.Z()])
    return found


def named(facts: Facts, kind: str) -> list[Feature]:
    """Return the features of a kind."""
    return [each for each in facts.features if each.kind == kind]


@pytest.mark.parametrize("pose", [pytest.param(ASKEW, id="askew"), pytest.param(TURNED_OVER, id="turned-over")])
@pytest.mark.parametrize("seed", [1, 2])
def test_each_feature_keeps_its_own_name(pose: gp_Trsf, seed: int) -> None:
    """On a part without symmetry every one of five equal holes has the same number in every pose and order of faces."""
    here = recognise(*loaded(bracket().shape))
    there = recognise(*loaded(shuffled(moved(bracket().shape, pose), seed)))
    before, after = by_place(here, gp_Trsf()), by_place(there, pose)
    assert before.keys() == after.keys()
    assert len(named(here, "round_hole")) == 5
    for name, place in before.items():
        assert after[name] == pytest.approx(place, abs=1e-3), name


def test_mirror_twins_are_told_apart_by_their_side() -> None:
    """Two equal holes left and right of a plane keep their numbers when the part is turned over and re-ordered."""
    work = plate((60.0, 40.0, 20.0))
    for y in (8.0, 32.0):
        drill(work, (12.0, y, 20.0), 5.0, 12.0, bottom="flat")
    drill(work, (40.0, 20.0, 20.0), 8.0, 9.0, bottom="flat")
    here, there = recognise(*loaded(work.shape)), recognise(*loaded(shuffled(moved(work.shape, TURNED_OVER), 3)))
    before, after = by_place(here, gp_Trsf()), by_place(there, TURNED_OVER)
    assert len(before) == 3
    for name, place in before.items():
        assert after[name] == pytest.approx(place, abs=1e-3)


def test_a_mirrored_part_has_the_same_names() -> None:
    """The other hand of a part has the same set of names."""
    assert names(recognised(bracket)) == names(recognised(bracket, MIRRORED))


@pytest.mark.parametrize(
    ("edit", "renamed"),
    [
        pytest.param(lambda: bracket(pocket_radius=3.0), 5, id="another-corner-radius"),
        pytest.param(lambda: bracket(pocket_depth=9.5), 1, id="a-deeper-pocket"),
        pytest.param(lambda: bracket(slot_at=11.0), 0, id="a-slot-moved"),
        pytest.param(lambda: bracket(length=95.0), 0, id="a-longer-plate"),
        pytest.param(
            lambda: bracket(extra=(72.0, 20.0, 20.0)),
            0,
            id="one-more-hole-of-another-size",
        ),
    ],
)
def test_an_edit_elsewhere_changes_no_name(edit: Callable[[], Work], renamed: int) -> None:
    """Every feature that was not touched has the name it had; the pocket that was, and its fillets, have another."""
    before, after = recognised(bracket), recognised(edit)
    gone = names(before) - names(after)
    assert gone.total() == renamed
    assert {each.kind for each in before.features if each.fingerprint in gone} <= {"closed_pocket", "fillet"}


def test_one_of_five_equal_holes_with_another_size_is_one_name_gone_and_one_new() -> None:
    """The others of its size keep theirs."""
    before, after = names(recognised(bracket)), names(recognised(lambda: bracket(odd_hole=5.2)))
    assert (before - after).total() == 1
    assert (after - before).total() == 1


def test_names_of_a_body_are_all_different() -> None:
    """Equal features are numbered from the second one on."""
    facts = recognised(bracket)
    assert max(names(facts).values()) == 1
    bases = Counter(each.fingerprint.partition("-")[0] for each in named(facts, "round_hole"))
    assert list(bases.values()) == [5]


@pytest.mark.parametrize("size", [0.005 * k for k in (1, 7, 200, 1234, 2001)] + [25.4 / 64 * k for k in (1, 9, 33)])
def test_what_exporters_round_changes_no_step(size: float) -> None:
    """Drawn sizes, metric to 0.005 mm and inch to 1/64, stay in their step when they are 1e-4 mm off."""
    assert stepped(size - 1e-4) == stepped(size) == stepped(size + 1e-4)


def test_a_size_of_its_own_is_a_name_of_its_own() -> None:
    """A hundredth of a millimetre may be the same step, two hundredths are not."""
    assert stepped(5.0) != stepped(5.02)


def test_surroundings_do_not_count() -> None:
    """How long a through hole is depends on the plate; a blind one's depth is its own."""
    blind = RoundHole(
        faces=(0,),
        direction=(0.0, 0.0, 1.0),
        position_mm=(0.0, 0.0, 0.0),
        diameter_mm=5.0,
        depth_mm=12.0,
        through=False,
        bottom="flat",
    )
    through = replace(blind, through=True, bottom="through")
    assert list(_own(blind)) != list(_own(replace(blind, depth_mm=13.0)))
    assert list(_own(through)) == list(_own(replace(through, depth_mm=13.0, entry_angle_deg=3.0, entry="inclined")))
