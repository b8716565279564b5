"""Which standard thread a modelled one is: ISO metric (ISO 261) and unified (ASME B1.1)."""

from analyzers.data.hole_tables import MetricTapDrill, UnifiedTapDrill
from analyzers.data.rows import rows
from analyzers.units import MM_PER_INCH

_PITCH_RATIO = 0.003  # M8×1.25 and 5/16 of 20 threads per inch differ by 0.016
_UNDER_PITCHES = 0.15  # how far below its nominal size a thread may be drawn, in pitches: fits g to e, flattened crests
_OVER_PITCHES = 0.2  # ... above: an inside thread with the clearance of its root, H / 8 a side


def nearest_thread(major_mm: float, pitch_mm: float) -> str | None:
    """Return the standard thread of this pitch whose major diameter is nearest; None where none is near.

    Examples
    --------
    >>> nearest_thread(8.0, 1.25), nearest_thread(6.35, 1.27), nearest_thread(8.0, 1.4)
    ('M8×1.25', '1/4-20 UNC', None)
    """
    found = [
        (each.nominal_mm, each.pitch_mm, f"M{each.nominal_mm:g}×{each.pitch_mm:g}") for each in rows(MetricTapDrill)
    ]
    for unified in rows(UnifiedTapDrill):
        size = f"{unified.thread} {unified.series}" if unified.series not in unified.thread else unified.thread
        found.append((unified.nominal_in * MM_PER_INCH, MM_PER_INCH / unified.tpi, size))
    near = [
        (abs(major_mm - nominal), name)
        for nominal, pitch, name in found
        if abs(pitch_mm - pitch) <= _PITCH_RATIO * pitch
        and nominal - _UNDER_PITCHES * pitch <= major_mm <= nominal + _OVER_PITCHES * pitch
    ]
    return min(near, default=(0.0, None))[1]
