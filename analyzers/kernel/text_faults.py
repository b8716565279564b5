"""What OpenCascade's parser could not make sense of in the text, as far as it is about the shape."""

import re
from collections.abc import Iterator
from typing import Any, Final

from OCP.STEPCAFControl import STEPCAFControl_Reader

from analyzers.model.health import Defect

_TWICE: Final = re.compile(r"SEVERAL TIMES : (#\d+)")
_NOWHERE: Final = re.compile(r"Unresolved Reference.*\(Id\.(#\d+)\)")
_SHAPE: Final = re.compile(
    r"StepGeom_|StepShape_(?:\w*Shell|\w*Face\w*|\w*Loop|OrientedEdge|EdgeCurve|VertexPoint|\w*Brep\w*)$"
)
"""Kinds of entities whose faults can change the shape; faulty colours, views and names are the exporter's affair."""

_NAMELESS: Final = re.compile(r"\((?:\w+\.)?name\) not a quoted String")
"""A name that was left out: some exporters write $ for it, and nothing of the shape hangs on it."""


def text_faults(reader: STEPCAFControl_Reader) -> Iterator[Defect]:
    """Yield a defect for entity numbers given twice, references that lead nowhere and malformed shape entities."""
    model = reader.Reader().WS().Model()
    everywhere = model.GlobalCheck(True)
    said = [str(everywhere.CFail(i)) for i in range(1, everywhere.NbFails() + 1)]
    twice = [found[1] for each in said if (found := _TWICE.search(each))]
    if twice:
        several = "given to several entities"
        yield _defect("entity_twice", twice, f"is {several}", f"are {several}", "which one is meant is open")
    nowhere = [found[1] for each in said if (found := _NOWHERE.search(each))]
    if nowhere:
        missing = "referred to and not in the file"
        yield _defect("entity_missing", nowhere, f"is {missing}", f"are {missing}", _MISSING)
    malformed = [_kind(each) for each in _failed(model)]
    if malformed:
        what = (
            f"one {malformed[0]} is" if len(malformed) == 1 else f"{len(malformed)} entities ({malformed[0]}, ...) are"
        )
        text = f"{what} not as ISO 10303 defines them: {_MISSING}"
        yield Defect(code="entity_malformed", message=text, count=len(malformed))


_MISSING: Final = "something of the shape may be missing or wrong"


def _defect(code: str, ids: list[str], one: str, many: str, means: str) -> Defect:
    what = f"the entity {ids[0]} {one}" if len(ids) == 1 else f"{len(ids)} entities (first {ids[0]}) {many}"
    return Defect(code=code, message=f"{what}: {means}", count=len(ids))


def _failed(model: Any) -> Iterator[Any]:
    """Yield the shape's entities that the parser could not read in full."""
    reports = model.Reports()  # of the few entities that something is said about
    reports.Start()
    while reports.More():
        entity, check = reports.Value().Concerned(), reports.Value().Check()
        fails = [str(check.CFail(i)) for i in range(1, check.NbFails() + 1)]
        if fails and _SHAPE.match(_type(entity)) and not all(map(_NAMELESS.search, fails)):
            yield entity
        reports.Next()


def _type(entity: Any) -> str:
    return str(entity.DynamicType().Name())


def _kind(entity: Any) -> str:
    """Return for example "closed shell"."""
    return re.sub(r"(?<!^)(?=[A-Z])", " ", _type(entity).partition("_")[2]).lower()
