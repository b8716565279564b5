"""Narrowest tolerance that the model itself asks for."""

from collections.abc import Iterator

from analyzers.measures._notes import at_note, none_of
from analyzers.model.geometry import Geometry
from analyzers.model.measure import Measure
from analyzers.model.report import Facts


def measure(facts: Facts, geometry: Geometry) -> Iterator[Measure]:  # noqa: ARG001 - every measure is asked the same way
    """Yield the least width between limits, or of a zone of form or place, that the file says; angles do not count.

    A hole of 20 +0.05/-0.1 has 0.15; a flatness of 0.02 has 0.02.
    """
    widths = [(each.zone_mm, each) for each in facts.tolerances if each.zone_mm is not None]
    if not widths:
        yield none_of(facts, "tightest_tolerance_mm", "the model's tolerances are all of angles")
        return
    width, note = min(widths, key=lambda each: each[0])
    yield at_note(facts, "tightest_tolerance_mm", width, note)
