"""The diagnosis of a model: the defects that its file has, and those of each body, with places and shop words."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from analyzers.model.arrays import Bools, Floats, Ints, vec
from analyzers.model.feature import mm_text
from analyzers.model.health import PLACES_MOST, Contents, Defect, Health, Place, Repair
from analyzers.model.part import Curve, Part
from analyzers.model.report import Body
from analyzers.report.text import plural
from analyzers.rules.sliver_faces import face_width_mm
from analyzers.tolerance import GAP_MM, SAME_PLACE_MM, SLIVER_MM

_OF_RULES: Final = {"suspect_size": "suspect_size", "suspect_units": "suspect_unit", "faceted_mesh": "mesh_only"}
"""Findings that are about the model as such, and the kind of defect that each is."""

_FAULTS: Final = {
    "crossing_outline": "the outline of a face crosses itself",
    "crossing_outlines": "outlines of a face cross or lie wrongly in one another",
    "open_outline": "the outline of a face is not closed",
    "turned_face": "faces look to different sides of the shell",
    "edge_off_surface": "edges lie off the surfaces that they bound",
    "corner_off_edge": "corners lie off the edges that end there",
    "shared_edge": "an edge has more than two faces",
    "duplicate_face": "a face is in the shell more than once",
    "self_intersection": "shells of the body cross or enclose one another wrongly",
    "open_shell": "the shell is not closed",
    "invalid_geometry": "the geometry does not pass the kernel's check",
}


REPAIRED: Final = "The numbers are of a repaired model, not of the model as it was sent."


def diagnose(
    contents: Contents, defects: Sequence[Defect], repairs: Sequence[Repair], bodies: Sequence[Body]
) -> Health:
    """Return the diagnosis of a file.

    Parameters
    ----------
    contents, defects, repairs : what loading found
    bodies : those that could be looked at
    """
    own = [defect for body in bodies for defect in _of_body(body)]
    meshes = {each.body for each in own if each.code == "mesh_only"}
    if bodies and len(meshes) == len(bodies):
        contents = "mesh"
    return Health(contents=contents, defects=(*defects, *own), repairs=tuple(repairs), usable=bool(bodies))


def unusable(code: str, message: str) -> Health:
    """Return the diagnosis of a file of which nothing could be looked at."""
    return Health(contents="nothing", defects=(Defect(code=code, message=message),), usable=False)


def health_document(health: Health) -> dict[str, Any]:
    """Return the diagnosis as the document carries it; lengths mm, volumes mm³."""
    return {
        "verdict": health.verdict,
        "contents": health.contents,
        "headline": headline(health),
        "doubted": list(health.doubted),
        "defects": [
            {
                "code": each.code,
                "title": each.kind.title,
                "iso_10303_59": each.kind.term,
                "level": each.kind.level,
                "body": each.body,
                "message": each.message,
                "count": each.count,
                "places": [
                    {"point_mm": [round(v, 6) for v in place.point_mm], "faces": list(place.faces)}
                    for place in each.places
                    if np.isfinite(place.point_mm).all()
                ],
                "doubted": list(each.kind.doubted),
            }
            for each in health.defects
        ],
        "repairs": [
            {
                "what": each.what,
                "body": each.body,
                "volume_before_mm3": _rounded(each.volume_before_mm3),
                "volume_after_mm3": _rounded(each.volume_after_mm3),
                "largest_deviation_mm": _rounded(each.largest_deviation_mm),
                "asked": each.asked,
                "refused": each.refused,
                "area_before_mm2": _rounded(each.area_before_mm2),
                "area_after_mm2": _rounded(each.area_after_mm2),
                "faces_before": each.faces_before,
                "faces_after": each.faces_after,
                "edges_before": each.edges_before,
                "edges_after": each.edges_after,
                "tolerance_mm": _rounded(each.tolerance_mm),
                "deviation_measured": each.deviation_measured,
                "doubted": list(each.doubted),
            }
            for each in health.repairs
        ],
        "repaired": health.repaired,
    }


def headline(health: Health) -> str | None:
    """Return what stands at the top of a report on doubtful or repaired geometry; None where there is no such thing."""
    said = [REPAIRED] if health.repaired else []
    if any(not each.made for each in health.repairs):
        said.append("A repair was refused.")
    if health.verdict == "doubtful":
        titles = dict.fromkeys(each.kind.title for each in health.defects if each.kind.level == "doubt")
        said.append(f"Doubtful geometry: {', '.join(titles)}.")
    return " ".join(said) or None


def _rounded(value: float | None) -> float | None:
    return None if value is None or not np.isfinite(value) else round(value, 9)


def _of_body(body: Body) -> Iterator[Defect]:
    """Yield what is wrong with one body."""
    part = body.facts.part
    found = (
        *_open(part), *_inside_out(part), *_faults(part), *_gaps(part), *_tiny(part), *_slivers(part),
        *_doubles(part), *_unmeshed(part), *_no_thickness(body),
    )  # fmt: skip
    yield from (replace(each, body=body.id) for each in found)
    for finding in body.findings:
        if code := _OF_RULES.get(finding.rule):
            yield Defect(code=code, message=finding.message, body=body.id)


def _open(part: Part) -> Iterator[Defect]:
    free = (part.edge_faces < 0).any(axis=1) & (part.edge_curve != Curve.DEGENERATE)
    if part.closed or not free.any():
        return
    edges = np.flatnonzero(free)
    group = _connected(part.edge_vertices[edges], len(part.vertex_mm))
    length = part.edge_length_mm[edges]
    around = np.bincount(group, length)
    order = np.argsort(-around)
    places = [
        Place(vec(part.edge_mid_mm[edges[group == each]].mean(axis=0)), _beside(part, edges[group == each]))
        for each in order[:PLACES_MOST].tolist()
    ]
    text = (
        f"the shell is open: {plural(len(order), 'gap')}, {mm_text(round(float(length.sum()), 1))} mm of edges with a "
        f"face on one side only, the largest {mm_text(round(float(around.max()), 1))} mm around"
    )
    yield Defect(code="open_shell", message=text, count=len(order), places=tuple(places))


def _connected(pairs: Ints, n: int) -> Ints:
    """Return (E,) the number of the group of edges that hang together which each of some edges belongs to."""
    ends = pairs[:, 0].clip(0), pairs[:, 1].clip(0)
    graph = coo_array((np.ones(len(pairs)), ends), shape=(max(n, 1), max(n, 1)))
    _, label = connected_components(graph, directed=False)
    _, group = np.unique(label[ends[0]], return_inverse=True)
    return np.asarray(group, dtype=np.int64)


def _inside_out(part: Part) -> Iterator[Defect]:
    if part.closed and part.volume_mm3 < 0:
        text = f"the solid is inside out: its faces look into the material, its volume is {part.volume_mm3:.6g} mm³"
        yield Defect(code="inside_out", message=text)


def _faults(part: Part) -> Iterator[Defect]:
    """Yield what the kernel's check found, one defect for each kind of it."""
    for code in dict.fromkeys(each.code for each in part.faults):
        faces = [each.face for each in part.faults if each.code == code and each.face is not None]
        if code == "open_shell" and not part.closed:
            continue  # its gaps are told with their places
        yield Defect(code=code, message=_FAULTS[code], count=max(len(faces), 1), places=_at_faces(part, faces))


def _gaps(part: Part) -> Iterator[Defect]:
    if part.gap_mm > GAP_MM:
        text = f"faces, edges and corners that should meet miss one another by up to {part.gap_mm:.2g} mm"
        yield Defect(code="gap", message=text)


def _tiny(part: Part) -> Iterator[Defect]:
    edges = np.flatnonzero((part.edge_length_mm < SLIVER_MM) & (part.edge_curve != Curve.DEGENERATE))
    if len(edges):
        places = tuple(
            Place(vec(part.edge_mid_mm[edge]), _beside(part, np.array([edge]))) for edge in edges[:PLACES_MOST].tolist()
        )
        least = float(part.edge_length_mm[edges].min())
        text = f"{plural(len(edges), 'edge')} shorter than {SLIVER_MM:g} mm, the shortest {least:.2g} mm"
        yield Defect(code="tiny_edge", message=text, count=len(edges), places=places)


def _slivers(part: Part) -> Iterator[Defect]:
    width = face_width_mm(part)
    faces = np.flatnonzero(width < SLIVER_MM).tolist()
    if faces:
        text = f"{plural(len(faces), 'face')} narrower than {SLIVER_MM:g} mm, the narrowest {np.nanmin(width):.2g} mm"
        yield Defect(code="sliver_face", message=text, count=len(faces), places=_at_faces(part, faces))


def _doubles(part: Part) -> Iterator[Defect]:
    """Yield a defect for faces that lie on one another: same kind, area, middle and box."""
    key = np.column_stack([part.face_area_mm2, part.face_centroid_mm, part.face_surface])
    known = np.flatnonzero(np.isfinite(key).all(axis=1))
    order = known[np.lexsort(np.round(key[known, :4] / SAME_PLACE_MM).T)]  # by middle and area: doubles come together
    same = (np.abs(np.diff(key[order], axis=0)) <= SAME_PLACE_MM).all(axis=1)
    same &= part.face_area_mm2[order[1:]] > SLIVER_MM**2
    pairs = np.column_stack([order[:-1], order[1:]])[same].tolist()
    twice = [second for first, second in pairs if np.abs(_box(part, first) - _box(part, second)).max() <= SAME_PLACE_MM]
    if twice:
        text = f"{plural(len(twice), 'face')} in the same place as another"
        yield Defect(code="duplicate_face", message=text, count=len(twice), places=_at_faces(part, twice))


def _box(part: Part, face: int) -> Floats:
    """Return (2, 3) lowest and highest mesh point of a face; nan for one without triangles."""
    points = part.mesh.point_mm[part.mesh.triangle[part.mesh.triangle_face == face]].reshape(-1, 3)
    return np.array([points.min(axis=0), points.max(axis=0)]) if len(points) else np.full((2, 3), np.nan)


def _unmeshed(part: Part) -> Iterator[Defect]:
    bare: Bools = ~np.isin(np.arange(part.n_faces), part.mesh.triangle_face)
    if bare.any():
        faces = np.flatnonzero(bare).tolist()
        text = f"{plural(len(faces), 'face')} of {part.n_faces} could not be triangulated: nothing is measured there"
        yield Defect(code="unmeshed_face", message=text, count=len(faces), places=_at_faces(part, faces))


def _no_thickness(body: Body) -> Iterator[Defect]:
    none = [each for each in body.facts.walls if each.thickness_mm < SAME_PLACE_MM]
    if none and body.facts.part.diagonal_mm > SLIVER_MM:
        places = tuple(Place(each.point_mm, each.faces) for each in none[:PLACES_MOST])
        text = f"nothing is left between two faces in {plural(len(none), 'place')}: the wall there has no thickness"
        yield Defect(code="zero_thickness", message=text, count=len(none), places=places)


def _at_faces(part: Part, faces: Sequence[int]) -> tuple[Place, ...]:
    """Return the places of some faces; of one without a triangle the middle of its outline."""
    points = [(face, _point_on(part, face)) for face in faces[:PLACES_MOST]]
    return tuple(Place(vec(point), (face,)) for face, point in points if np.isfinite(point).all())


def _point_on(part: Part, face: int) -> Floats:
    point: Floats = part.face_point_mm[face]
    if not np.isfinite(point).all():
        point = part.edge_mid_mm[part.coedge_edge[part.coedge_face == face]].mean(axis=0)
    return point


def _beside(part: Part, edges: Ints) -> tuple[int, ...]:
    faces = part.edge_faces[edges]
    return tuple(sorted({int(face) for face in faces[faces >= 0]}))
