"""The setups: which clampings, in which order, which features in which, how the part is held, and why."""

from collections import Counter
from dataclasses import dataclass
from typing import Final

import numpy as np

from analyzers.features.hole import Hole
from analyzers.model.arrays import Bools, Floats, Vec, vec
from analyzers.model.feature import FaceClass, Feature
from analyzers.model.plan import Setup
from analyzers.model.report import Facts
from analyzers.plan.directions import Coverage
from analyzers.plan.frame import across, direction_name, parallel, same_way
from analyzers.plan.holding import Hold, hold
from analyzers.plan.stock import Blank
from analyzers.settings import Machine, Shop
from analyzers.tolerance import SQUARE_DEG, SQUARE_SIN

WORDS: Final[dict[FaceClass, tuple[str, str]]] = {
    "hole": ("hole", "holes"),
    "pocket": ("pocket", "pockets"),
    "slot": ("slot", "slots"),
    "step": ("step", "steps"),
    "boss": ("boss", "bosses"),
    "groove": ("groove", "grooves"),
    "fillet": ("fillet", "fillets"),
    "edge_round": ("edge round", "edge rounds"),
    "chamfer": ("chamfer", "chamfers"),
    "freeform": ("freeform region", "freeform regions"),
    "outer": ("diameter", "diameters"),
}
"""In the order in which a setup's work is named."""

INDEX_COS: Final = -0.1
"""A machine that swivels turns the part until the spindle comes from a little below the horizon, not from below."""


@dataclass(frozen=True, slots=True)
class Approach:
    """One direction of the plan with what is made from it."""

    direction: Floats  # (3,)
    features: tuple[Feature, ...]
    patches: int  # further outer faces that are cut from here
    far_ends: int  # of what is cut from both ends
    turned: bool


def approaches(
    facts: Facts, coverage: Coverage, order: tuple[int, ...], turning: Floats | None
) -> tuple[Approach, ...]:
    """Return the chosen directions in order, every feature in exactly one of them.

    A feature goes to the direction it was recognised from when that is among those that make it, else to the earliest.
    Blends go where most of their faces are reached; what no direction reaches goes where it was recognised from.
    """
    reached = {id(each.feature): each.reached for each in coverage.needs if each.feature is not None}
    own = same_way(coverage.directions, _directions(facts.features)[:, None, :], SQUARE_DEG)  # (n, D)
    home = _homes(facts.features, reached, coverage.face_reached, own, order)
    loose = [each for each in coverage.needs if each.feature is None]
    patch_home = [(_patch_home(each.reached, order), each.far_end) for each in loose]
    found = []
    for place, row in enumerate(order):
        direction = coverage.directions[row]
        found.append(
            Approach(
                direction=direction,
                features=tuple(each for each, at in zip(facts.features, home, strict=True) if at == place),
                patches=patch_home.count((place, False)),
                far_ends=patch_home.count((place, True)),
                turned=turning is not None and bool(parallel(direction, turning)),
            )
        )
    return tuple(found)


def _directions(features: tuple[Feature, ...]) -> Floats:
    return np.array([each.direction for each in features], dtype=float).reshape(-1, 3)


def _homes(
    features: tuple[Feature, ...],
    reached: dict[int, Bools],
    face_reached: Bools,
    own: Bools,
    order: tuple[int, ...],
) -> list[int]:
    """Return for each of n features the place in `order` of the direction it is made from.

    Parameters
    ----------
    reached : by a feature's id(), (D,) directions that make it whole; the others are cut face by face
    face_reached : (F, D) that cut each face
    own : (n, D) that each was recognised from
    """
    rows = list(order)
    mine = own[:, rows]
    share = mine.astype(float)
    whole = [row for row, each in enumerate(features) if id(each) in reached]
    if whole:
        share[whole] = np.array([reached[id(features[row])] for row in whole])[:, rows]
    for row, feature in enumerate(features):
        if id(feature) not in reached and feature.faces:
            share[row] = face_reached[list(feature.faces)].mean(axis=0)[rows]
    own_first = np.array([0.0 if isinstance(each, Hole) else 0.5 for each in features])[:, None]
    liked = share + own_first * mine * (share > 0.0) + 1e-3 * mine
    homes: list[int] = np.argmax(liked, axis=1).tolist() if features else []  # the earliest of equals
    return homes


def _patch_home(reached: np.ndarray, order: tuple[int, ...]) -> int | None:
    """Return the place of the earliest direction that cuts a patch of outer faces."""
    return next((place for place, row in enumerate(order) if reached[row]), None)


def clampings(found: tuple[Approach, ...], machine: Machine) -> list[list[Approach]]:
    """Return the approaches in groups that need no unclamping.

    A three-axis mill takes one at a time. A machine that swivels the part takes from one clamping all directions that
    do not come from below; one that only turns it (four axes), those square to its rotary axis; a lathe with driven
    tools, its own axis and everything radial.
    """
    groups: list[list[Approach]] = []
    for approach in found:
        for group in groups:
            if _joins(approach, group, machine):
                group.append(approach)
                break
        else:
            groups.append([approach])
    return groups


def _joins(approach: Approach, group: list[Approach], machine: Machine) -> bool:
    """Return whether a machine cuts from a direction without unclamping a group."""
    base = group[0]
    if machine.kind == "mill_turn":
        return base.turned and not approach.turned and bool(across(approach.direction, base.direction))
    if machine.kind == "lathe" or not (machine.indexed or machine.axes >= 4):
        return False
    if machine.axes >= 5:
        return float(approach.direction @ base.direction) > INDEX_COS
    turns = np.stack([each.direction for each in (*group, approach)])
    return bool(np.linalg.svd(turns, compute_uv=False)[2:].max(initial=0.0) <= SQUARE_SIN)  # all square to one axis


Held = dict[tuple[object, ...], tuple[tuple[FaceClass, ...], Hold]]
"""How a part is held, by direction, whether it is the first setup, and the classes of its faces."""


def build_setups(
    facts: Facts,
    groups: list[list[Approach]],
    machines: list[Machine],
    shop: Shop,
    blank: Blank,
    known: Held | None = None,
) -> tuple[tuple[Setup, ...], tuple[Hold, ...]]:
    """Return the setups and how the part is held in each; `known` of the same part and shop is used and added to."""
    known = {} if known is None else known
    setups, holds = [], []
    first = groups[0][0].direction
    for number, (group, machine) in enumerate(zip(groups, machines, strict=True), start=1):
        direction = group[0].direction
        key = (number == 1, id(facts.face_class), *direction.tolist())
        if key not in known:
            known[key] = (facts.face_class, hold(facts, direction, shop, blank if number == 1 else None))
        held = known[key][1]
        setups.append(
            Setup(
                id=f"S{number}",
                direction=_tidy(direction),
                features=tuple(each.id for part in group for each in part.features),
                why="; ".join(_why(part, first, number) for part in group),
                vise_faces=held.faces if held.by == "vise" else (),
                grip_width_mm=held.width_mm,
                grip_height_mm=held.height_mm,
                grip_off_parallel_deg=held.off_parallel_deg,
                machine=machine.id,
                held_by=held.by,
                held_why=held.why,
                indexed=tuple(_tidy(part.direction) for part in group[1:]),
            )
        )
        holds.append(held)
    return tuple(setups), tuple(holds)


def _tidy(direction: Floats) -> Vec:
    """Return a direction without minus zeros and rounding dust."""
    x, y, z = vec(np.round(direction, 12) + 0.0)
    return (x, y, z)


def _why(approach: Approach, first: Floats, number: int) -> str:
    """Return what a direction is there for: "top (+Z): 4 holes, 1 pocket"."""
    return f"{_side(approach, first, number)} ({direction_name(vec(approach.direction))}): {_work_words(approach)}"


def _side(approach: Approach, first: Floats, number: int) -> str:
    """Return the side in a machinist's word, as seen from the first setup."""
    if approach.turned:
        return "first chucking" if bool(same_way(approach.direction, first)) else "second chucking"
    if number == 1 and bool(same_way(approach.direction, first)):
        return "top"
    if bool(same_way(approach.direction, -first)):
        return "bottom"
    return "side" if bool(across(approach.direction, first)) else "at an angle"


def _work_words(approach: Approach) -> str:
    """Return the features by kind, and the outside where it is cut from here."""
    count = Counter(each.face_class for each in approach.features)
    named = [f"{count[kind]} {words[count[kind] > 1]}" for kind, words in WORDS.items() if count[kind]]
    if approach.far_ends:
        named.append(f"{approach.far_ends} far {'ends' if approach.far_ends > 1 else 'end'}")
    if approach.patches:
        named.append("outer faces")
    if approach.turned:
        named.append("facing")
    return ", ".join(named) or "the outside"
