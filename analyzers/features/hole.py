"""Round holes: plain, counterbored, countersunk, stepped (ISO 10303-224 `round_hole`, `counterbore_hole`)."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, ClassVar, Literal

from analyzers.features._bore_ends import end_on_axis, full_diameter_end, normal_at, rim_of
from analyzers.features._bores import Bore, Length, find_bores, is_broken_edge, is_point
from analyzers.features._view import View
from analyzers.model.arrays import vec
from analyzers.model.feature import FaceClass, Feature, Thread, mm_text
from analyzers.model.part import Surface
from analyzers.tolerance import SAME_PLACE_MM, SMOOTH_DEG

RANK = 20

_FLAT_SHARE = 0.5  # of the radius; the web of a twist drill, the only flat of its point, is a fifth of it

Bottom = Literal["through", "flat", "conical", "spherical", "into_void"]
Entry = Literal["flat", "inclined", "curved"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """One length of a hole, counted from the entry down."""

    shape: Literal["cylinder", "cone"]
    diameter_mm: float  # cone: at its wide end
    depth_mm: float  # along the axis
    end_diameter_mm: float  # cone: at its narrow end; cylinder: equal to diameter_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole(Feature):
    """What all round holes have. `direction` points out of the entry; `position_mm` is the axis at the entry."""

    face_class: ClassVar[FaceClass] = "hole"

    diameter_mm: float  # the drilled (smallest) diameter
    depth_mm: float | None  # of the full drilled diameter, from the part's surface, without the drill point
    through: bool
    bottom: Bottom
    point_angle_deg: float | None = None  # included angle of a conical bottom
    depth_ratio: float | None = None  # depth_mm / diameter_mm
    entry: Entry = "flat"
    entry_angle_deg: float = 0.0  # between the axis and the entry face's normal
    segments: tuple[Segment, ...] = ()
    floor_thickness_mm: float | None = None  # left below a blind one, from its tip; None = through, or not measured
    modelled_thread: Thread | None = None  # where one is modelled

    def _depth_text(self) -> str:
        """Return THRU or the depth with its symbol."""
        if self.through:
            return "THRU"
        return "" if self.depth_mm is None else f"↧{mm_text(self.depth_mm)}"

    def callout(self) -> str:
        """Return for example "⌀6.6 THRU", "⌀5 ↧12" or "⌀6.65 THRU M8×1.25 ↧12" (ASME Y14.5 and ISO 6410-1 symbols)."""
        thread = "" if self.modelled_thread is None else f" {self.modelled_thread.callout()}"
        return f"{self._form_text()}{thread}"

    def _form_text(self) -> str:
        """Return the sizes without a thread."""
        return f"⌀{mm_text(self.diameter_mm)} {self._depth_text()}".strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundHole(Hole):
    """A hole of one diameter, with or without a drill point."""

    kind: ClassVar[str] = "round_hole"


@dataclass(frozen=True, slots=True, kw_only=True)
class CounterboreHole(Hole):
    """A drilled hole with a wider flat-bottomed bore at its entry; a shallow one is a spotface."""

    kind: ClassVar[str] = "counterbore_hole"

    counterbore_diameter_mm: float
    counterbore_depth_mm: float

    def _form_text(self) -> str:
        """Return for example "⌀6.6 THRU ⌴⌀11 ↧6.4"."""
        bore = f"⌴⌀{mm_text(self.counterbore_diameter_mm)} ↧{mm_text(self.counterbore_depth_mm)}"
        return f"⌀{mm_text(self.diameter_mm)} {self._depth_text()} {bore}".replace("  ", " ")


@dataclass(frozen=True, slots=True, kw_only=True)
class CountersunkHole(Hole):
    """A drilled hole with a conical entry."""

    kind: ClassVar[str] = "countersunk_hole"

    countersink_diameter_mm: float
    countersink_angle_deg: float

    def _form_text(self) -> str:
        """Return for example "⌀4.5 THRU ⌵⌀9 × 90°"."""
        sink = f"⌵⌀{mm_text(self.countersink_diameter_mm)} × {self.countersink_angle_deg:.4g}°"
        return f"⌀{mm_text(self.diameter_mm)} {self._depth_text()} {sink}".replace("  ", " ")


@dataclass(frozen=True, slots=True, kw_only=True)
class SteppedHole(Hole):
    """A hole of several diameters that is neither a plain counterbore nor a plain countersink."""

    kind: ClassVar[str] = "stepped_hole"

    def _form_text(self) -> str:
        """Return each length from the entry down, for example "⌀12 ↧5, ⌀8 ↧20"."""
        return ", ".join(f"⌀{mm_text(s.diameter_mm)} ↧{mm_text(s.depth_mm)}" for s in self.segments)


def propose(view: View) -> Iterator[Hole]:
    """Yield every bore that one or more drills can make from one side, whatever cuts across it."""
    for bore in find_bores(view):
        for whole in _without_ring_grooves(bore):
            hole = _hole(view, whole)
            if hole is not None:
                yield hole


def _without_ring_grooves(bore: Bore) -> Iterator[Bore]:
    """Yield the bore without lengths that are wider than both their neighbours: those are grooves turned inside it."""
    lengths = bore.lengths
    groove = [
        0 < i < len(lengths) - 1
        and not each.cone
        and each.radius > lengths[i - 1].radius + SAME_PLACE_MM
        and each.radius > lengths[i + 1].radius + SAME_PLACE_MM
        for i, each in enumerate(lengths)
    ]
    if not any(groove):
        yield bore
        return
    kept = [each for each, out in zip(lengths, groove, strict=True) if not out]
    yield Bore(bore.origin, bore.axis, kept, [], bore.low_bottom, bore.high_bottom)


def _hole(view: View, bore: Bore) -> Hole | None:
    """Return the bore as a hole; None where both ends are closed, so no drill gets in."""
    low_closed, high_closed = _closed(bore, bore.lengths[0], low=True), _closed(bore, bore.lengths[-1], low=False)
    if low_closed and high_closed:
        return None
    from_high = low_closed or (not high_closed and _prefer_high(view, bore))
    lengths = _from_entry(bore, from_high)
    mouth = _mouth(view, bore, from_high)
    tip = lengths[-1] if is_point(lengths, from_high) else None
    body = [each for each in lengths if each is not tip]
    if not body:
        return None
    edge = body[0] if len(body) > 1 and is_broken_edge(body[0], body[1], from_high) else None
    exit_edge = (
        body[-1] if len(body) > 1 and tip is None and is_broken_edge(body[-1], body[-2], not from_high) else None
    )
    body = [each for each in body if each is not edge and each is not exit_edge]
    direction = bore.axis if from_high else -bore.axis
    closed = low_closed or high_closed
    bottom = _bottom_word(view, bore, tip, closed, from_high)
    top = end_on_axis(view, bore, lengths[0], from_high)
    if closed or tip is not None:
        end = _place(body[-1], from_high, first=False)
        if tip is not None:
            end = full_diameter_end(tip, body[-1], end, from_high)
    else:
        end = end_on_axis(view, bore, lengths[-1], not from_high)
    segments = tuple(_segment(each, from_high) for each in body)
    if segments[0].shape == "cylinder" and len(segments) > 1 and body[0] is lengths[0]:
        seat = _place(body[0], from_high, first=False)  # on a slanted face the wall is higher on one side
        segments = (replace(segments[0], depth_mm=abs(top - seat)), *segments[1:])
    dropped = {face for each in (edge, exit_edge) if each is not None for face in each.faces}
    narrow = min(segments, key=lambda s: (s.end_diameter_mm, s.diameter_mm)).end_diameter_mm
    depth = abs(top - end)
    shared = {
        "faces": tuple(face for face in bore.faces if face not in dropped),
        "direction": vec(direction),
        "position_mm": vec(bore.origin + top * bore.axis),
        "diameter_mm": narrow,
        "depth_mm": depth,
        "through": bottom == "through",
        "bottom": bottom,
        "point_angle_deg": None if tip is None or bottom == "flat" else _cone_angle_deg(tip),
        "depth_ratio": depth / narrow,
        "entry": mouth[0],
        "entry_angle_deg": mouth[1],
        "segments": segments,
        "modelled_thread": next((each.thread for each in body if each.thread is not None), None),
    }
    return _named(shared, segments)


def _named(shared: dict[str, Any], segments: tuple[Segment, ...]) -> Hole:
    """Return the plainest kind of hole that the segments, from the entry down, amount to."""
    if len(segments) == 1 and segments[0].shape == "cylinder":
        return RoundHole(**shared, why="one hollow cylinder of more than half a turn, open to a drill")
    if len(segments) == 2 and segments[1].shape == "cylinder":
        first, second = segments
        if first.shape == "cylinder" and first.diameter_mm > second.diameter_mm:
            return CounterboreHole(
                **shared,
                counterbore_diameter_mm=first.diameter_mm,
                counterbore_depth_mm=first.depth_mm,
                why="a wide flat-bottomed bore and a narrow one on one axis",
            )
        if first.shape == "cone" and abs(first.end_diameter_mm - second.diameter_mm) <= 2 * SAME_PLACE_MM:
            half = math.degrees(math.atan2(first.diameter_mm - first.end_diameter_mm, 2 * first.depth_mm))
            return CountersunkHole(
                **shared,
                countersink_diameter_mm=first.diameter_mm,
                countersink_angle_deg=2 * half,
                why="a conical entry that narrows to the drilled diameter",
            )
    return SteppedHole(**shared, why=f"{len(segments)} lengths of different diameter or taper on one axis")


def _closed(bore: Bore, last: Length, low: bool) -> bool:
    """Return whether one end of the bore is closed by a bottom, a floor that it shares, or a drill point."""
    if (bore.low_bottom if low else bore.high_bottom) is not None or (bore.low_shared if low else bore.high_shared):
        return True
    end_radius = last.low_radius if low else last.high_radius
    return last.cone and end_radius <= SAME_PLACE_MM


def _prefer_high(view: View, bore: Bore) -> bool:
    """Return which open end is the entry, so that it does not depend on how the part lies.

    The wider one, then one that opens to the outside, then the one that a drill meets more squarely, then the one from
    which more of the part is cut away: farther from its centre of mass, then from that of its surface.
    """
    low, high = bore.lengths[0], bore.lengths[-1]
    if abs(low.low_radius - high.high_radius) > SAME_PLACE_MM:
        return high.high_radius > low.low_radius
    outside = [_opens_outside(view, bore, length, sign) for length, sign in ((low, -1.0), (high, 1.0))]
    if outside[0] != outside[1]:
        return outside[1]
    tilt = [_mouth(view, bore, from_high)[1] for from_high in (False, True)]
    if abs(tilt[0] - tilt[1]) > SMOOTH_DEG:
        return tilt[1] < tilt[0]
    ends = [end_on_axis(view, bore, length, up) for length, up in ((low, False), (high, True))]
    for centre in view.centres_mm:
        along = float((centre - bore.origin) @ bore.axis)
        lean = (ends[1] - along) - (along - ends[0])
        if abs(lean) > SAME_PLACE_MM:
            return lean > 0
    lead = max(bore.axis.tolist(), key=lambda v: round(abs(v), 6))  # the ends are alike: any answer is right
    return bool(lead > 0)


def _opens_outside(view: View, bore: Bore, length: Length, sign: float) -> bool:
    """Return whether one end opens to something else than another bore."""
    part = view.part
    rim = rim_of(view, length, bore.axis, sign)
    into_bore = [part.face_surface[f] == Surface.CYLINDER and bool(part.face_concave[f]) for f in rim]
    return not into_bore or not all(into_bore)


def _from_entry(bore: Bore, from_high: bool) -> list[Length]:
    return bore.lengths[::-1] if from_high else list(bore.lengths)


def _place(length: Length, from_high: bool, first: bool) -> float:
    """Return where on the axis a length begins (first) or ends, seen from the entry."""
    return length.high if from_high == first else length.low


def _segment(length: Length, from_high: bool) -> Segment:
    start, end = (length.high_radius, length.low_radius) if from_high else (length.low_radius, length.high_radius)
    wide, narrow = max(start, end), min(start, end)
    return Segment(
        shape="cone" if length.cone else "cylinder",
        diameter_mm=2 * wide,
        end_diameter_mm=2 * narrow,
        depth_mm=length.high - length.low,
    )


def _cone_angle_deg(length: Length) -> float:
    return 2 * math.degrees(math.atan2(abs(length.high_radius - length.low_radius), length.high - length.low))


def _bottom_word(view: View, bore: Bore, tip: Length | None, closed: bool, from_high: bool) -> Bottom:
    if tip is not None and closed:
        return "flat" if _blunt(tip) else "conical"
    if closed:
        face = bore.low_bottom if from_high else bore.high_bottom
        return "flat" if face is None or view.part.face_surface[face] == Surface.PLANE else "spherical"
    last, sign = (bore.lengths[0], -1.0) if from_high else (bore.lengths[-1], 1.0)
    return "through" if _opens_outside(view, bore, last, sign) else "into_void"


def _blunt(tip: Length) -> bool:
    """Return whether a cone at the bottom leaves most of it flat: a chamfer or a drawn corner, not a drill's point."""
    return min(tip.low_radius, tip.high_radius) > _FLAT_SHARE * tip.radius


def _mouth(view: View, bore: Bore, from_high: bool) -> tuple[Entry, float]:
    """Return the form of the entry face and the angle between its normal and the axis in degrees."""
    part = view.part
    first, sign = (bore.lengths[-1], 1.0) if from_high else (bore.lengths[0], -1.0)
    rim = rim_of(view, first, bore.axis, sign)
    planes = [f for f in rim if part.face_surface[f] == Surface.PLANE]
    if rim and not planes and not all(part.face_surface[f] == Surface.CONE for f in rim):
        return "curved", _curved_entry_deg(view, bore, first, rim, from_high)
    angles = [float(part.face_axis[f] @ bore.axis) * sign for f in planes]
    facing = [math.degrees(math.acos(max(-1.0, min(1.0, a)))) for a in angles if a > 0.05]
    tilt = min(facing, default=0.0)
    return ("inclined", tilt) if tilt > SMOOTH_DEG else ("flat", 0.0)


def _curved_entry_deg(view: View, bore: Bore, first: Length, rim: list[int], from_high: bool) -> float:
    """Return the angle between the axis and the normal of a round entry face where the axis passes it, in degrees."""
    place = bore.origin + end_on_axis(view, bore, first, from_high) * bore.axis
    normal = normal_at(view, rim[0], place)
    lean = abs(float(normal @ bore.axis))
    return math.degrees(math.acos(min(1.0, lean))) if math.isfinite(lean) else 0.0
