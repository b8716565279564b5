"""Comparing a report's body with the truth about it: what was missed, what was invented, which number is off.

Features are told apart by the faces they own: the truth has a point on every face, and the nearest triangle of the
report's mesh says which face that is. Holes must also lie where the truth says, to a thousandth.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from analyzers.model.arrays import Floats, Ints
from analyzers.model.feature import Feature
from analyzers.model.part import Mesh
from analyzers.model.report import Body

LENGTH_MM = 0.001
ANGLE_DEG = 0.01
HOLES = {"round_hole", "counterbore_hole", "countersunk_hole", "stepped_hole"}
COUNTED = HOLES | {
    "closed_pocket", "open_pocket", "slot", "step", "boss", "groove", "fillet", "edge_round", "chamfer"
}  # fmt: skip
DIRECTED = HOLES | {"closed_pocket", "open_pocket", "slot", "step", "boss"}
NOT_NUMBERS = {
    "id",
    "kind",
    "direction",
    "position_mm",
    "also",
    "may_split",
    "may_be_missing",
    "undercut_width_mm",
    "segments",
}


@dataclass(frozen=True)
class Disagreement:
    """One thing in which the report differs from the truth."""

    feature: str  # the truth's id and kind, or the report's for what it invented
    what: str
    expected: object
    got: object

    def __str__(self) -> str:
        """Return one line."""
        return f"{self.feature}: {self.what}: expected {self.expected}, got {self.got}"


def faces_at(mesh: Mesh, points: Floats) -> tuple[Ints, Floats]:
    """Return (N,) the face whose triangles come nearest to each of (N, 3) points, and (N,) how near, mm."""
    corners = mesh.point_mm[mesh.triangle]
    owner, away = np.empty(len(points), dtype=np.int64), np.empty(len(points))
    for row, point in enumerate(points):
        distance = _to_triangles(point, corners)
        nearest = int(np.argmin(distance))
        owner[row], away[row] = mesh.triangle_face[nearest], distance[nearest]
    return owner, away


def _to_triangles(point: Floats, corners: Floats) -> Floats:
    """Return (T,) distances of a point from (T, 3, 3) triangles."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    normal = np.cross(b - a, c - a)
    length = np.linalg.norm(normal, axis=1)
    normal = np.divide(normal, length[:, None], out=np.zeros_like(normal), where=length[:, None] > 0)
    height = np.einsum("ij,ij->i", point - a, normal)
    foot = point - height[:, None] * normal
    sides = [np.einsum("ij,ij->i", np.cross(q - p, foot - p), normal) for p, q in ((a, b), (b, c), (c, a))]
    inside = (np.min(sides, axis=0) >= 0) & (length > 0)
    to_edges = np.min([_to_segments(point, p, q) for p, q in ((a, b), (b, c), (c, a))], axis=0)
    nearest: Floats = np.where(inside, np.abs(height), to_edges)
    return nearest


def _to_segments(point: Floats, first: Floats, last: Floats) -> Floats:
    """Return (T,) distances of a point from (T, 3) segments."""
    along = last - first
    square = np.einsum("ij,ij->i", along, along)
    share = np.einsum("ij,ij->i", point - first, along)
    share = np.clip(np.divide(share, square, out=np.zeros_like(share), where=square > 0), 0.0, 1.0)
    distance: Floats = np.linalg.norm(point - first - share[:, None] * along, axis=1)
    return distance


@dataclass(frozen=True)
class Placed:
    """The truth about a body where it stands in the report: its matrix, and the report's face for each of its faces."""

    truth: dict[str, Any]
    matrix: Floats  # (3, 4)
    face: Ints  # (N,) the report's face under each of the truth's points
    away_mm: Floats  # (N,)

    def point(self, position: list[float]) -> Floats:
        """Return a position of the truth in the report's coordinates."""
        moved: Floats = self.matrix[:, :3] @ np.array(position) + self.matrix[:, 3]
        return moved

    def vector(self, direction: list[float]) -> Floats:
        """Return a direction of the truth in the report's coordinates."""
        turned: Floats = self.matrix[:, :3] @ np.array(direction)
        return turned

    def faces_of(self, feature: str) -> set[int]:
        """Return the report's faces that belong to a feature of the truth."""
        rows = [row for row, face in enumerate(self.truth["faces"]) if face["feature"] == feature]
        return {int(self.face[row]) for row in rows}


def place(truth: dict[str, Any], body: Body) -> Placed:
    """Return the truth laid over the report's body: in its own coordinates, or where one of its copies stands."""
    points = np.array([face["point_mm"] for face in truth["faces"]])
    candidates = [np.eye(3, 4), *(np.array(each) for each in truth["placements"])]
    tried = []
    for matrix in candidates:
        face, away = faces_at(body.facts.part.mesh, points @ matrix[:, :3].T + matrix[:, 3])
        tried.append(Placed(truth, matrix, face, away))
    return min(tried, key=lambda each: float(np.max(each.away_mm)))


def disagreements(placed: Placed, body: Body) -> list[Disagreement]:
    """Return everything about the features in which the report and the truth differ."""
    found: list[Disagreement] = []
    free = {feature.id: feature for feature in body.facts.features if feature.kind in COUNTED}
    splits: set[int] = set()
    for feature in placed.truth["features"]:
        name, faces = f"{feature['id']} {feature['kind']}", placed.faces_of(feature["id"])
        if feature.get("may_split") or feature["kind"] == "chamfer":
            splits |= faces
        if feature["kind"] not in COUNTED:
            continue
        match = _match(placed, feature, faces, free)
        if match is None and feature.get("may_be_missing"):
            continue
        if match is None:
            owners = {f"{each.id} {each.kind}" for each in body.facts.features if faces & set(each.faces)}
            found.append(Disagreement(name, "found", feature["position_mm"], sorted(owners) or "faces of no feature"))
            continue
        if feature["kind"] != "chamfer":
            del free[match.id]
        found += _best_view(placed, feature, match, f"{name} = {match.id} {match.kind}")
        if not (faces <= set(match.faces) or feature.get("may_split") or feature["kind"] == "chamfer"):
            found.append(Disagreement(name, "faces", sorted(faces), sorted(match.faces)))
    for extra in free.values():
        if not set(extra.faces) <= splits:
            found.append(Disagreement(f"{extra.id} {extra.kind}", "invented", None, extra.callout()))
    return found


def _match(placed: Placed, feature: dict[str, Any], faces: set[int], free: dict[str, Feature]) -> Feature | None:
    """Return the report's feature that is this one: of an accepted kind and with most of its faces."""
    views = [feature, *feature.get("also", [])]
    kinds = {view.get("kind", feature["kind"]) for view in views}
    candidates = [each for each in free.values() if each.kind in kinds and faces & set(each.faces)]
    if feature["kind"] in HOLES:
        places = [placed.point(view.get("position_mm", feature["position_mm"])) for view in views]
        candidates = [each for each in candidates if min(_apart(each.position_mm, at) for at in places) <= LENGTH_MM]
    return max(candidates, key=lambda each: len(faces & set(each.faces)), default=None)


def _apart(first: Any, second: Any) -> float:
    return float(np.linalg.norm(np.array(first) - np.array(second)))


def _best_view(placed: Placed, feature: dict[str, Any], match: Feature, name: str) -> list[Disagreement]:
    """Return the differences for the reading of the truth that agrees best."""
    views = [feature] + [feature | view for view in feature.get("also", [])]
    return min((_differences(placed, view, match, name) for view in views), key=len)


def _differences(placed: Placed, view: dict[str, Any], match: Feature, name: str) -> list[Disagreement]:
    """Return every field that differs by more than its tolerance."""
    found = []
    if view["kind"] in DIRECTED and _apart(match.direction, placed.vector(view["direction"])) > 1e-4:
        expected = placed.vector(view["direction"]).round(6).tolist()
        found.append(Disagreement(name, "direction", expected, match.direction))
    if view["kind"] in HOLES and _apart(match.position_mm, placed.point(view["position_mm"])) > LENGTH_MM:
        expected = placed.point(view["position_mm"]).round(6).tolist()
        found.append(Disagreement(name, "position_mm", expected, match.position_mm))
    fields = match.dimensions()
    for key, expected in view.items():
        if key not in NOT_NUMBERS and not _agrees(key, expected, fields.get(key, "no such field")):
            found.append(Disagreement(name, key, expected, fields.get(key, "no such field")))
    if "segments" in view:
        found += _segment_differences(view["segments"], fields.get("segments", ()), name)
    return found


def _segment_differences(expected: list[dict[str, Any]], got: Any, name: str) -> list[Disagreement]:
    """Return the differences between two lists of hole segments."""
    if len(expected) != len(got):
        return [Disagreement(name, "segments", expected, got)]
    return [
        Disagreement(name, f"segment {index + 1} {key}", value, getattr(segment, key))
        for index, (said, segment) in enumerate(zip(expected, got, strict=True))
        for key, value in said.items()
        if not _agrees(key, value, getattr(segment, key))
    ]


def _agrees(key: str, expected: object, got: object) -> bool:
    """Return True where two values are one within the field's tolerance; floors may go unmeasured in a through cut."""
    if key == "floor_thickness_mm" and expected is None:
        return True
    if isinstance(expected, float) and isinstance(got, float):
        return abs(expected - got) <= (ANGLE_DEG if key.endswith("_deg") else LENGTH_MM)
    return expected == got
