"""What a hole of a given diameter is probably for.

The order is judgement: what kind of use it is (a screw passes through, a thread goes into a blind hole), how common
the fastener, how usual the fit, whether it belongs to the units the model was drawn in. Each use names its source.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from math import inf
from typing import Final

from analyzers.data.hole_catalogue import HoleUse, StandardHole, drill_sizes, holes_near, standard_holes
from analyzers.data.rows import Provenance
from analyzers.model.tolerance_note import ToleranceNote
from analyzers.tolerance import SAME_LENGTH_MM, STANDARD_SIZE_MM
from analyzers.units import MM_PER_INCH, UnitSystem, length_text

_THROUGH: Final[dict[HoleUse, float]] = {
    "clearance": 4.0,
    "tap_drill": 3.0,
    "dowel": 2.5,
    "reamed": 1.75,
    "pipe_tap_drill": 1.5,
    "thread_minor": 2.0,
    "thread_major": 0.25,
    "drill": 1.25,
}
_BLIND: Final[dict[HoleUse, float]] = {
    "clearance": 1.0,
    "tap_drill": 4.0,
    "dowel": 3.0,
    "reamed": 2.0,
    "pipe_tap_drill": 2.0,
    "thread_minor": 3.0,
    "thread_major": 1.25,
    "drill": 1.75,
}
OTHER_UNITS: Final = 3.5  # taken off where the size belongs to the other system of units
EXACT: Final = 1.0  # given back where it is met to the last digit, which does not happen by chance
FROM_MEMORY: Final = 1.0  # taken off where the size was read in no source; metric stock drills are all so
SHALLOWEST_RATIO: Final = 1.0  # depth / nominal; below, a thread or a pin would not hold (common practice, no source)
_WANTS_DEPTH: Final[dict[HoleUse, float]] = {"tap_drill": 4.0, "thread_minor": 4.0, "thread_major": 4.0, "dowel": inf}
"""How deep such a hole goes at most, in nominal diameters; deeper is not tapped (common practice, no source)."""
TYPED_STEP: Final[dict[UnitSystem, float]] = {"mm": 0.01, "inch": 0.001 * MM_PER_INCH}
NEAR_MISS_MM: Final = 0.15  # how far around a hole a use is looked for that it may have been meant for


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """One thing the hole may be for. `prov` "memory": the size was read in no source; it may suggest, never stop."""

    use: HoleUse
    text: str
    standard: str
    diameter_mm: float  # of the standard size
    off_mm: float  # how much larger the hole is drawn; 0 where the size may lie anywhere in a band and does
    fastener: str
    prov: Provenance
    src: str  # keys of the table of sources


@lru_cache(maxsize=4096)
def plausible_uses(
    diameter_mm: float, depth_mm: float | None, through: bool, unit_system: UnitSystem
) -> tuple[Use, ...]:
    """Return what a hole may be for, the most plausible first; never empty.

    Where no standard size fits, the last entry says the nearest use or drill and by how much the hole differs. A size
    that nobody types, such as 4.976, and that lies inside a thread comes from the drawing of that thread: no slip.

    Parameters
    ----------
    diameter_mm : > 0
    depth_mm : of the full diameter; None = not known
    through : it comes out at the other side
    unit_system : the one the model was evidently drawn in

    Raises
    ------
    ValueError : the diameter is not positive

    Examples
    --------
    >>> [use.text for use in plausible_uses(6.6, 20.0, True, "mm")][:2]
    ['clearance for M6, medium fit', 'drill for pipe thread G 1/16']
    >>> plausible_uses(5.05, 20.0, True, "mm")[-1].text
    'no standard size: 0.05 mm larger than tap drill M6'
    """
    if not diameter_mm > 0.0:
        raise ValueError(f"diameter is {diameter_mm}, expected more than 0")
    fitting = [hole for hole in holes_near(diameter_mm) if _fits(hole, diameter_mm, unit_system)]
    ranked = sorted(
        fitting, key=lambda hole: (-_points(hole, diameter_mm, depth_mm, through, unit_system), hole.diameter_mm)
    )
    uses = tuple(_use(hole, hole.text, diameter_mm) for hole in _each_once(ranked))
    own = [hole for hole in fitting if hole.system == unit_system]
    if any(_at_size(hole, diameter_mm) or hole.use in ("dowel", "reamed") for hole in own):
        return uses
    if any(hole.use == "thread_minor" for hole in fitting) and not _typed(diameter_mm, unit_system):
        return uses
    return (*uses, _nearest(diameter_mm, depth_mm, through, unit_system))


def uses_in_model(
    diameter_mm: float,
    depth_mm: float | None,
    through: bool,
    unit_system: UnitSystem,
    notes: Iterable[ToleranceNote] = (),
) -> tuple[Use, ...]:
    """Return what a hole is for: first the thread or fit that the model's own notes name, then what its size suggests.

    Where a note names one, nothing is said about a size that is not standard: a thread may be drawn at any diameter
    between its inside and its outside, and a fit is bored or reamed to its own size.

    Examples
    --------
    >>> note = ToleranceNote(kind="thread", thread="M8×1.25-6H", pitch_mm=1.25)
    >>> [use.text for use in uses_in_model(6.8, 16.0, False, "mm", [note])][:2]
    ['thread M8×1.25-6H, as the model says', 'tap drill M8']
    """
    named = tuple(_named(note, diameter_mm) for note in notes if note.thread or note.fit)
    guessed = plausible_uses(diameter_mm, depth_mm, through, unit_system)
    return (*named, *(use for use in guessed if use.use != "none")) if named else guessed


def _named(note: ToleranceNote, diameter_mm: float) -> Use:
    """Return the use that a note names."""
    thread = bool(note.thread)
    return Use(
        use="threaded" if thread else "fitted",
        text=f"thread {note.thread}, as the model says" if thread else f"fit {note.callout()}, as the model says",
        standard="",
        diameter_mm=diameter_mm,
        off_mm=0.0,
        fastener=note.thread,
        prov="seen",
        src="the model's own annotation",
    )


def nearest_drill(diameter_mm: float, unit_system: UnitSystem) -> Use:
    """Return the stock drill nearest to a diameter, of the given system of units."""
    drills = [drill for drill in drill_sizes() if drill.system == unit_system]
    nearest = min(drills, key=lambda drill: abs(drill.diameter_mm - diameter_mm))
    return _use(nearest, nearest.text, diameter_mm)


def _fits(hole: StandardHole, diameter_mm: float, unit_system: UnitSystem) -> bool:
    """Return True where the diameter is the standard one, or lies in its band.

    Of the other system of units, only what a fastener needs counts: its drills and bands are met by chance too often.
    """
    if hole.system != unit_system:
        return _at_size(hole, diameter_mm) and hole.use != "drill"
    low, high = hole.band_mm
    return _at_size(hole, diameter_mm) or low - SAME_LENGTH_MM <= diameter_mm <= high + SAME_LENGTH_MM


def _at_size(hole: StandardHole, diameter_mm: float) -> bool:
    """Return True where the diameter is the size itself (a band beside its size stands for the band alone)."""
    low, high = hole.band_mm
    return abs(hole.diameter_mm - diameter_mm) <= STANDARD_SIZE_MM and low <= hole.diameter_mm <= high


def _each_once(ranked: list[StandardHole]) -> list[StandardHole]:
    """Return the uses without a second one for the same thread or with the same words."""
    seen: set[tuple[str, str]] = set()
    kept = []
    for hole in ranked:
        family = "thread" if hole.use in ("tap_drill", "thread_minor", "thread_major") else hole.use
        key = (family, hole.fastener or hole.text)
        if key not in seen:
            kept.append(hole)
        seen.add(key)
    return kept


def _points(
    hole: StandardHole, diameter_mm: float, depth_mm: float | None, through: bool, unit_system: UnitSystem
) -> float:
    """Return how plausible a use is; only the order counts."""
    points = (_THROUGH if through else _BLIND)[hole.use] - hole.demerit
    if hole.system != unit_system:
        points -= OTHER_UNITS - EXACT * (abs(hole.diameter_mm - diameter_mm) <= SAME_LENGTH_MM)
    if not _anywhere(hole, diameter_mm, unit_system):
        points -= min(1.0, abs(hole.diameter_mm - diameter_mm) / STANDARD_SIZE_MM)  # the nearer the likelier
    if depth_mm is not None and hole.nominal_mm and hole.use in _WANTS_DEPTH:
        ratio = depth_mm / hole.nominal_mm
        points -= 1.5 if not SHALLOWEST_RATIO <= ratio <= _WANTS_DEPTH[hole.use] else 0.0
    return points - FROM_MEMORY * (hole.prov == "memory" and hole.use != "drill")


def _typed(diameter_mm: float, unit_system: UnitSystem) -> bool:
    """Return whether a diameter is a number that people type: hundredths of a millimetre, thousandths of an inch.

    Only such a size can be a slip of the pen (judgement, no source).
    """
    step_mm = TYPED_STEP[unit_system]
    return abs(diameter_mm - round(diameter_mm / step_mm) * step_mm) <= SAME_LENGTH_MM


def _anywhere(hole: StandardHole, diameter_mm: float, unit_system: UnitSystem) -> bool:
    """Return whether the diameter is as likely as any other within the limits of a use: of a fit, or inside a thread.

    A stock drill's own size is drilled for its own sake, and lies within a thread's limits by chance.
    """
    low, high = hole.band_mm
    if not (low < high and low <= diameter_mm <= high):
        return False
    return hole.use in ("dowel", "reamed") or (hole.use == "thread_minor" and not _drilled(diameter_mm, unit_system))


@lru_cache(maxsize=1024)
def _drilled(diameter_mm: float, unit_system: UnitSystem) -> bool:
    """Return whether a diameter is that of a stock drill of the system to the last digit."""
    drills = (drill for drill in drill_sizes() if drill.system == unit_system)
    return any(abs(drill.diameter_mm - diameter_mm) <= SAME_LENGTH_MM for drill in drills)


def _use(hole: StandardHole, text: str, diameter_mm: float) -> Use:
    """Return a standard size as a use of this hole."""
    low, high = hole.band_mm
    inside = low < high and low <= diameter_mm <= high
    return Use(
        use=hole.use,
        text=text,
        standard=hole.standard,
        diameter_mm=hole.diameter_mm,
        off_mm=0.0 if inside else diameter_mm - hole.diameter_mm,
        fastener=hole.fastener,
        prov=hole.prov,
        src=hole.src,
    )


def _nearest(diameter_mm: float, depth_mm: float | None, through: bool, unit_system: UnitSystem) -> Use:
    """Return what the hole was nearly, or that it is larger than any drill."""
    near = [
        hole
        for hole in standard_holes()
        if hole.system == unit_system
        and hole.use not in ("drill", "thread_minor", "thread_major")
        and abs(hole.diameter_mm - diameter_mm) <= NEAR_MISS_MM
    ]
    drills = [drill for drill in drill_sizes() if drill.system == unit_system]
    if not near and diameter_mm > drills[-1].diameter_mm:
        text = f"bored: larger than the largest stock drill ({drills[-1].text.removeprefix('drill ')})"
        return Use(
            use="bored",
            text=text,
            standard="",
            diameter_mm=diameter_mm,
            off_mm=0.0,
            fastener="",
            prov=drills[-1].prov,
            src=drills[-1].src,
        )

    def distance(hole: StandardHole) -> float:  # a likely use may lie a little farther off than an unlikely one
        likely = _points(hole, hole.diameter_mm, depth_mm, through, unit_system)
        return abs(hole.diameter_mm - diameter_mm) - 0.01 * likely

    nearest = min(near or drills, key=distance)
    off_mm = diameter_mm - nearest.diameter_mm
    words = f"{length_text(abs(off_mm), unit_system)} {'larger' if off_mm > 0 else 'smaller'} than {nearest.text}"
    return Use(
        use="none",
        text=f"no standard size: {words}",
        standard=nearest.standard,
        diameter_mm=nearest.diameter_mm,
        off_mm=off_mm,
        fastener=nearest.fastener,
        prov=nearest.prov,
        src=nearest.src,
    )
