"""What each face of the model is called and coloured when the model goes back: its feature, and the gravest finding."""

from collections.abc import Iterable
from typing import Final

from analyzers.model.face_mark import FaceMark
from analyzers.model.finding import LEVELS, Level
from analyzers.model.report import Body
from analyzers.report.palette import LOOKS
from analyzers.report.remarks import finding_rows

LEVEL_COLOUR: Final[dict[Level, tuple[int, int, int]]] = {
    "error": (200, 30, 45),
    "warning": (235, 140, 0),
    "note": (60, 120, 200),
}
_MOST_NAMED: Final = 3


def face_marks(body: Body) -> Iterable[FaceMark]:
    """Yield one mark for each face, in the order of the faces: "F3 round_hole; warning 2 hole_near_edge".

    Findings bear the numbers of the report's page. A face with findings has the colour of the gravest, any other that
    of its class.
    """
    owner = {face: each for each in body.facts.features for face in each.faces}
    about: dict[int, list[tuple[Level, int, str]]] = {}
    for row in finding_rows(body):
        for face in row.faces:
            about.setdefault(face, []).append((row.level, row.number, row.places[0].rule))
    for face, face_class in enumerate(body.facts.face_class):
        feature = owner.get(face)
        said = sorted(about.get(face, ()), key=lambda each: (LEVELS.index(each[0]), each[1]))
        name = f"{feature.id} {feature.kind}" if feature else face_class
        parts = [name, *(f"{level} {number} {rule}" for level, number, rule in said[:_MOST_NAMED])]
        yield FaceMark("; ".join(parts), LEVEL_COLOUR[said[0][0]] if said else LOOKS[face_class].colour)
