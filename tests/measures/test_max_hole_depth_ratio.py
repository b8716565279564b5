"""The deepest hole for its diameter."""

from tests.measures._shapes import box, featured, hole, loaded, taken

BLOCK = box((0, 0, 0), (60, 40, 20))
NOWHERE = (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)


def test_the_largest_ratio_wins_not_the_deepest_hole() -> None:
    """A 2 mm hole 16 deep (8) before a 10 mm hole 50 deep (5)."""
    facts, geometry = loaded(BLOCK)
    wide = hole(facts.part, *NOWHERE, diameter_mm=10.0, depth_mm=50.0, depth_ratio=5.0)
    fine = hole(facts.part, *NOWHERE, diameter_mm=2.0, depth_mm=16.0, depth_ratio=8.0)
    deepest = taken("max_hole_depth_ratio", featured(facts, wide, fine), geometry)
    assert (deepest.value, deepest.feature) == (8.0, "F2")


def test_no_hole_is_no_problem_but_an_unmeasured_one_is() -> None:
    """Without holes the ratio does not apply; a hole whose depth is unknown should have had one."""
    facts, geometry = loaded(BLOCK)
    assert not taken("max_hole_depth_ratio", facts, geometry).applies
    unknown = hole(facts.part, *NOWHERE, depth_mm=None, depth_ratio=None)
    ratio = taken("max_hole_depth_ratio", featured(facts, unknown), geometry)
    assert ratio.value is None
    assert ratio.applies
