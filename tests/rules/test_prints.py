"""What accepted findings are known by."""

from dataclasses import replace

import pytest

from analyzers.model.feature import Feature
from analyzers.rules._base import judge
from analyzers.rules._prints import fingerprint, identity
from tests.rules import _builders as build


def prints(rule: str, *features: Feature) -> list[str]:
    """Return the fingerprints of what a rule says about some features."""
    return [each.fingerprint for each in judge(build.case(*features))[0] if each.rule == rule]


def test_a_size_that_the_rule_does_not_look_at_changes_nothing() -> None:
    """A thin floor stays the accepted one when the pocket's corners get another radius; a thinner one does not."""
    thin = build.pocket(12.0, 4.0, floor_thickness_mm=0.4)
    known = prints("thin_floor", thin)
    assert len(known) == 1
    assert prints("thin_floor", replace(thin, corner_radius_mm=3.0)) == known
    assert prints("thin_floor", replace(thin, floor_thickness_mm=0.3)) != known


def test_seven_of_eight_equal_holes_are_what_was_accepted_for_eight() -> None:
    """One hole of the group that got another size does not make the others new."""
    holes = [build.hole(5.0, 60.0, faces=(20 + i,)) for i in range(8)]
    known = prints("hole_depth_ratio", *holes)
    assert len(known) == 1
    changed = prints("hole_depth_ratio", *holes[:7], build.hole(4.5, 60.0, faces=(27,)))
    assert len(changed) == 2
    assert set(known) < set(changed)


@pytest.mark.parametrize("number", [0.4, 12.0, 1.0 / 3.0, 4.0625, -2.5])
def test_noise_changes_no_fingerprint(number: float) -> None:
    """A number 1e-5 of itself off is the same number; two percent off is another."""
    assert (
        fingerprint("rule", number * (1 - 1e-5)) == fingerprint("rule", number) == fingerprint("rule", number * 1.00001)
    )
    assert fingerprint("rule", number) != fingerprint("rule", number * 1.02)


def test_no_number_is_a_word_of_its_own() -> None:
    """Zero has no logarithm, and is not one."""
    assert len({fingerprint("rule", each) for each in (0.0, 1.0, -1.0)}) == 3


def test_equal_features_are_one_thing_to_a_finding() -> None:
    """The number that tells equal features apart is not part of what a finding is known by."""
    hole = build.hole(5.0, 60.0)
    assert identity(replace(hole, fingerprint="abc-3")) == identity(replace(hole, fingerprint="abc"))
    assert identity(hole) != identity(build.hole(5.5, 60.0))
