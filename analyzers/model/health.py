"""What is wrong with a model as a model, whatever the shop: which defects, where, and what they cost.

A defect's `term` is the name of the criterion in ISO 10303-59 (quality of product shape data) that it offends, as the
entities of ISO 10303-242 are called; None where that standard has none, as for text and for what kind of model it is.
"""

from dataclasses import dataclass
from typing import Final, Literal

from analyzers.model.arrays import Vec

Level = Literal["note", "doubt"]
"""`note`: read over, nothing is lost. `doubt`: something may be missing or wrong."""

Verdict = Literal["sound", "doubtful", "unusable"]
Contents = Literal["solid", "solids", "assembly", "surfaces", "mesh", "wireframe", "nothing"]

PLACES_MOST: Final = 20
"""Places told of one defect; its count says how many there are."""

_VOLUME: Final = ("volume_mm3", "centroid_mm")
_WALLS: Final = ("min_wall_mm", "min_floor_mm", "min_web_mm", "walls")
_EVERYTHING: Final = (*_VOLUME, "area_mm2", "size_mm", "features", "measures", "walls", "triage")


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of defect: its short name for people, its term in ISO 10303-59, and what can no longer be trusted."""

    title: str
    level: Level
    term: str | None = None
    doubted: tuple[str, ...] = ()


KINDS: Final[dict[str, Kind]] = {
    # the file
    "not_step": Kind("no STEP file", "doubt", None, _EVERYTHING),
    "refused": Kind("refused", "doubt", None, _EVERYTHING),
    "truncated": Kind("file cut off", "doubt", "erroneous_data", _EVERYTHING),
    "unparsable": Kind("text cannot be parsed", "doubt", "erroneous_data", _EVERYTHING),
    "not_analysed": Kind("analysis did not end", "doubt", None, _EVERYTHING),
    "text_encoding": Kind("odd text encoding", "note"),
    "odd_blanks": Kind("blanks that STEP does not know", "note"),
    "long_string": Kind("overlong name", "doubt", "wrong_element_name"),
    "odd_name": Kind("odd name", "note", "wrong_element_name"),
    "deep_nesting": Kind("brackets nested too deeply", "note", "overcomplex_geometry"),
    "unused_entities": Kind("unused entities", "note", "unused_shape_element"),
    "unknown_schema": Kind("unknown STEP schema", "note"),
    "entity_twice": Kind("entity number given twice", "doubt", "erroneous_data", _EVERYTHING),
    "entity_missing": Kind("entity missing", "doubt", "inconsistent_element_reference", _EVERYTHING),
    "entity_malformed": Kind("malformed entity", "doubt", "erroneous_data", _EVERYTHING),
    "annotations_unreadable": Kind("unreadable annotations", "doubt", None, ("tolerances",)),
    # its unit and size
    "no_unit": Kind("no length unit", "doubt", "non_agreed_unit_usage", _EVERYTHING),
    "suspect_unit": Kind("probably the wrong unit", "doubt", "non_agreed_unit_usage", _EVERYTHING),
    "suspect_size": Kind("unlikely size", "doubt", "non_agreed_scale_usage", _EVERYTHING),
    # what it holds
    "empty": Kind("no geometry", "doubt", None, _EVERYTHING),
    "wireframe_only": Kind("wireframe, no surfaces", "doubt", None, _EVERYTHING),
    "surface_only": Kind("surfaces, no solid", "doubt", "free_edge", (*_VOLUME, *_WALLS)),
    "loose_geometry": Kind("geometry outside any solid", "doubt", "disconnected_face_set"),
    "mesh_only": Kind("mesh, no true surfaces", "doubt", "overcomplex_geometry", ("features", "measures")),
    "overlapping_bodies": Kind("bodies share room", "doubt", "partly_overlapping_solids"),
    "inside_out_in_file": Kind("inside out in the file", "note", "inconsistent_face_and_closed_shell_normals"),
    "turned_face_in_file": Kind("face turned round in the file", "note", "inconsistent_adjacent_face_normals"),
    "mended_faces": Kind("mended while it was read", "doubt", "erroneous_topology", (*_VOLUME, "area_mm2", "features")),
    "too_many_skins": Kind("more skins than are looked at", "doubt", "disconnected_face_set"),
    "unreadable_body": Kind("body without usable geometry", "doubt", "erroneous_geometry", _EVERYTHING),
    # one body
    "open_shell": Kind("open shell", "doubt", "open_closed_shell", (*_VOLUME, *_WALLS)),
    "inside_out": Kind(
        "inside out", "doubt", "inconsistent_face_and_closed_shell_normals", (*_VOLUME, *_WALLS, "features")
    ),
    "self_intersection": Kind("faces cross", "doubt", "self_intersecting_shell", (*_VOLUME, *_WALLS)),
    "crossing_outline": Kind("outline crosses itself", "doubt", "self_intersecting_loop", (*_VOLUME, "area_mm2")),
    "crossing_outlines": Kind("outlines of a face cross", "doubt", "intersecting_loops_in_face", ("area_mm2",)),
    "open_outline": Kind("outline not closed", "doubt", "open_edge_loop", (*_VOLUME, "area_mm2")),
    "turned_face": Kind("face turned round", "doubt", "inconsistent_adjacent_face_normals", (*_VOLUME, *_WALLS)),
    "gap": Kind("gap", "doubt", "geometric_gap_in_topology", ("min_wall_mm", "min_gap_mm")),
    "edge_off_surface": Kind("edge off its surface", "doubt", "gap_between_edge_and_base_surface", ("area_mm2",)),
    "corner_off_edge": Kind("corner off its edge", "doubt", "gap_between_vertex_and_edge"),
    "shared_edge": Kind("edge of more than two faces", "doubt", "non_manifold_at_edge", (*_VOLUME, *_WALLS)),
    "invalid_geometry": Kind("geometry does not pass the check", "doubt", "erroneous_geometry", (*_VOLUME, *_WALLS)),
    "unmeshed_face": Kind("face without triangles", "doubt", "erroneous_geometry", _WALLS),
    "tiny_edge": Kind("tiny edges", "doubt", "short_length_edge", ("sharp_internal_corners",)),
    "sliver_face": Kind("sliver faces", "doubt", "entirely_narrow_face", ("min_wall_mm", "min_gap_mm", "features")),
    "duplicate_face": Kind("face there twice", "doubt", "multiply_defined_faces", ("area_mm2", *_VOLUME, *_WALLS)),
    "zero_thickness": Kind("no thickness", "doubt", "entirely_narrow_solid", _WALLS),
}
"""Every kind by its code, which other programs may rely on."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a defect is: a point, and the faces beside it."""

    point_mm: Vec
    faces: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Defect:
    """One defect, all its places together. `body`: its id; None = the whole file."""

    code: str  # of KINDS
    message: str  # one sentence in shop words
    count: int = 1
    places: tuple[Place, ...] = ()
    body: str | None = None

    @property
    def kind(self) -> Kind:
        """What holds for all of its kind."""
        return KINDS[self.code]


@dataclass(frozen=True, slots=True, kw_only=True)
class Repair:
    """Something that was changed before anything was measured, and by how much; None = there is no such number."""

    what: str  # one sentence
    body: str | None = None
    volume_before_mm3: float | None = None
    volume_after_mm3: float | None = None
    largest_deviation_mm: float | None = None
    asked: bool = False  # by the settings; what is not is the reader's own doing
    refused: str | None = None  # why what was tried does not count; the numbers after are of what was tried
    area_before_mm2: float | None = None
    area_after_mm2: float | None = None
    faces_before: int | None = None
    faces_after: int | None = None
    edges_before: int | None = None
    edges_after: int | None = None
    tolerance_mm: float | None = None  # up to which gaps were closed
    deviation_measured: str | None = None  # how the largest deviation was found
    doubted: tuple[str, ...] = ()  # what can no longer be trusted for it, by the names of the report

    @property
    def made(self) -> bool:
        """Whether the numbers of the report are of what came out of it."""
        return self.refused is None


@dataclass(frozen=True, slots=True, kw_only=True)
class Health:
    """The diagnosis of one file."""

    contents: Contents
    defects: tuple[Defect, ...] = ()
    repairs: tuple[Repair, ...] = ()
    usable: bool = True  # at least one body could be looked at

    @property
    def verdict(self) -> Verdict:
        """Whether the numbers of the report can be relied on as far as the model goes."""
        if not self.usable:
            return "unusable"
        return "doubtful" if any(each.kind.level == "doubt" for each in self.defects) else "sound"

    @property
    def repaired(self) -> bool:
        """Whether the numbers are of a model that was repaired because the settings ask for it."""
        return any(each.asked and each.made for each in self.repairs)

    @property
    def doubted(self) -> tuple[str, ...]:
        """What can no longer be trusted, by the names of the report, in their order there."""
        names = [name for each in self.defects for name in each.kind.doubted]
        names += [name for each in self.repairs if each.made for name in each.doubted]
        return tuple(dict.fromkeys(names))
