"""Which standard thread a modelled one is called."""

import pytest

from analyzers.data.thread_sizes import nearest_thread


@pytest.mark.parametrize(
    ("major_mm", "pitch_mm", "name"),
    [
        (8.0, 1.25, "M8×1.25"),
        (8.0, 1.0, "M8×1"),
        (7.972, 1.25, "M8×1.25"),  # drawn at the upper limit of 6g, 28 micrometres below (ISO 965-1)
        (6.35, 1.27, "1/4-20 UNC"),
        (12.7, 25.4 / 13, "1/2-13 UNC"),
        (8.0, 1.26, None),
        (8.4, 1.25, None),
        (7.7, 1.25, None),
        (100.0, 0.2, None),
    ],
)
def test_the_standard_of_a_size_and_pitch(major_mm: float, pitch_mm: float, name: str | None) -> None:
    """ISO 261 and ASME B1.1; a hundredth off in pitch or a third of a millimetre in diameter is another thread."""
    assert nearest_thread(major_mm, pitch_mm) == name
