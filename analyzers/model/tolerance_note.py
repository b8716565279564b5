"""What the model itself says about sizes, tolerances, datums and threads: its semantic annotations (ISO 10303-242)."""

from dataclasses import dataclass
from typing import Literal

SizeKind = Literal[
    "diameter", "radius", "spherical_diameter", "spherical_radius", "length", "thickness", "curve_length", "angle"
]
GeometricKind = Literal[
    "straightness",
    "flatness",
    "roundness",
    "cylindricity",
    "line_profile",
    "surface_profile",
    "parallelism",
    "perpendicularity",
    "angularity",
    "position",
    "coaxiality",
    "symmetry",
    "circular_runout",
    "total_runout",
]
NoteKind = SizeKind | GeometricKind | Literal["datum", "thread"]

SYMBOLS: dict[str, str] = {
    "diameter": "⌀",
    "radius": "R",
    "spherical_diameter": "S⌀",
    "spherical_radius": "SR",
    "straightness": "⏤",
    "flatness": "⏥",
    "roundness": "○",
    "cylindricity": "⌭",
    "line_profile": "⌒",
    "surface_profile": "⌓",
    "parallelism": "∥",
    "perpendicularity": "⟂",
    "angularity": "∠",
    "position": "⌖",
    "coaxiality": "◎",
    "symmetry": "⌯",
    "circular_runout": "↗",
    "total_runout": "⌰",
}
"""Drawing symbols of ISO 129-1 and ISO 1101; kinds without one are lengths, angles, datums and threads."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToleranceNote:
    """One annotation that the file ties to faces, or to the whole part where it names none.

    Deviations carry their sign as on a drawing: a hole G7 has both above zero. `zone_mm` is the width between the
    limits, or of a geometric tolerance's zone.
    """

    id: str = ""  # "T1", ... within the body
    kind: NoteKind
    nominal_mm: float | None = None
    upper_mm: float | None = None  # deviation from nominal
    lower_mm: float | None = None
    zone_mm: float | None = None
    nominal_deg: float | None = None
    upper_deg: float | None = None
    lower_deg: float | None = None
    fit: str = ""  # tolerance class of ISO 286, for example "H7"
    use: Literal["toleranced", "theoretical", "auxiliary"] = "toleranced"  # theoretically exact; for reference only
    round_zone: bool = False  # the geometric tolerance's zone is a cylinder or circle
    datums: tuple[str, ...] = ()  # referenced ones in their order; a datum: its own letter
    modifiers: tuple[str, ...] = ()  # "Ⓜ", "Ⓛ", ...
    thread: str = ""  # designation, for example "M8×1.25"
    pitch_mm: float | None = None
    faces: tuple[int, ...] = ()
    written: str = ""  # name or text in the file
    why_none: str | None = None  # why it has no number

    def __post_init__(self) -> None:
        numbers = (self.nominal_mm, self.nominal_deg, self.zone_mm, self.upper_mm, self.lower_mm)
        bare = self.kind != "datum" and not self.thread and all(each is None for each in numbers)
        if bare != (self.why_none is not None):
            raise ValueError(f"{self.kind} {self.written!r}: give a number, or say why there is none")

    def callout(self) -> str:
        """Return the drawing text with its symbols, in millimetres and degrees.

        Examples
        --------
        >>> ToleranceNote(kind="diameter", nominal_mm=20.0, upper_mm=0.05, lower_mm=-0.1, zone_mm=0.15).callout()
        '⌀20 +0.05/-0.1'
        >>> ToleranceNote(kind="position", zone_mm=0.75, round_zone=True, datums=("A", "B")).callout()
        '⌖ ⌀0.75 | A | B'
        """
        if self.kind == "datum":
            return f"datum {self.datums[0] if self.datums else '?'}"
        if self.thread:
            return self.thread
        symbol = SYMBOLS.get(self.kind, "")
        if self.kind in _SIZES:
            return self._size(symbol)
        zone = f"{'⌀' if self.round_zone else ''}{_number(self.zone_mm)}{''.join(self.modifiers)}"
        return " | ".join([f"{symbol} {zone}", *self.datums])

    def _size(self, symbol: str) -> str:
        """Return nominal size, fit and deviations; theoretically exact in a frame, for reference in brackets."""
        degrees = self.kind == "angle"
        sign = "°" if degrees else ""
        nominal = f"{symbol}{_number(self.nominal_deg if degrees else self.nominal_mm)}{sign}"
        upper, lower = (self.upper_deg, self.lower_deg) if degrees else (self.upper_mm, self.lower_mm)
        if self.use == "theoretical":
            return f"[{nominal}]"
        if self.use == "auxiliary":
            return f"({nominal})"
        if self.fit:
            return f"{nominal} {self.fit}"
        if upper is None and lower is None:
            return nominal
        if upper is None or lower is None:
            return f"{nominal} {'MIN' if upper is None else 'MAX'}"
        if _number(upper) == _number(-lower):
            return f"{nominal} ±{_number(upper)}{sign}"
        return f"{nominal} {_signed(upper)}{sign}/{_signed(lower)}{sign}"


_SIZES = frozenset(
    ("diameter", "radius", "spherical_diameter", "spherical_radius", "length", "thickness", "curve_length", "angle")
)


def is_size(note: ToleranceNote) -> bool:
    """Return whether a note is a dimension rather than a geometric tolerance, a datum or a thread."""
    return note.kind in _SIZES


def is_limit(note: ToleranceNote) -> bool:
    """Return whether a note limits a size, an angle, a form or a place."""
    bounds = (note.zone_mm, note.upper_mm, note.lower_mm, note.upper_deg, note.lower_deg)
    return note.use == "toleranced" and (bool(note.fit) or any(each is not None for each in bounds))


def is_geometric(note: ToleranceNote) -> bool:
    """Return whether a note is a tolerance of form, orientation, place or run-out (ISO 1101)."""
    return note.kind not in _SIZES and note.kind not in ("datum", "thread")


def _number(value: float | None) -> str:
    return "?" if value is None else f"{round(value, 5) + 0.0:.6g}"


def _signed(value: float) -> str:
    return f"{'+' if _number(value) not in ('0', _number(-abs(value))) else ''}{_number(value)}"
