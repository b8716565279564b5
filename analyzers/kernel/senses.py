"""Faces that look to another side than the file says: the reader has turned them round.

OpenCascade turns a closed shell whose faces look into the material, and single faces that look to another side than
their neighbours, without a word. The file's own word is the `same_sense` of each face (ISO 10303-42, face_surface).
Shells of voids are not judged: exporters differ in how they write them.

What was turned is found in two steps: the senses that the text lists for each shell are held against those of the solid
in the same order, which costs 1 % of loading; only where they differ is each face asked what became of it, which costs
3 %.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from typing import Final

from OCP.BRepClass3d import BRepClass3d
from OCP.collections import IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher
from OCP.IntTools import IntTools_Context
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.STEPConstruct import STEPConstruct
from OCP.StepShape import StepShape_FaceSurface
from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Face, TopoDS_Shape, TopoDS_Solid

from analyzers.kernel.explore import distinct, mapped, point_inside
from analyzers.model.health import PLACES_MOST, Place

_FACE: Final = re.compile(rb"(?:ADVANCED_FACE|FACE_SURFACE)[^;]*\.([TF])\.\s*\)\s*;")
_SHELL: Final = re.compile(rb"CLOSED_SHELL\s*\(([^;]*);")
"""Both begin with fixed letters, for which a search jumps: a quarter of the time of patterns that begin with #."""
_NUMBER: Final = re.compile(rb"#(\d+)")
_LETTER: Final = {TopAbs_Orientation.TopAbs_FORWARD: ord("T"), TopAbs_Orientation.TopAbs_REVERSED: ord("F")}


def written_senses(data: bytes) -> Counter[bytes]:
    """Return for each closed shell that is no void T or F for each of its faces, in its order; ? = none is written.

    Examples
    --------
    >>> two = b"#1=ADVANCED_FACE('',(#7),#8,.T.);#2=ADVANCED_FACE('',(#9),#8,.F.);"
    >>> written_senses(two + b"#3=CLOSED_SHELL('',(#2,#1));")
    Counter({b'FT': 1})
    """
    sense = {_number_before(data, found.start()): found[1] for found in _FACE.finditer(data)}
    return Counter(
        b"".join(sense.get(number, b"?") for number in _NUMBER.findall(found[1]))
        for found in _SHELL.finditer(data)
        if not data.endswith(b"ORIENTED_", 0, found.start())
    )


def turned_faces(
    reader: STEPCAFControl_Reader, solids: Sequence[TopoDS_Solid], written: Counter[bytes]
) -> list[list[int]]:
    """Return of each solid the faces of its outer shell that the reader has turned, by their place in its order."""
    outer = [outer_faces(each) for each in solids]
    now = Counter(bytes([_LETTER[face.Orientation()] for face in faces]) for faces in outer)
    if now <= written:
        return [[] for _ in solids]
    known, senses = _entities(reader)
    return [
        [
            mapped(solid, TopAbs_ShapeEnum.TopAbs_FACE).FindIndex(face) - 1
            for face in faces
            if (number := known.FindIndex(_unplaced(face))) and senses[number - 1] == _reversed(face)
        ]
        for solid, faces in zip(solids, outer, strict=True)
    ]


def outer_faces(solid: TopoDS_Solid) -> list[TopoDS_Shape]:
    """Return the faces of a solid's outer shell."""
    one = mapped(solid, TopAbs_ShapeEnum.TopAbs_SHELL).Size() == 1
    return distinct(solid if one else BRepClass3d.OuterShell_s(solid), TopAbs_ShapeEnum.TopAbs_FACE)


def places_on(faces: Iterable[tuple[int, TopoDS_Face]]) -> Iterator[Place]:
    """Yield a point inside each of some numbered faces, of very many only of the first."""
    context = IntTools_Context()
    for number, face in islice(faces, PLACES_MOST):
        if (point := point_inside(face, context)) is not None:
            yield Place(point.Coord(), (number,))


def _entities(reader: STEPCAFControl_Reader) -> tuple[IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher, list[bool]]:
    """Return what became of the file's faces, counted from 1, and the `same_sense` of each."""
    process = reader.Reader().WS().TransferReader().TransientProcess()
    known = IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher()
    senses: list[bool] = []
    for number in range(1, process.NbMapped() + 1):
        entity = process.Mapped(number)
        if not isinstance(entity, StepShape_FaceSurface):
            continue
        shape = STEPConstruct.FindShape_s(process, entity)
        if not shape.IsNull() and known.Add(_unplaced(shape)) > len(senses):
            senses.append(bool(entity.SameSense()))
    return known, senses


def _number_before(data: bytes, place: int) -> bytes:
    """Return the number of the entity whose keyword begins there."""
    return data[data.rfind(b"#", 0, place) + 1 : place].rstrip(b" =\t\r\n")


def _reversed(face: TopoDS_Shape) -> bool:
    return bool(face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED)


def _unplaced(shape: TopoDS_Shape) -> TopoDS_Shape:
    return shape.Located(TopLoc_Location())
