"""Parts seen before are found again among many, without parts that were deleted, by all workers of a ledger."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analyzers.kernel.step_file import load
from analyzers.signature import LENGTH, Signature, signature_of
from tests.kernel._solids import mirrored_in, moved, part_of, turned_by
from tests.worker.test_ledger import GOOD, claimed, request
from worker.ledger import Entry, Ledger
from worker.shapes import Shapes, shapes_of

ASKEW = turned_by((0.3, -0.5, 0.8), 41.9, (31.7, -12.3, 55.1))
MIRROR = mirrored_in((0.3, 0.2, 0.9))


@pytest.fixture
def ledger(database: str) -> Iterator[Ledger]:
    """Open an empty book."""
    book = Ledger(database)
    yield book
    book.close()


def done(ledger: Ledger, name: str, *signatures: Signature) -> Entry:
    """Enter a job and finish it; its bodies have these shapes."""
    ledger.submit(request(name))
    entry = claimed(ledger)
    assert ledger.finish(entry, GOOD, shapes_of(document(*signatures)))
    return entry


def document(*signatures: Signature) -> dict[str, Any]:
    """Return what is read of a document."""
    return {
        "bodies": [
            {"id": f"B{n}", "signature": {"numbers": each.numbers.tolist(), "hand": each.hand.tolist()}}
            for n, each in enumerate(signatures, start=1)
        ]
    }


def number(value: float) -> Signature:
    """Return a signature of its own."""
    return Signature(np.full(LENGTH, value), np.zeros(2))


def test_the_same_part_under_another_name_is_found(ledger: Ledger, parts: Path) -> None:
    """Turned and shifted it is the same; its mirror image is told apart; itself is not listed."""
    shape = load(parts / "stepped_bracket.step").solids[0].shape
    shapes = Shapes(ledger)
    signatures = {
        "first": signature_of(part_of(shape)),
        "turned": signature_of(part_of(moved(shape, ASKEW))),
        "mirrored": signature_of(part_of(moved(shape, MIRROR))),
        "other": signature_of(part_of(load(parts / "link_bar.step").solids[0].shape)),
    }
    entries = {name: done(ledger, name, each) for name, each in signatures.items()}
    found = shapes.seen_before(entries["first"], document(signatures["first"]))
    assert [(each.file_name, each.relation) for each in found] == [
        ("turned.step", "same"),
        ("mirrored.step", "mirrored"),
        ("other.step", "alike"),
    ]
    assert found[0].job_id == entries["turned"].id


def test_a_deleted_model_is_not_found(ledger: Ledger) -> None:
    """Whoever deletes a job may rely on it that nothing points there any more."""
    shapes = Shapes(ledger)
    first, second = (done(ledger, name, number(1.0)) for name in ("first", "second"))
    assert len(shapes.seen_before(first, document(number(1.0)))) == 1
    ledger.strike(second)
    assert shapes.seen_before(first, document(number(1.0))) == ()
    assert Shapes(ledger).seen_before(first, document(number(1.0))) == ()


def test_entering_twice_is_entering_once(ledger: Ledger) -> None:
    """The same model judged again adds nothing."""
    shapes = Shapes(ledger)
    both = [ledger.submit(replace(request("first"), result_key=key)) for key in ("by one shop", "by another")]
    for _ in both:
        assert ledger.finish(claimed(ledger), GOOD, shapes_of(document(number(1.0), number(2.0))))
    second = done(ledger, "second", number(2.0))
    found = shapes.seen_before(second, document(number(2.0)))
    assert [(each.other_body, each.relation) for each in found] == [("B2", "same"), ("B1", "alike")]


def test_a_document_without_shapes_is_alike_to_nothing_much(ledger: Ledger) -> None:
    """A report of an older version has no signature; nothing breaks."""
    shapes = Shapes(ledger)
    first = done(ledger, "first")
    assert shapes.seen_before(first, {"bodies": []}) == ()
