"""The drawing sheet: line views with callouts of holes and thin places, each at the view that shows it truly."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import hypot
from typing import Final

import numpy as np

from analyzers.model.arrays import Vec
from analyzers.model.drawing import View
from analyzers.model.inch_text import inch_callout, inch_number
from analyzers.model.report import Body
from analyzers.report.callouts import spread, uncrossed
from analyzers.report.german import in_german
from analyzers.report.line_art import LineArt, line_art, order
from analyzers.report.pictures import Picture, spot
from analyzers.report.quantity import mm_number
from analyzers.report.tables import FeatureRow
from analyzers.report.text import clean
from analyzers.tolerance import PARALLEL_COS

WIDTH: Final = 460
HEIGHT: Final = 345
MARGIN: Final = 170
"""Width added on both sides for the texts, in pixels."""
LINE: Final = 19
"""From one line of text to the next."""
LETTERS: Final = 14
"""In a line of a callout, about: the margin has room for them behind the row's letter."""
MOST: Final = 12
"""Callouts in one view; what does not fit is in the hole chart all the same."""
THIN: Final = 3
ONE_PLACE: Final = 8
"""Places as near as this, in pixels, of which the same is said bear one callout: two leaders to one dot say nothing."""
_SIGNS: Final = {"⌴": "⊔", "⌵": "∨"}
"""Counterbore and countersink (ISO 129-1), in letters that fonts have."""


@dataclass(frozen=True, slots=True)
class Note:
    """A callout: lines of text in both units, and the leader from the text to the place."""

    tag: str
    mm: tuple[str, ...]
    inch: tuple[str, ...]
    href: str
    x: float
    y: float
    label_x: float
    label_y: float
    anchor: str  # start | end
    hidden: bool
    point_mm: Vec


@dataclass(frozen=True, slots=True)
class SheetView:
    """One view of the sheet."""

    name: str
    art: LineArt
    notes: tuple[Note, ...]
    alt: str
    alt_german: str

    @property
    def width(self) -> int:
        """Width of the drawing area with the margins that carry texts."""
        return self.art.width + 2 * MARGIN


@dataclass(frozen=True, slots=True)
class _Wanted:
    tag: str
    mm: tuple[str, ...]
    inch: tuple[str, ...]
    href: str
    places: tuple[tuple[Vec, tuple[int, ...]], ...]  # equal ones: point and faces of each


def sheet(body: Body, holes: Sequence[FeatureRow], main: Picture) -> Iterable[SheetView]:
    """Yield the views with their callouts.

    Parameters
    ----------
    holes : rows of the hole chart, whose letters the callouts bear
    main : the picture of the isometric view, which knows what is hidden in it
    """
    _, views = order(body.drawings)
    for drawing in views:
        art = line_art(drawing, WIDTH, HEIGHT)
        isometric = drawing.view.name == main.view.name
        wanted = [*_holes(body, holes, drawing.view, isometric), *_thin(body, drawing.view, isometric)]
        notes = tuple(_noted(art, wanted[:MOST], main if isometric else None))
        name, view = clean(body.facts.part.name) or body.id, drawing.view.name
        alts = f"{name}, line drawing: {view}", f"{name}, Strichzeichnung: {in_german(view) or view}"
        yield SheetView(view, art, notes, *alts)


def _holes(body: Body, rows: Sequence[FeatureRow], view: View, isometric: bool) -> Iterable[_Wanted]:
    """Yield the holes that open towards the eye, in a standard view straight towards it."""
    features = {each.id: each for each in body.facts.features}
    least = 0.1 if isometric else PARALLEL_COS
    for row in rows:
        same = [features[each] for each in row.features]
        shown = [each for each in same if np.dot(each.direction, view.out) > least or _from_behind(each, view, least)]
        if shown:
            first = same[0].callout()
            count = f"{len(shown)}× " if len(shown) > 1 else ""
            mm, inch = (_lines(f"{count}{text}") for text in (first, inch_callout(first)))
            places = tuple((each.position_mm, each.faces) for each in shown)
            yield _Wanted(row.tag, mm, inch, f"#{body.id}-holes", places)


def _from_behind(hole: object, view: View, least: float) -> bool:
    """Return whether a through hole that is cut from the other side shows its end here."""
    direction = getattr(hole, "direction", (0.0, 0.0, 0.0))
    return bool(getattr(hole, "through", False)) and least > 0.5 and float(np.dot(direction, view.out)) < -least


def _thin(body: Body, view: View, isometric: bool) -> Iterable[_Wanted]:
    """Yield the thinnest places, in the isometric view and in the one that shows the wall edge-on."""
    for number, wall in enumerate(body.facts.walls[:THIN], start=1):
        if isometric or view.name == _edge_on(body, wall.faces):
            mm, inch = (mm_number(wall.thickness_mm),), (inch_number(wall.thickness_mm),)
            yield _Wanted(f"T{number}", mm, inch, f"#{body.id}-thin", ((wall.point_mm, wall.faces),))


def _edge_on(body: Body, faces: tuple[int, ...]) -> str:
    """Return the name of the standard view in which the wall between these faces is seen edge-on."""
    normal = body.facts.part.face_normal[faces[0]] if faces else np.zeros(3)
    _, views = order(body.drawings)
    return (
        min(views[:-1], key=lambda each: abs(round(float(np.dot(normal, each.view.out)), 3))).view.name
        if views[:-1]
        else ""
    )


def _lines(callout: str) -> tuple[str, ...]:
    """Return a callout as the lines of a note: each counterbore, countersink or long rest begins one."""
    for sign, letter in _SIGNS.items():
        callout = callout.replace(f" {sign}", f"\n{letter}").replace(sign, letter)
    return tuple(line for each in callout.split("\n") for line in _wrapped(each.split(", ")))


def _wrapped(parts: Sequence[str]) -> Iterable[str]:
    """Yield the parts of a list, as many in a line as the margin has room for."""
    line = parts[0]
    for part in parts[1:]:
        if len(line) + len(part) > LETTERS:
            yield f"{line},"
            line = part
        else:
            line = f"{line}, {part}"
    yield line


def _noted(art: LineArt, wanted: Sequence[_Wanted], picture: Picture | None) -> Iterable[Note]:
    """Yield the notes with their leaders, texts in the margin that is nearer to the place."""
    sides: dict[bool, list[tuple[_Wanted, Vec, float, float, bool]]] = {False: [], True: []}
    for each in wanted:
        point, x, y, hidden = min(
            (_where(art, picture, point, faces) for point, faces in each.places),
            key=lambda at: (at[3], min(at[1], art.width - at[1])),
        )
        column = sides[x > art.width / 2]
        for row, (other, *_, other_x, other_y, _) in enumerate(column):
            if (other.href, other.mm) == (each.href, each.mm) and hypot(x - other_x, y - other_y) < ONE_PLACE:
                column[row] = (replace(other, tag=f"{other.tag}, {each.tag}"), *column[row][1:])
                break
        else:
            column.append((each, point, x, y, hidden))
    for right, column in sides.items():
        heights = spread(sorted(entry[3] for entry in column), art.height, 2.6 * LINE)
        label_x = art.width + MARGIN + 14.0 if right else MARGIN - 14.0
        places = [(entry[2] + MARGIN, entry[3]) for entry in column]
        order = uncrossed(places, [(label_x, label_y) for label_y in heights])
        for at, label_y in zip(order, heights, strict=True):
            each, point, x, y, hidden = column[at]
            yield Note(
                tag=each.tag,
                mm=each.mm,
                inch=each.inch,
                href=each.href,
                x=x + MARGIN,
                y=y,
                label_x=label_x,
                label_y=label_y,
                anchor="start" if right else "end",
                hidden=hidden,
                point_mm=point,
            )


def _where(art: LineArt, picture: Picture | None, point: Vec, faces: tuple[int, ...]) -> tuple[Vec, float, float, bool]:
    """Return the place to point at, and whether something lies in front of it."""
    found = spot(picture, faces, point) if picture else None
    if found is not None:
        return (found.point_mm, *art.place(found.point_mm), found.hidden)
    return (point, *art.place(point), False)
