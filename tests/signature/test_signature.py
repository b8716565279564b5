"""Bodies are found again by their signature, turned, written as splines, or mirrored."""

import os
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from analyzers.compare.motion import find_motion
from analyzers.kernel.step_file import load
from analyzers.model.arrays import Floats
from analyzers.model.part import Part
from analyzers.signature import LENGTH, Signature, nearest, signature_of
from tests.features._bench import box, cut, rod
from tests.kernel._solids import as_splines, mirrored_in, moved, part_of, scaled_by, turned_by

PARTS = Path(__file__).parents[2] / "fixtures" / "parts"
ALL = os.environ.get("PARTSIEVE_ALL_POSES") == "1"
"""All 300 corpora parts; else every eighth, which keeps the folder within a minute."""

ASKEW = turned_by((0.3, -0.5, 0.8), 41.9, (31.7, -12.3, 55.1))
MIRROR = mirrored_in((0.3, 0.2, 0.9))


def stacked(signatures: list[Signature]) -> tuple[Floats, Floats]:
    """Return the numbers and hands of several signatures as stored."""
    return np.array([each.numbers for each in signatures]), np.array([each.hand for each in signatures])


@cache
def files(corpora: Path) -> tuple[Path, ...]:
    """Return 300 parts: generated ones of two sets, of which many are alike."""
    found = [*sorted(corpora.glob("mfcad/*.step"))[:150], *sorted(corpora.glob("mfinst/*.step"))[:150]]
    return tuple(found if ALL else found[::8])


def test_the_nearest_of_a_turned_spline_copy_is_its_original(corpora: Path) -> None:
    """At least 99 of 100 corpora parts are found again from a copy that was turned, shifted and written as splines."""
    originals, copies = [], []
    for path in files(corpora):
        shape = load(path).solids[0].shape
        originals.append(signature_of(part_of(shape)))
        copies.append(signature_of(part_of(as_splines(moved(shape, ASKEW)))))
    numbers, hands = stacked(originals)
    first = [nearest(copy, numbers, hands)[0] for copy in copies]
    found = [each.row == row and each.relation == "same" for row, each in enumerate(first)]
    assert np.mean(found) >= 0.99, [files(corpora)[row].name for row, right in enumerate(found) if not right]


def test_no_mirror_image_is_taken_for_the_original_that_can_be_told(corpora: Path) -> None:
    """Where the signature says "mirrored" the exact alignment agrees, and it says so for most handed parts."""
    told, handed = 0, 0
    for path in files(corpora)[::2]:
        part = part_of(load(path).solids[0].shape)
        image = part_of(moved(load(path).solids[0].shape, MIRROR))
        relation = nearest(signature_of(image), *stacked([signature_of(part)]))[0].relation
        really = find_motion(part, image).mirrored
        assert relation in (("mirrored", "same") if really else ("same",)), path.name
        handed += really
        told += relation == "mirrored"
    assert told >= 0.8 * handed


@pytest.mark.parametrize("stem", sorted(path.stem for path in PARTS.glob("*.step")))
def test_an_example_part_is_the_nearest_to_its_turned_copy(stem: str) -> None:
    """Each example part has a name of its own among them all."""
    copy = signature_of(part_of(moved(load(PARTS / f"{stem}.step").solids[0].shape, ASKEW)))
    stems, numbers, hands = _examples()
    first = nearest(copy, numbers, hands)[0]
    assert first.relation == "same"
    assert np.allclose(numbers[first.row], numbers[stems.index(stem)], atol=0.02)


@cache
def _examples() -> tuple[list[str], Floats, Floats]:
    paths = sorted(PARTS.glob("*.step"))
    return [path.stem for path in paths], *stacked(
        [signature_of(part_of(load(path).solids[0].shape)) for path in paths]
    )


def block_with_hole(diameter: float = 6.0) -> Part:
    """Return a block with one hole off its middle."""
    return part_of(cut(box((0, 0, 0), (60, 40, 20)), rod((12, 9, -1), diameter, 30)))


def test_a_hole_wider_by_a_tenth_is_another_part() -> None:
    """Duplicates are duplicates: 6.0 and 6.1 mm are not."""
    stored = stacked([signature_of(block_with_hole())])
    assert nearest(signature_of(block_with_hole(6.1)), *stored)[0].relation == "alike"
    assert nearest(signature_of(block_with_hole()), *stored)[0].relation == "same"


def test_size_counts() -> None:
    """The same form in inches is another part."""
    shape = cut(box((0, 0, 0), (60, 40, 20)), rod((12, 9, -1), 6.0, 30))
    stored = stacked([signature_of(part_of(shape))])
    assert nearest(signature_of(part_of(moved(shape, scaled_by(1.001)))), *stored)[0].relation == "alike"


def test_a_box_is_its_own_mirror_image() -> None:
    """What has no hand is never called mirrored."""
    stored = stacked([signature_of(part_of(box((0, 0, 0), (60, 40, 20))))])
    image = signature_of(part_of(moved(box((0, 0, 0), (60, 40, 20)), MIRROR)))
    assert nearest(image, *stored)[0].relation == "same"


def test_moments_of_a_box_are_those_of_the_handbook() -> None:
    """Radii of gyration of a box of sides a, b, c are a, b, c over the root of 12 (from memory, any statics book)."""
    numbers = signature_of(part_of(box((0, 0, 0), (60, 40, 20)))).numbers
    size = (60.0 * 40.0 * 20.0) ** (1 / 3)
    assert numbers[2:5] == pytest.approx(np.log(np.array([60.0, 40.0, 20.0]) / 12**0.5 / size), abs=1e-9)
    assert numbers[5:9] == pytest.approx(np.zeros(4), abs=1e-9)


def test_nothing_stored_nothing_found() -> None:
    """An empty store is no error."""
    assert nearest(Signature(np.zeros(LENGTH), np.zeros(2)), np.zeros((0, LENGTH)), np.zeros((0, 2))) == ()
