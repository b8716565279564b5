"""The comparison as one HTML file: both revisions seen alike, what differs marked and numbered in both."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from markupsafe import Markup

from analyzers.compare.as_text import one_sided
from analyzers.compare.changes import BodyComparison, Comparison
from analyzers.compare.motion import only_trimmed
from analyzers.compare.words import Line, headline, lines
from analyzers.model.arrays import Vec, vec
from analyzers.model.drawing import View
from analyzers.model.feature import FaceClass
from analyzers.model.report import Body, Report
from analyzers.report.as_html import asset, environment, policy
from analyzers.report.cautions import CAUTIONS
from analyzers.report.pictures import Picture, draw, spot
from analyzers.report.text import clean
from analyzers.report.views import best_corner

_WIDTH, _HEIGHT = 720, 540
_ASIDE: Final = 26.0  # pixels from a place to its number, each way
_SAME: Final[FaceClass] = "outer"
_OTHER: Final[FaceClass] = "pocket"  # the picture's colour and hatching for faces that have no equal


@dataclass(frozen=True, slots=True)
class Mark:
    """The number of a difference at its place in a picture, pixels."""

    number: int
    x: float
    y: float
    hidden: bool

    @property
    def label_x(self) -> float:
        """Where the number stands: beside the place, so that a small hole stays in sight."""
        return min(self.x + _ASIDE, _WIDTH - _ASIDE)

    @property
    def label_y(self) -> float:
        """Its height."""
        return max(self.y - _ASIDE, _ASIDE)


@dataclass(frozen=True, slots=True)
class Side:
    """One picture of one revision."""

    name: str
    picture: Picture
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class BodyPage:
    """What the page shows of one pair of bodies."""

    title: str
    relation: str
    views: tuple[tuple[Side, Side], ...]
    rows: tuple[Line, ...]
    texts: tuple[tuple[str, str], ...]
    same_features: int


def to_html(comparison: Comparison, old: Report, new: Report) -> str:
    """Return the page as text; the reports are those that were compared, for their meshes."""
    style = asset("style.css") + asset("comparison.css")
    return (
        environment()
        .get_template("comparison.html.j2")
        .render(
            title=f"{clean(comparison.old.file_name)} → {clean(comparison.new.file_name)}",
            headline=headline(comparison),
            comparison=comparison,
            bodies=[_body(each, _named(old, each.old), _named(new, each.new)) for each in comparison.bodies],
            cautions=CAUTIONS,
            style=Markup(style),  # noqa: S704  # our own file
            policy=policy((style,), ()),
        )
    )


def _named(report: Report, body_id: str) -> Body:
    return next(each for each in report.bodies if each.id == body_id)


def _body(found: BodyComparison, old: Body, new: Body) -> BodyPage:
    rows = tuple(lines(found))
    corner = best_corner(new.facts)
    return BodyPage(
        title=f"{clean(old.facts.part.name) or old.id} → {clean(new.facts.part.name) or new.id}",
        relation=found.relation,
        views=tuple(_pair(found, rows, old, new, view) for view in (corner, _opposite(corner))),
        rows=rows,
        texts=tuple((sign, clean(text, 600)) for sign, text in one_sided(found)),
        same_features=found.same_features,
    )


def _opposite(view: View) -> View:
    """Return the view from the other side, the same side of the part up."""
    return replace(view, name="From the other side", right=_negated(view.right), out=_negated(view.out))


def _negated(vector: Vec) -> Vec:
    return vec(-np.array(vector))


def _pair(found: BodyComparison, rows: tuple[Line, ...], old: Body, new: Body, view: View) -> tuple[Side, Side]:
    """Return both revisions seen alike, the old one from where the new one's view lies on it."""
    turn = np.array(found.move.turn)
    if found.relation == "mirrored":
        turn = np.eye(3)  # seen in a mirror the two would look the same
    right, up, out = (vec(turn.T @ np.array(axis)) for axis in (view.right, view.up, view.out))
    before, after = _differing(found, old, new)
    return (
        _side("Old", old, View(view.name, right, up, out), before, [row.old for row in rows]),
        _side("New", new, view, after, [row.new for row in rows]),
    )


def _differing(found: BodyComparison, old: Body, new: Body) -> tuple[set[int], set[int]]:
    """Return the faces of both to be marked: those of differing features, and others that lie elsewhere now.

    A face that only has another outline because a hole in it was moved is not marked.
    """
    turn, shift = np.array(found.move.turn), np.array(found.move.shift_mm)
    here, there = old.facts.part, new.facts.part
    sides = (
        (
            old,
            found.old_faces,
            {each.old for each in found.changed} | {each.id for each in found.removed},
            only_trimmed(here, there, np.array(found.old_faces, dtype=np.int64), turn, shift),
        ),
        (
            new,
            found.new_faces,
            {each.new for each in found.changed} | {each.id for each in found.added},
            only_trimmed(there, here, np.array(found.new_faces, dtype=np.int64), turn.T, -turn.T @ shift),
        ),
    )
    marked = []
    for body, faces, ids, trimmed in sides:
        own = {face for feature in body.facts.features if feature.id in ids for face in feature.faces}
        elsewhere = {face for face, outline in zip(faces, trimmed.tolist(), strict=True) if not outline}
        marked.append(own | elsewhere)
    return marked[0], marked[1]


def _side(name: str, body: Body, view: View, faces: Iterable[int], features: list[str | None]) -> Side:
    other = set(faces)
    tinted = tuple(_OTHER if face in other else _SAME for face in range(body.facts.part.n_faces))
    picture = draw(replace(body.facts, face_class=tinted), view, _WIDTH, _HEIGHT)
    marks = []
    for number, feature_id in enumerate(features, start=1):
        if feature_id is None:
            continue
        feature = body.facts.feature(feature_id)
        place = spot(picture, feature.faces, feature.position_mm)
        if place is not None:
            marks.append(Mark(number, place.x, place.y, place.hidden))
    return Side(name, picture, tuple(marks))
