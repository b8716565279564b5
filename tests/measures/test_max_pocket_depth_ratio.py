"""The deepest pocket for the cutter its corners let in."""

from tests.measures._shapes import box, featured, hole, loaded, pocket, taken

BLOCK = box((0, 0, 0), (60, 40, 20))
NOWHERE = (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)


def test_the_largest_ratio_wins() -> None:
    """12 mm deep with R2 corners (3) before 20 mm with R5 (2); a hole's ratio does not mix in."""
    facts, geometry = loaded(BLOCK)
    wide = pocket(facts.part, *NOWHERE, depth_mm=20.0, corner_radius_mm=5.0, depth_ratio=2.0)
    tight = pocket(facts.part, *NOWHERE, depth_mm=12.0, corner_radius_mm=2.0, depth_ratio=3.0)
    drilled = hole(facts.part, *NOWHERE, depth_ratio=9.0)
    deepest = taken("max_pocket_depth_ratio", featured(facts, drilled, wide, tight), geometry)
    assert (deepest.value, deepest.feature) == (3.0, "F3")


def test_sharp_corners_have_no_ratio() -> None:
    """A pocket with sharp corners, or no pocket: no value, a reason, no problem."""
    facts, geometry = loaded(BLOCK)
    for features in ((), (pocket(facts.part, *NOWHERE),)):
        ratio = taken("max_pocket_depth_ratio", featured(facts, *features), geometry)
        assert ratio.value is None
        assert not ratio.applies
