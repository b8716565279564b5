"""Words and numbers of messages: nouns of the trade, counts, and sizes rounded to what a drawing would say."""

import math
import re

from analyzers.model.feature import Feature, mm_text
from analyzers.settings import Cutter
from analyzers.tolerance import LIMIT_SLACK

NOUNS = {
    "round_hole": "hole",
    "counterbore_hole": "counterbored hole",
    "countersunk_hole": "countersunk hole",
    "stepped_hole": "stepped hole",
    "closed_pocket": "pocket",
    "open_pocket": "open pocket",
    "boss": "boss",
    "slot": "slot",
    "step": "step",
    "groove": "groove",
    "fillet": "fillet",
    "edge_round": "outside round",
    "chamfer": "chamfer",
    "outer_round": "turned diameter",
    "region": "free-form surface",
}
CUTTER_NOUNS = {
    "flat": "end mill",
    "bull": "bull-nose end mill",
    "ball": "ball-nose end mill",
    "drill": "drill",
    "spot": "spot drill",
    "chamfer": "chamfer mill",
    "slot": "slot cutter",
    "tap": "tap",
    "reamer": "reamer",
}

MOST_CALLOUTS = 4
_KIND_WORD = re.compile(r"^[A-Z]{4,} ?")  # "STEP 12 ↧5": the noun says it already


def noun(feature: Feature) -> str:
    """Return what a machinist calls this kind of feature."""
    return NOUNS.get(feature.kind, feature.kind.replace("_", " "))


def plural(word: str, count: int) -> str:
    """Return the word for this many.

    Examples
    --------
    >>> plural("hole", 1), plural("boss", 2), plural("counterbored hole", 3)
    ('hole', 'bosses', 'counterbored holes')
    """
    if count == 1:
        return word
    return f"{word}es" if word.endswith("s") else f"{word}s"


def subject(on: tuple[Feature, ...]) -> str:
    """Return the start of a sentence: "Hole ⌀5 ↧30", "8 holes ⌀5 ↧30", "3 holes ⌀4 ↧9, ⌀5 ↧8, ..."."""
    nouns = dict.fromkeys(noun(each) for each in on)
    word = next(iter(nouns)) if len(nouns) == 1 else "feature"
    callouts = list(dict.fromkeys(_KIND_WORD.sub("", each.callout()) for each in on))
    sizes = ", ".join([*callouts[:MOST_CALLOUTS], *(["..."] if len(callouts) > MOST_CALLOUTS else [])])
    text = f"{word if len(on) == 1 else f'{len(on)} {plural(word, len(on))}'} {sizes}".strip()
    return text[0].upper() + text[1:]


def verb(on: tuple[object, ...], one: str = "is", many: str = "are") -> str:
    """Return the verb that goes with the number of things."""
    return one if len(on) == 1 else many


def cutter_text(cutter: Cutter) -> str:
    """Return for example "⌀6 end mill"."""
    return f"⌀{mm_text(cutter.diameter_mm)} {CUTTER_NOUNS[cutter.kind]}"


def round_up(value: float, step: float = 0.1) -> float:
    """Return the next multiple of `step`, not below the value by more than noise.

    Examples
    --------
    >>> round_up(3.01), round_up(3.3), round_up(7.2, 0.5)
    (3.1, 3.3, 7.5)
    """
    return round(math.ceil(value / step - LIMIT_SLACK) * step, 6)


def round_down(value: float, step: float = 0.1) -> float:
    """Return the last multiple of `step`, not above the value by more than noise.

    Examples
    --------
    >>> round_down(3.19), round_down(3.3)
    (3.1, 3.3)
    """
    return round(math.floor(value / step + LIMIT_SLACK) * step, 6)
