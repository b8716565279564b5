"""Standard sizes near a diameter against a look at all of them."""

import numpy as np

from analyzers.data.hole_catalogue import holes_near, standard_holes
from analyzers.tolerance import STANDARD_SIZE_MM


def test_none_that_is_near_is_left_out_and_few_others_come() -> None:
    """At sizes of the tables, at ends of bands, and at diameters of no system."""
    sizes = [each for hole in standard_holes() for each in (hole.diameter_mm, *hole.band_mm)]
    for diameter in [*sizes[::40], *np.random.default_rng(7).uniform(0.2, 60.0, 20).tolist()]:
        near = holes_near(diameter)
        for hole in standard_holes():
            low, high = min(hole.diameter_mm, *hole.band_mm), max(hole.diameter_mm, *hole.band_mm)
            off = max(low - diameter, diameter - high)
            assert (hole in near) if off <= STANDARD_SIZE_MM else off <= 1.01 * STANDARD_SIZE_MM or hole not in near
