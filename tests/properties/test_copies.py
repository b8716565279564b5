"""Where a part lies, its hand, unit, order of faces and way of writing change no feature and no measure."""

import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, example, given, settings
from hypothesis import strategies as st
from OCP.gp import gp_Trsf

from tests.kernel._solids import as_splines, mirrored_in, moved, scaled_by, shuffled, turned_by
from tests.properties._copies import (
    CORPORA,
    FULL,
    PARTS,
    STEMS,
    apart,
    bad_ownership,
    classes,
    corpus_files,
    originals,
    prints,
    recognised,
    solids,
)

POSES = 98 if FULL else 4  # of each example part, besides two that are always tried

INCH = 25.4

SOME = settings(
    max_examples=POSES,
    deadline=None,
    derandomize=True,
    database=None,
    phases=(Phase.explicit, Phase.generate),
    suppress_health_check=list(HealthCheck),
)


@st.composite
def vectors(draw: st.DrawFn) -> tuple[float, float, float]:
    """Draw a direction: height and longitude cover the sphere evenly."""
    height = draw(st.floats(-0.999, 0.999))
    turn = draw(st.floats(0.0, 2 * math.pi))
    across = math.sqrt(1.0 - height**2)
    return (across * math.cos(turn), across * math.sin(turn), height)


@st.composite
def poses(draw: st.DrawFn) -> gp_Trsf:
    """Draw a turn about any axis and a shift of up to half a metre each way."""
    shift = [draw(st.floats(-500.0, 500.0)) for _ in range(3)]
    return turned_by(draw(vectors()), draw(st.floats(-180.0, 180.0)), (shift[0], shift[1], shift[2]))


ASKEW = turned_by((0.3, -0.5, 0.8), 41.9, (31.7, -12.3, 55.1))
TURNED_OVER = turned_by((0.9, 0.2, -0.1), 201.0, (-210.0, 40.0, 7.0))


def files(without: str = "\0") -> list[Any]:
    """Return the example parts as cases, but those with a word in their name."""
    return [pytest.param(PARTS / f"{stem}.step", id=stem) for stem in STEMS if without not in stem]


@pytest.mark.parametrize("path", files())
@SOME
@example(pose=ASKEW)
@example(pose=TURNED_OVER)
@given(pose=poses())
def test_a_moved_part_has_the_same_features(path: Path, pose: gp_Trsf) -> None:
    """Turned and shifted anyhow: the same features, measures and face classes, and no face with two owners."""
    for shape, here in zip(solids(path), originals(path), strict=True):
        there = recognised(moved(shape, pose))
        assert apart(here, there) == []
        assert classes(here) == classes(there)
        assert list(bad_ownership(there)) == []


@pytest.mark.parametrize("path", files())
@pytest.mark.parametrize("pose", [pytest.param([ASKEW, TURNED_OVER], id="two-poses")])
def test_a_moved_part_has_the_same_fingerprints(path: Path, pose: list[gp_Trsf]) -> None:
    """A feature is told by the same name wherever the part is moved."""
    for each in pose:
        for shape, here in zip(solids(path), originals(path), strict=True):
            assert prints(here) == prints(recognised(moved(shape, each)))


@pytest.mark.parametrize("path", files())
@settings(parent=SOME, max_examples=100 if FULL else 1)
@given(normal=vectors())
def test_a_mirrored_part_has_the_same_features(path: Path, normal: tuple[float, float, float]) -> None:
    """The other hand of a part has the same features with the same measures."""
    for shape, here in zip(solids(path), originals(path), strict=True):
        there = recognised(moved(shape, mirrored_in(normal, (3.0, -7.0, 11.0))))
        assert apart(here, there) == []
        assert classes(here) == classes(there)


@pytest.mark.parametrize("path", files())
@settings(parent=SOME, max_examples=100 if FULL else 1)
@given(seed=st.integers(0, 10_000))
def test_the_order_of_the_faces_does_not_matter(path: Path, seed: int) -> None:
    """Faces listed otherwise: the same features, measures and classes."""
    for shape, here in zip(solids(path), originals(path), strict=True):
        there = recognised(shuffled(shape, seed))
        assert apart(here, there) == []
        assert classes(here) == classes(there)


@pytest.mark.parametrize("path", files())
def test_the_order_of_the_faces_changes_no_fingerprint(path: Path) -> None:
    """Two other orders of the faces: the same fingerprints."""
    for seed in (7, 11):
        for shape, here in zip(solids(path), originals(path), strict=True):
            assert prints(here) == prints(recognised(shuffled(shape, seed)))


@pytest.mark.parametrize("path", files())
def test_an_inch_for_a_millimetre_changes_only_the_size(path: Path) -> None:
    """25.4 times the part has the same features at 25.4 times the lengths."""
    for shape, here in zip(solids(path), originals(path), strict=True):
        there = recognised(moved(shape, scaled_by(INCH)))
        assert apart(here, there, INCH) == []
        assert classes(here) == classes(there)


@pytest.mark.parametrize("path", files(without="splines"))
def test_a_part_written_as_splines_has_the_same_features(path: Path) -> None:
    """Every surface and curve re-written as a B-spline: the same features, measures, classes and fingerprints."""
    for shape, here in zip(solids(path), originals(path), strict=True):
        there = recognised(as_splines(shape))
        assert apart(here, there) == []
        assert classes(here) == classes(there)
        assert prints(here) == prints(there)


@pytest.mark.parametrize("path", files())
def test_no_face_has_two_owners_and_each_has_one_class(path: Path) -> None:
    """Features share no face; each face has the class of its owner, or outer."""
    for facts in originals(path):
        assert list(bad_ownership(facts)) == []


# --- the corpora ------------------------------------------------------------------------------------------------------

COPIES = {
    "moved": (ASKEW, 1.0),
    "turned-over": (TURNED_OVER, 1.0),
    "mirrored": (mirrored_in((0.2, 0.9, 0.3), (3.0, -7.0, 11.0)), 1.0),
    "inch": (scaled_by(INCH), INCH),
}
KINDS = [*COPIES, "shuffled", "splines"]


def differing(kind: str) -> dict[str, list[str]]:
    """Return what differs between each corpus part and its copy; a loud skip where there are no corpora."""
    chosen = corpus_files()
    if not chosen:
        pytest.skip(f"no mfcad or mfinst parts at {CORPORA}: set PARTSIEVE_CORPORA")
    wrong = {}
    for path in chosen:
        for shape, here in zip(solids(path), originals(path), strict=True):
            pose, scale = COPIES.get(kind, (None, 1.0))
            if pose is not None:
                there = recognised(moved(shape, pose))
            else:
                there = recognised(shuffled(shape, 7) if kind == "shuffled" else as_splines(shape))
            if found := apart(here, there, scale) + list(bad_ownership(there)):
                wrong[path.stem] = found
    return wrong


@pytest.mark.parametrize("kind", KINDS)
def test_copies_of_generated_parts_have_the_same_features(kind: str) -> None:
    """60 parts of the mfcad and mfinst corpora: every copy has the same features with the same measures."""
    assert differing(kind) == {}
