"""Loads a STEP file (AP203, AP214, AP242) and lists its solids: names, colours, how often each occurs.

A file of surfaces alone gives the bodies that these make when they are joined (`skins`).

Reading goes through the XDE reader so that names, colours and assemblies survive. Lengths become millimetres
whatever unit the file is in.
"""

import logging
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Final

from OCP.BRep import BRep_Builder
from OCP.BRepTools import BRepTools_ReShape
from OCP.collections import Sequence_TCollection_AsciiString, Sequence_TDF_Label
from OCP.DE import DE_ShapeFixParameters
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.Message import Message
from OCP.Quantity import Quantity_Color, Quantity_TypeOfColor
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_AsciiString, TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Compound, TopoDS_Shape, TopoDS_Solid
from OCP.XCAFDoc import XCAFDoc_ColorTool, XCAFDoc_ColorType, XCAFDoc_DocumentTool, XCAFDoc_ShapeTool

from analyzers.errors import KernelFailure, UnreadableFile
from analyzers.kernel.explore import distinct, explored, mapped
from analyzers.kernel.header import Header, read_header
from analyzers.kernel.overlaps import overlapping
from analyzers.kernel.repair import NOT_REPAIRED, repaired
from analyzers.kernel.senses import outer_faces, places_on, turned_faces
from analyzers.kernel.skins import Skin, body_of, sewn, shell_of, signed_volume_mm3
from analyzers.kernel.text_faults import text_faults
from analyzers.kernel.tolerances import read_tolerances
from analyzers.model.health import Contents, Defect, Repair
from analyzers.model.source import Problem, Source
from analyzers.model.tolerance_note import ToleranceNote

log = logging.getLogger(__name__)

_SKINS_MOST = 20  # of a file of surfaces; more are wires of text or a drawing's hatching rather than parts
_UNIT_WORDS = {"millimetre": "mm", "centimetre": "cm", "metre": "m", "inch": "inch", "foot": "foot", "mil": "mil"}


@dataclass(frozen=True, slots=True)
class LoadedSolid:
    """One distinct solid, placed where it first occurs; of a file without solids an open or a sewn body.

    `colour`: red, green, blue in 0..1 as written (sRGB).
    """

    name: str
    shape: TopoDS_Solid
    count: int
    colour: tuple[float, float, float] | None
    label: TDF_Label  # of the shape in the document that it belongs to
    unplaced: TopoDS_Solid  # as it stands there
    tolerances: tuple[ToleranceNote, ...] = ()
    defects: tuple[Defect, ...] = ()  # of this one
    repairs: tuple[Repair, ...] = ()  # what was done to it before anything is measured


@dataclass(frozen=True, slots=True)
class LoadedFile:
    """What a file holds. `defects` names everything in it that is not a closed solid; of the file, as `repairs`."""

    source: Source
    solids: tuple[LoadedSolid, ...]
    contents: Contents
    defects: tuple[Defect, ...]
    repairs: tuple[Repair, ...]
    document: TDocStd_Document  # all of it, for writing it again

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What may be missing or wrong, of the defects."""
        return tuple(Problem("load", each.message) for each in self.defects if each.kind.level == "doubt")


def load(path: Path, *, repair: bool = False) -> LoadedFile:
    """Read and transfer a file; repair the bodies that are not sound where that is asked for.

    Raises
    ------
    UnreadableFile : not a STEP file, cut off, or without any shape; names what was found and what was expected
    KernelFailure : OpenCascade raised while reading
    """
    header = read_header(path)
    defects = list(header.defects)
    try:
        document, reader, unit = _transfer(path, header)
        defects.extend(text_faults(reader))
    except (UnreadableFile, KernelFailure):
        raise
    except Exception as error:  # OpenCascade's exception classes share no importable base
        raise KernelFailure(f"{path.name}: OpenCascade failed while reading: {error}") from error
    if unit is None:
        text = "the file names no length unit: millimetres are assumed; please confirm"
        defects.append(Defect(code="no_unit", message=text))
    tools = _Tools(document)
    solids = tuple(_count_instances(tools))
    if header.annotated:
        solids, lost = _with_tolerances(reader, solids)
        defects.extend(lost)
    if sum(each.count for each in solids) > 1:
        defects.extend(_overlaps(tools))
    contents, loose = _contents(tools, header)
    defects.extend(loose)
    repairs: tuple[Repair, ...] = ()
    if solids and not loose and (mended := _mended(header, solids)):
        defects.append(Defect(code="mended_faces", message=mended))
        repairs = (Repair(what=mended),)
    turned = turned_faces(reader, [each.unplaced for each in solids], header.senses)
    solids = tuple(_with_turned(*each) for each in zip(solids, turned, strict=True))
    if repair:
        solids = tuple(_repaired(tools, each) for each in solids)
    if not solids:
        solids, sewing = _skins(tools, _product_name(tools) or header.name or "", repair)
        defects.extend(sewing)
    if not solids and not any(each.kind.level == "doubt" for each in defects):
        raise UnreadableFile(f"{path.name}: found no shape in the file; expected at least one solid", "empty")
    source = Source(
        file_name=path.name,
        sha256=header.sha256,
        size_bytes=header.size_bytes,
        step_schema=header.step_schema,
        length_unit=unit,
        originating_system=header.originating_system,
        product_name=_product_name(tools) or header.name,
        time_stamp=header.time_stamp,
    )
    return LoadedFile(source, solids, contents, tuple(defects), repairs, document)


class _Tools:
    """The XDE document with its shape and colour tools."""

    def __init__(self, document: TDocStd_Document) -> None:
        self.document = document
        self.shapes: XCAFDoc_ShapeTool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
        self.colours: XCAFDoc_ColorTool = XCAFDoc_DocumentTool.ColorTool_s(document.Main())

    @cached_property
    def roots(self) -> list[TDF_Label]:
        """What the file itself holds; found once, before anything is added."""
        labels = Sequence_TDF_Label()
        self.shapes.GetFreeShapes(labels)
        return [labels.Value(i) for i in range(1, labels.Length() + 1)]

    def assembly(self) -> bool:
        return any(XCAFDoc_ShapeTool.IsAssembly_s(root) for root in self.roots)

    @cached_property
    def everything(self) -> TopoDS_Compound:
        """All shapes of the file."""
        whole, builder = TopoDS_Compound(), BRep_Builder()
        builder.MakeCompound(whole)
        for root in self.roots:
            builder.Add(whole, XCAFDoc_ShapeTool.GetShape_s(root))
        return whole


def _transfer(path: Path, header: Header) -> tuple[TDocStd_Document, STEPCAFControl_Reader, str | None]:
    """Return the filled document, the reader that knows what became of each entity, and the file's length unit."""
    messages = Message.DefaultMessenger_s()
    messages.ChangePrinters().Clear()
    reader = STEPCAFControl_Reader()
    reader.SetNameMode(True)
    reader.SetColorMode(True)
    reader.SetGDTMode(False)
    status = _read(reader, path, header)
    if status != IFSelect_ReturnStatus.IFSelect_RetDone:
        ending = "" if header.complete else f"; the file is cut off at line {header.n_lines + 1}"
        raise UnreadableFile(
            f"{path.name}: the STEP text cannot be parsed{ending}; expected ISO 10303-21 to its end",
            "unparsable" if header.complete else "truncated",
        )
    if header.long_boundary:
        _leave_out_crossings(reader)
    unit = _length_unit(reader)
    document = TDocStd_Document(TCollection_ExtendedString("part"))
    if not reader.Transfer(document):
        raise UnreadableFile(
            f"{path.name}: found no shape that could be transferred; expected at least one solid", "empty"
        )
    return document, reader, unit


def _read(reader: STEPCAFControl_Reader, path: Path, header: Header) -> IFSelect_ReturnStatus:
    """Let the reader parse the file, or the text that was made plain for it."""
    if header.plain is None:
        return reader.ReadFile(str(path))
    with tempfile.NamedTemporaryFile(suffix=".step") as copy:
        copy.write(header.plain)
        copy.flush()
        return reader.ReadFile(copy.name)


def _leave_out_crossings(reader: STEPCAFControl_Reader) -> None:
    """Let the reader mend all that it mends but edges of one face that cross without being neighbours.

    That search is cubic in the edges of a loop: a comb of 2,000 faces loads in 1.7 s without it, in 19 s with it. And
    each loop is held against each other one: a plate of 2,000 holes loads in 1.8 s without both, in 14 s with them.
    """
    reader.SetShapeFixParameters(DE_ShapeFixParameters())  # the defaults, known once the file has been read
    mending = reader.GetShapeFixParameters()
    for mode in ("FixNonAdjacentIntersectingEdgesMode", "FixIntersectingWiresMode"):
        crossings = TCollection_AsciiString(f"FixShape.{mode}")
        mending.UnBind(crossings)
        mending.Bind(crossings, TCollection_AsciiString("0"))
    reader.SetShapeFixParameters(mending)


def _with_tolerances(
    reader: STEPCAFControl_Reader, solids: tuple[LoadedSolid, ...]
) -> tuple[tuple[LoadedSolid, ...], tuple[Defect, ...]]:
    """Return the solids with their semantic annotations, or as they were and a defect where those are unreadable."""
    try:
        notes = read_tolerances(reader, [each.shape for each in solids])
    except Exception as error:  # OpenCascade's exception classes share no importable base
        log.exception("semantic annotations could not be read")
        message = f"the model's own dimensions and tolerances could not be read: {error}"
        return solids, (Defect(code="annotations_unreadable", message=message),)
    return tuple(replace(each, tolerances=mine) for each, mine in zip(solids, notes, strict=True)), ()


def _length_unit(reader: STEPCAFControl_Reader) -> str | None:
    """Return the unit of the file's first shape representation."""
    lengths, angles, solid_angles = (Sequence_TCollection_AsciiString() for _ in range(3))
    reader.ChangeReader().FileUnits(lengths, angles, solid_angles)
    if lengths.Length() == 0:
        return None
    word = str(lengths.Value(1).ToCString()).strip().lower()
    return _UNIT_WORDS.get(word, word) or None


def _name_of(label: TDF_Label) -> str:
    name = TDataStd_Name()
    if not label.FindAttribute(TDataStd_Name.GetID_s(), name):
        return ""
    return str(name.Get().ToExtString()).strip()


def _product_name(tools: _Tools) -> str | None:
    return next((name for name in map(_name_of, tools.roots) if name), None)


def _leaves(label: TDF_Label, place: TopLoc_Location, name: str) -> Iterator[tuple[TDF_Label, TopLoc_Location, str]]:
    """Yield each simple shape of the assembly under `label` with its placement and its name."""
    target = TDF_Label()
    if XCAFDoc_ShapeTool.IsReference_s(label) and XCAFDoc_ShapeTool.GetReferredShape_s(label, target):
        here = place.Multiplied(XCAFDoc_ShapeTool.GetLocation_s(label))
        yield from _leaves(target, here, _name_of(target) or _name_of(label) or name)
        return
    if XCAFDoc_ShapeTool.IsAssembly_s(label):
        parts = Sequence_TDF_Label()
        XCAFDoc_ShapeTool.GetComponents_s(label, parts)
        for i in range(1, parts.Length() + 1):
            yield from _leaves(parts.Value(i), place, name)
        return
    yield label, place, _name_of(label) or name


def _count_instances(tools: _Tools) -> Iterator[LoadedSolid]:
    """Yield each solid once with the number of its placements (same geometry node in the file)."""
    found: list[LoadedSolid] = []
    for root in tools.roots:
        for label, place, name in _leaves(root, TopLoc_Location(), _name_of(root)):
            shape = XCAFDoc_ShapeTool.GetShape_s(label)
            for solid in explored(shape, TopAbs_ShapeEnum.TopAbs_SOLID):
                twin = next((i for i, other in enumerate(found) if other.unplaced.IsPartner(solid)), None)
                if twin is not None:
                    found[twin] = replace(found[twin], count=found[twin].count + 1)
                    continue
                placed, unplaced = TopoDS.Solid(solid.Moved(place)), TopoDS.Solid(solid)
                found.append(LoadedSolid(name, placed, 1, _colour(tools, label, solid), label, unplaced))
    yield from found


def _overlaps(tools: _Tools) -> Iterator[Defect]:
    """Yield a defect where bodies share room and it has to be asked which of them is meant.

    Parts of an assembly overlap by custom: screws in their threads, pins in their fits.
    """
    if tools.assembly():
        return
    names, placed = [], []
    for root in tools.roots:
        for label, place, name in _leaves(root, TopLoc_Location(), _name_of(root)):
            for solid in explored(XCAFDoc_ShapeTool.GetShape_s(label), TopAbs_ShapeEnum.TopAbs_SOLID):
                names.append(name or "unnamed")
                placed.append(TopoDS.Solid(solid.Moved(place)))
    try:
        pairs = list(overlapping(placed))
    except Exception as error:  # OpenCascade's exception classes share no importable base
        log.exception("overlaps could not be looked for")
        text = f"whether bodies overlap could not be found out: {error}"
        yield Defect(code="overlapping_bodies", message=text)
        return
    if pairs:
        first, second = pairs[0]
        more = f" (and {_n(len(pairs) - 1, 'more pair')})" if len(pairs) > 1 else ""
        yield Defect(
            code="overlapping_bodies",
            message=f"bodies {first + 1} ({names[first]}) and {second + 1} ({names[second]}) of the file overlap{more}:"
            " they are looked at one by one; please say what is meant",
            count=len(pairs),
        )


def _colour(tools: _Tools, label: TDF_Label, solid: TopoDS_Shape) -> tuple[float, float, float] | None:
    """Return red, green and blue in 0..1 as the file writes them; None where it writes none."""
    colour = Quantity_Color()
    for kind in (XCAFDoc_ColorType.XCAFDoc_ColorSurf, XCAFDoc_ColorType.XCAFDoc_ColorGen):
        if tools.colours.GetColor(solid, kind, colour) or XCAFDoc_ColorTool.GetColor_s(label, kind, colour):
            red, green, blue = colour.Values(Quantity_TypeOfColor.Quantity_TOC_sRGB)
            return (red, green, blue)
    return None


def _contents(tools: _Tools, header: Header) -> tuple[Contents, tuple[Defect, ...]]:
    """Return what kind of model it is, and a defect for faces and edges that belong to no solid."""
    kinds = TopAbs_ShapeEnum
    everything = tools.everything
    solids = _count(explored(everything, kinds.TopAbs_SOLID))
    shells = _count(explored(everything, kinds.TopAbs_SHELL, kinds.TopAbs_SOLID))
    faces = _count(explored(everything, kinds.TopAbs_FACE, kinds.TopAbs_SHELL))
    edges = _count(explored(everything, kinds.TopAbs_EDGE, kinds.TopAbs_FACE))
    expected = "expected closed solids"
    code = "loose_geometry" if solids else "surface_only"
    found = []
    if shells:
        text = f"found {_n(shells, 'open shell')} outside any solid (surfaces, no volume); {expected}"
        found.append(Defect(code=code, message=text, count=shells))
    if faces:
        text = f"found {_n(faces, 'loose face')} outside any solid (surfaces, no volume); {expected}"
        found.append(Defect(code=code, message=text, count=faces))
    if edges:
        code = "loose_geometry" if solids or shells or faces else "wireframe_only"
        text = f"found {_n(edges, 'loose edge')} outside any face (wireframe); {expected}"
        found.append(Defect(code=code, message=text, count=edges))
    if not (solids or shells or faces or edges):
        text = f"found no geometry in {header.size_bytes} bytes of STEP text; {expected}"
        found.append(Defect(code="empty", message=text))
    if solids:
        kind: Contents = "assembly" if tools.assembly() else "solid" if solids == 1 else "solids"
    else:
        kind = "surfaces" if shells or faces else "wireframe" if edges else "nothing"
    return kind, tuple(found)


def _mended(header: Header, solids: tuple[LoadedSolid, ...]) -> str | None:
    """Return what the reader made of faces that were not as they should be; None where it left all as they were.

    It splits a face whose outline crosses itself and drops one that it cannot make; by how much that changes the volume
    cannot be told, for there was none before.
    """
    kept = sum(mapped(each.unplaced, TopAbs_ShapeEnum.TopAbs_FACE).Size() for each in solids)
    if kept == header.n_faces:
        return None
    return f"the file has {_n(header.n_faces, 'face')}, and {kept} were left when the reader had mended what it could"


def _with_turned(solid: LoadedSolid, turned: Sequence[int]) -> LoadedSolid:
    """Return a solid with what the reader turned round of it: all of its outer shell, or some faces."""
    if not turned:
        return solid
    faces = distinct(solid.shape, TopAbs_ShapeEnum.TopAbs_FACE)
    whole = len(turned) == len(outer_faces(solid.unplaced))
    code, text = ("inside_out_in_file", _INSIDE_OUT) if whole else ("turned_face_in_file", _TURNED)
    places = () if whole else tuple(places_on([(number, TopoDS.Face(faces[number])) for number in turned]))
    as_written = [each.Reversed() if number in turned else each for number, each in enumerate(faces)]
    done = Repair(
        what=_TURNED_ROUND
        if whole
        else f"{_n(len(turned), 'face')} {'was' if len(turned) == 1 else 'were'} turned round",
        volume_before_mm3=signed_volume_mm3(shell_of(map(TopoDS.Face, as_written))),
        volume_after_mm3=signed_volume_mm3(solid.shape),
        largest_deviation_mm=0.0,
    )
    defect = Defect(code=code, message=text, count=1 if whole else len(turned), places=places)
    return replace(solid, defects=(*solid.defects, defect), repairs=(*solid.repairs, done))


_INSIDE_OUT: Final = "in the file all faces look into the material; the solid was turned round when it was read"
_TURNED: Final = "in the file faces look to another side than their neighbours; they were turned round when it was read"
_TURNED_ROUND: Final = "the solid was turned round"


def _repaired(tools: _Tools, solid: LoadedSolid) -> LoadedSolid:
    """Return a solid repaired, in the document too, or as it was; with what was done or refused."""
    shape, done = _try_repair(solid.unplaced)
    if done is None:
        return solid
    repairs = (*solid.repairs, done)
    if not done.made:
        return replace(solid, repairs=repairs)
    place = solid.shape.Location().Multiplied(solid.unplaced.Location().Inverted())
    context = BRepTools_ReShape()
    context.Replace(solid.unplaced, shape)
    tools.shapes.SetShape(solid.label, context.Apply(XCAFDoc_ShapeTool.GetShape_s(solid.label)))
    return replace(solid, shape=TopoDS.Solid(shape.Moved(place)), unplaced=shape, repairs=repairs)


def _try_repair(solid: TopoDS_Solid) -> tuple[TopoDS_Solid, Repair | None]:
    """Return what `repaired` does, or the body itself and a refusal where OpenCascade raised."""
    try:
        return repaired(solid)
    except Exception as error:  # OpenCascade's exception classes share no importable base
        log.exception("a body could not be repaired")
        return solid, Repair(what=NOT_REPAIRED, asked=True, refused=f"OpenCascade gave up on it: {error}")


def _skins(tools: _Tools, name: str, repair: bool) -> tuple[tuple[LoadedSolid, ...], tuple[Defect, ...]]:
    """Return the bodies that the loose faces of a file without solids make, with the sewing, and what to think of them.

    Where a repair is asked for and some stay open, all faces together are tried first.
    """
    try:
        skins = sewn(tools.everything)
        if repair and skins and not all(each.closed for each in skins):
            skins = _closed_by_repair(tools.everything, skins)
    except Exception as error:  # OpenCascade's exception classes share no importable base
        log.exception("loose faces could not be sewn")
        return (), (Defect(code="surface_only", message=f"the loose faces could not be joined to bodies: {error}"),)
    closed, opened = ([each for each in skins if each.closed is state] for state in (True, False))
    said = []
    if closed:
        count = "a solid" if len(closed) == 1 else f"{len(closed)} solids"
        text = f"the loose faces meet and bound {count}, which is analysed; please confirm that it is meant"
        said.append(Defect(code="surface_only", message=text, count=len(closed)))
    if opened:
        count = "an open body" if len(opened) == 1 else f"{len(opened)} open bodies"
        text = (
            f"the loose faces are analysed as {count}: features are found, but there is no volume, walls end at the "
            "gaps, and on which side the material lies is a guess"
        )
        said.append(Defect(code="surface_only", message=text, count=len(opened)))
    kept = sorted(skins, key=lambda each: -each.area_mm2)[:_SKINS_MOST]
    if len(kept) < len(skins):
        text = f"of {len(skins)} separate skins only the {len(kept)} largest are analysed"
        said.append(Defect(code="too_many_skins", message=text, count=len(skins)))
    labels = [tools.shapes.AddShape(each.body if each.closed else each.shell, False) for each in kept]
    bodies = zip(kept, labels, strict=True)
    solids = tuple(
        LoadedSolid(name, each.body, 1, None, label, each.body, repairs=each.repairs) for each, label in bodies
    )
    return solids, tuple(said)


def _closed_by_repair(everything: TopoDS_Compound, skins: list[Skin]) -> list[Skin]:
    """Return the one body that a repair makes of all faces, or the skins with the reason why there is none."""
    faces = map(TopoDS.Face, explored(everything, TopAbs_ShapeEnum.TopAbs_FACE))
    body, done = _try_repair(body_of(shell_of(faces)))
    if done is None or not done.made:
        return [replace(each, repairs=(*each.repairs, done) if done else each.repairs) for each in skins]
    (shell,) = explored(body, TopAbs_ShapeEnum.TopAbs_SHELL)
    return [Skin(body, TopoDS.Shell(shell), True, done.area_after_mm2 or 0.0, (done,))]


def _count(parts: Iterable[TopoDS_Shape]) -> int:
    return sum(1 for _ in parts)


def _n(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"
