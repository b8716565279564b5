"""Equal features in an order: rows, grids, bolt circles, mirror pairs; and the one place where a copy is missing.

Two kinds of evidence say that something is missing. A row, grid or circle of equal holes has one empty place, in
material that could be drilled, or with a hole of another size (`_circles`, `_grids`). Or the whole body is kept by a
mirroring or a turn but for one place (`_symmetry`, `_twins`). Nothing here depends on how the body lies.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from analyzers.features._families import BLENDS, PATTERNED, families, middles
from analyzers.features._gaps import Slot, filled_slot
from analyzers.features._orders import Ordered, orders_of
from analyzers.features._skin import Move, skin_of
from analyzers.features._symmetry import Near, equal_pieces, half_turns, mirrorings, nearly_kept, turn_about
from analyzers.features._twins import Body, Lack, agreed, lacks, owners
from analyzers.features._view import View
from analyzers.model.arrays import Floats, Vec, vec
from analyzers.model.feature import Feature, Gap, Pattern
from analyzers.tolerance import TWIN_PLACE_MM

_PAIRS_SHARE = 0.75
"""Judgement: features are mirror pairs when at least this share of the body's pieces is mirrored with them."""

_TURNS_MOST = 2  # circles whose turns are tried on the whole body, fullest first


def find_patterns(view: View, features: tuple[Feature, ...]) -> tuple[Pattern, ...]:
    """Return the patterns, in order of their first feature; `missing` says where one more was expected.

    A feature is in one pattern at most, but for those that tell of a missing copy.
    """
    copied = [each for each in features if each.face_class in PATTERNED]
    if len(copied) < 2 and not any(each.kind == "fillet" for each in copied):
        return ()
    middle, area = middles(view.part, features)
    ordered = orders_of(view, families(view.part, features, middle, area))
    found = [_as_pattern(view, features, each) for each in ordered]
    skin = skin_of(view)
    centre = view.part.box_mm.mean(axis=0)
    orders = tuple(each.rows for each in ordered)
    body = Body(view, skin, features, middle - centre, area, owners(skin, features), orders)
    pairs = equal_pieces(skin)
    moves = [*mirrorings(skin, pairs), *half_turns(skin, pairs), *_turns(ordered, centre)]
    kept = nearly_kept(skin, moves)
    planes = [near for near in kept if near.move.mirrors]
    missed = agreed(body, [lack for near in kept if len(near.lost) for lack in lacks(body, near)])
    found += _pairs(body, planes, ordered)
    known = [place for each in found for place in each.missing]
    instead = {gap.instead for each in found for gap in each.gaps} - {None}
    fresh = [each for each in missed if not _is_known(each, features, known, instead)]
    found += _as_missing(features, fresh)
    row_of = {feature.id: row for row, feature in enumerate(features)}
    return tuple(sorted(found, key=lambda each: [row_of[name] for name in each.features]))


def _as_pattern(view: View, features: tuple[Feature, ...], order: Ordered) -> Pattern:
    """Return the order as a pattern, with its gap where that is not meant."""
    pattern = Pattern(order.kind, tuple(features[row].id for row in sorted(order.rows.tolist())))
    if order.gap is None:
        return pattern
    gap = filled_slot(view, features, Slot(order.gap.place_mm, order.gap.way, features[order.gap.like]))
    return pattern if gap is None else replace(pattern, missing=(vec(order.gap.place_mm),), gaps=(gap,))


# --- the whole body ---


def _turns(ordered: list[Ordered], centre: Floats) -> Iterator[Move]:
    """Yield the turns by one slot of the fullest circles, forth and back."""
    about = [each for each in ordered if each.centre_mm is not None and each.slots > 2]
    for each in sorted(about, key=lambda each: -each.slots)[:_TURNS_MOST]:
        assert each.centre_mm is not None
        move = turn_about(each.axis, each.centre_mm - centre, each.slots)
        yield from (move, move.back())


def _pairs(body: Body, planes: list[Near], ordered: list[Ordered]) -> Iterator[Pattern]:
    """Yield the features that stand in no row, grid or circle with their mirror images, most telling plane first."""
    free = np.ones(len(body.features), dtype=bool)
    for each in ordered:
        free[each.rows] = False
    ranked = []
    for near in planes:
        if not body.keeps_outline(near) and near.share < _PAIRS_SHARE:
            continue
        twins = body.twins(near)
        row = np.flatnonzero((twins > np.arange(len(twins))) & free & free[twins])
        apart = np.linalg.norm(body.middle_mm[row] - body.middle_mm[twins[row]], axis=1).sum()
        ranked.append((len(row), round(float(apart), 3), np.c_[row, twins[row]]))
    for _, _, pairs in sorted(ranked, key=lambda each: (-each[0], -each[1])):
        for one, other in pairs.tolist():
            if free[one] and free[other]:
                free[[one, other]] = False
                yield Pattern("mirror", (body.features[one].id, body.features[other].id))


def _is_known(lack: Lack, features: tuple[Feature, ...], places: list[Vec], instead: set[str | None]) -> bool:
    """Return whether a row, grid or circle says already what a whole body lacks."""
    if lack.instead is not None and features[lack.instead].id in instead:
        return True
    return any(float(np.linalg.norm(lack.place_mm - np.array(place))) <= TWIN_PLACE_MM for place in places)


def _as_missing(features: tuple[Feature, ...], found: list[Lack]) -> Iterator[Pattern]:
    """Yield a pattern for each copy that is missing or differs; the blends of one copy share one."""
    together: dict[tuple[int, int], list[Lack]] = {}
    for number, each in enumerate(found):
        blend = features[each.like].face_class in BLENDS
        together.setdefault((id(each.move), -1 if blend else number), []).append(each)
    for same in together.values():
        same.sort(key=lambda each: each.like)
        likes = {row for each in same for row in each.likes}
        yield Pattern(
            "mirror" if same[0].move.mirrors else "circular",
            tuple(features[row].id for row in sorted(likes)),
            tuple(vec(each.place_mm) for each in same),
            tuple(_gap(features, each) for each in same),
        )


def _gap(features: tuple[Feature, ...], lack: Lack) -> Gap:
    like = features[lack.like]
    there = None if lack.instead is None else features[lack.instead]
    return Gap(
        like=like.id,
        expected=like.callout(),
        instead=there.id if there else None,
        found=there.callout() if there else lack.found,
    )
