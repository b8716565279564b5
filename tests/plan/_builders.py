"""Small solids as real arrays: extruded outlines, blocks with a pocket, turned outlines; features to lay on them.

Every array follows from the points given, so that a part can be turned, moved or made larger and stays a part.
All numbers are millimetres; nothing is centred and nothing starts at zero unless a test asks for it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cache
from itertools import pairwise

import numpy as np

from analyzers.features.hole import RoundHole
from analyzers.features.pocket import ClosedPocket
from analyzers.features.slot import Slot
from analyzers.features.step import Step
from analyzers.model.arrays import Floats, Vec, unit, vec
from analyzers.model.feature import FaceClass, Feature
from analyzers.model.measure import Measure, ThinPlace
from analyzers.model.part import Curve, Mesh, Part, Surface
from analyzers.model.report import Facts, MadeBy
from analyzers.settings import Cutter, Machine, Settings, load_settings

UP: Vec = (0.0, 0.0, 1.0)
TURN = np.array([[0.36, 0.48, -0.8], [-0.8, 0.6, 0.0], [0.48, 0.64, 0.6]])
"""A rotation about no axis of the model (rows of Pythagorean numbers, determinant 1)."""


# --- solids ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Face:
    """One face: its triangles, and what surface they lie on (axis and origin of rounds)."""

    triangles: Floats  # (T, 3, 3) counter-clockwise from outside
    surface: Surface = Surface.PLANE
    axis: Vec = UP
    origin: Vec = (0.0, 0.0, 0.0)
    radius: float = math.nan
    half_angle: float = math.nan
    concave: bool = False


@dataclass(frozen=True)
class Edge:
    """One straight edge between two faces; `angle` goes through the material."""

    faces: tuple[int, int]
    angle: float
    start: Vec
    end: Vec


def quad(*corner: Sequence[float]) -> Floats:
    """Return the two triangles of a flat or twisted four-sided patch."""
    a, b, c, d = (np.array(each, dtype=float) for each in corner)
    return np.array([[a, b, c], [a, c, d]])


def solid(faces: Sequence[Face], edges: Sequence[Edge] = ()) -> Part:
    """Return a part made of these faces; volume by the divergence theorem."""
    all_triangles = np.concatenate([each.triangles for each in faces])
    owner = np.repeat(np.arange(len(faces)), [len(each.triangles) for each in faces])
    cross = np.cross(all_triangles[:, 1] - all_triangles[:, 0], all_triangles[:, 2] - all_triangles[:, 0])
    area = np.linalg.norm(cross, axis=1) / 2.0
    first = np.array([int(np.flatnonzero(owner == i)[np.argmax(area[owner == i])]) for i in range(len(faces))])
    middle = all_triangles[first].mean(axis=1)
    flat = np.array([each.surface == Surface.PLANE for each in faces], dtype=bool)
    normal = unit(cross[first])
    face_area = np.zeros(len(faces))
    np.add.at(face_area, owner, area)
    centre = np.array([np.average(all_triangles[owner == i].mean(axis=1), axis=0) for i in range(len(faces))])
    points = all_triangles.reshape(-1, 3)
    axis = np.where(flat[:, None], normal, np.array([each.axis for each in faces]))
    origin = np.where(flat[:, None], middle, np.array([each.origin for each in faces]))
    along = np.array([_span(points[np.repeat(owner, 3) == i], axis[i], origin[i]) for i in range(len(faces))])
    count = len(edges)
    ends = np.array([[each.start, each.end] for each in edges], dtype=float).reshape(count, 2, 3)
    nan = np.full((count, 3), math.nan)
    return Part(
        name="part",
        count=1,
        valid=True,
        closed=True,
        volume_mm3=float(np.einsum("ij,ij->", all_triangles[:, 0], cross) / 6.0),
        area_mm2=float(face_area.sum()),
        centroid_mm=vec(points.mean(axis=0)),
        box_mm=np.array([points.min(axis=0), points.max(axis=0)]),
        face_surface=np.array([each.surface for each in faces], dtype=np.int64),
        face_area_mm2=face_area,
        face_centroid_mm=centre,
        face_point_mm=middle,
        face_normal=normal,
        face_origin_mm=origin,
        face_axis=axis,
        face_radius_mm=np.array([each.radius for each in faces]),
        face_tube_radius_mm=np.full(len(faces), math.nan),
        face_half_angle_deg=np.array([each.half_angle for each in faces]),
        face_concave=np.array([each.concave for each in faces], dtype=bool),
        face_span_deg=np.where(flat, math.nan, 360.0),
        face_along_mm=along,
        face_min_radius_mm=np.full(len(faces), math.inf),
        face_ball_radius_mm=np.full((len(faces), 2), math.nan),
        edge_curve=np.full(count, Curve.LINE, dtype=np.int64),
        edge_length_mm=np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1),
        edge_faces=np.array([each.faces for each in edges], dtype=np.int64).reshape(count, 2),
        edge_angle_deg=np.array([each.angle for each in edges], dtype=float),
        edge_mid_mm=ends.mean(axis=1),
        edge_tangent=unit(ends[:, 1] - ends[:, 0]),
        edge_vertices=np.arange(2 * count, dtype=np.int64).reshape(count, 2),
        edge_centre_mm=nan,
        edge_axis=nan.copy(),
        edge_radius_mm=np.full(count, math.nan),
        vertex_mm=ends.reshape(-1, 3),
        coedge_face=np.zeros(0, dtype=np.int64),
        coedge_edge=np.zeros(0, dtype=np.int64),
        coedge_loop=np.zeros(0, dtype=np.int64),
        mesh=Mesh(points, np.arange(len(points)).reshape(-1, 3), owner.astype(np.int64), 0.005),
    )


def _span(points: Floats, axis: Floats, origin: Floats) -> list[float]:
    """Return lowest and highest place of some points along an axis."""
    along = (points - origin) @ axis
    return [float(along.min()), float(along.max())]


def prism(outline: Sequence[tuple[float, float]], length: float, at: Vec = (5.0, -7.0, 11.0)) -> Part:
    """Extrude an outline in (y, z), counter-clockwise seen from +x, along x. Face i follows outline point i.

    The two ends come last: first the one at -x, then the one at +x.
    """
    y0, z0 = at[1], at[2]
    ring = [(y + y0, z + z0) for y, z in outline]
    low, high = at[0], at[0] + length
    faces = []
    for (ya, za), (yb, zb) in zip(ring, ring[1:] + ring[:1], strict=True):
        faces.append(Face(quad((low, ya, za), (low, yb, zb), (high, yb, zb), (high, ya, za))))
    cap = np.array([[ring[i] for i in triangle] for triangle in ears(ring)])
    front = np.concatenate([np.full((*cap.shape[:2], 1), high), cap], axis=2)
    back = np.concatenate([np.full((*cap.shape[:2], 1), low), cap], axis=2)[:, ::-1]
    faces += [Face(back), Face(front)]
    edges = []
    for i, (y, z) in enumerate(ring):
        before, after = np.array(ring[i - 1]), np.array(ring[(i + 1) % len(ring)])
        edges.append(
            Edge(
                faces=((i - 1) % len(ring), i),
                angle=_inner_angle(before, np.array([y, z]), after),
                start=(low, y, z),
                end=(high, y, z),
            )
        )
    return solid(faces, edges)


def _inner_angle(before: Floats, here: Floats, after: Floats) -> float:
    """Return the angle inside a counter-clockwise outline at one of its points."""
    back, on = before - here, after - here
    angle = math.degrees(math.atan2(on[0] * back[1] - on[1] * back[0], float(on @ back)))
    return angle % 360.0


def ears(ring: Sequence[tuple[float, float]]) -> list[tuple[int, int, int]]:
    """Return the triangles of a counter-clockwise outline, cut off corner by corner."""
    left, triangles = list(range(len(ring))), []
    while len(left) > 3:
        for spot in range(len(left)):
            a, b, c = left[spot - 1], left[spot], left[(spot + 1) % len(left)]
            others = [i for i in left if i not in (a, b, c)]
            if _turn(ring[a], ring[b], ring[c]) > 0 and not any(
                _inside(ring[i], ring[a], ring[b], ring[c]) for i in others
            ):
                triangles.append((a, b, c))
                left.pop(spot)
                break
        else:
            raise ValueError("the outline crosses itself")
    return [*triangles, (left[0], left[1], left[2])]


def _turn(a: Sequence[float], b: Sequence[float], c: Sequence[float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _inside(p: Sequence[float], a: Sequence[float], b: Sequence[float], c: Sequence[float]) -> bool:
    return min(_turn(a, b, p), _turn(b, c, p), _turn(c, a, p)) >= 0.0


def block(size: Vec = (60.0, 40.0, 20.0), at: Vec = (5.0, -7.0, 11.0)) -> Part:
    """Return a block; its faces: 0 below, 1 +y, 2 above, 3 -y, 4 -x, 5 +x."""
    _, width, height = size
    return prism([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)], size[0], at)


def pocketed(
    size: Vec = (60.0, 40.0, 20.0), pocket: Vec = (30.0, 20.0, 8.0), at: Vec = (5.0, -7.0, 11.0), through: bool = False
) -> Part:
    """Return a block with a rectangular pocket in its top. Faces: 0 to 5 as `block`, 6 to 9 walls, 10 the floor."""
    (length, width, height), (px, py, depth) = size, pocket
    x0, y0, z0 = at
    x1, y1, z1 = x0 + length, y0 + width, z0 + height
    a0, a1 = x0 + (length - px) / 3.0, x0 + (length - px) / 3.0 + px
    b0, b1 = y0 + (width - py) / 4.0, y0 + (width - py) / 4.0 + py
    bottom = z0 if through else z1 - depth
    top = _frame((x0, y0, x1, y1), (a0, b0, a1, b1), z1, up=True)
    under = _frame((x0, y0, x1, y1), (a0, b0, a1, b1), z0, up=False)
    whole = quad((x0, y1, z0), (x1, y1, z0), (x1, y0, z0), (x0, y0, z0))
    corner = [(a0, b0), (a1, b0), (a1, b1), (a0, b1)]
    walls = []
    for (xa, ya), (xb, yb) in zip(corner, corner[1:] + corner[:1], strict=True):
        walls.append(Face(quad((xb, yb, bottom), (xa, ya, bottom), (xa, ya, z1), (xb, yb, z1))))
    faces = [
        Face(under if through else whole),
        Face(quad((x1, y1, z0), (x0, y1, z0), (x0, y1, z1), (x1, y1, z1))),
        Face(top),
        Face(quad((x0, y0, z0), (x1, y0, z0), (x1, y0, z1), (x0, y0, z1))),
        Face(quad((x0, y1, z0), (x0, y0, z0), (x0, y0, z1), (x0, y1, z1))),
        Face(quad((x1, y0, z0), (x1, y1, z0), (x1, y1, z1), (x1, y0, z1))),
        *walls,
    ]
    if not through:
        faces.append(Face(quad((a0, b0, bottom), (a1, b0, bottom), (a1, b1, bottom), (a0, b1, bottom))))
    edges = [Edge((6 + (i - 1) % 4, 6 + i), 270.0, (x, y, bottom), (x, y, z1)) for i, (x, y) in enumerate(corner)]
    return solid(faces, edges)


def _frame(outer: tuple[float, ...], inner: tuple[float, ...], z: float, *, up: bool) -> Floats:
    """Return a flat rectangle with a rectangular hole, looking up or down."""
    x0, y0, x1, y1 = outer
    a0, b0, a1, b1 = inner
    strips = [
        quad((x0, y0, z), (x1, y0, z), (x1, b0, z), (x0, b0, z)),
        quad((x0, b1, z), (x1, b1, z), (x1, y1, z), (x0, y1, z)),
        quad((x0, b0, z), (a0, b0, z), (a0, b1, z), (x0, b1, z)),
        quad((a1, b0, z), (x1, b0, z), (x1, b1, z), (a1, b1, z)),
    ]
    triangles = np.concatenate(strips)
    return triangles if up else triangles[:, ::-1]


def turned(
    outline: Sequence[tuple[float, float]], axis: int = 0, at: Vec = (5.0, -7.0, 11.0), around: int = 24
) -> Part:
    """Turn an outline of (place along the axis, radius) points about an axis of the model; ends are closed with planes.

    Face i lies between outline points i and i + 1; then come the end at the first point and that at the last.
    """
    way = np.eye(3)[axis]
    side, other = np.eye(3)[(axis + 1) % 3], np.eye(3)[(axis + 2) % 3]
    angle = np.linspace(0.0, 2.0 * math.pi, around + 1)
    circle = np.cos(angle)[:, None] * side + np.sin(angle)[:, None] * other
    base = np.array(at)

    def ring(place: float, radius: float) -> Floats:
        return base + place * way + radius * circle

    faces = []
    for (a, ra), (b, rb) in pairwise(outline):
        first, second = ring(a, ra), ring(b, rb)
        patches = [quad(first[i], first[i + 1], second[i + 1], second[i]) for i in range(around)]
        triangles = np.concatenate(patches)
        area = np.linalg.norm(np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]), axis=1)
        triangles = triangles[area > 1e-12]
        if a == b:
            faces.append(Face(triangles))
        elif ra == rb:
            faces.append(Face(triangles, Surface.CYLINDER, vec(way), vec(base), radius=ra))
        else:
            tip = base + (a + ra * (b - a) / (ra - rb)) * way
            inwards = way if rb > ra else -way
            half = math.degrees(math.atan(abs(rb - ra) / (b - a)))
            faces.append(Face(triangles, Surface.CONE, vec(inwards), vec(tip), half_angle=half))
    for (place, radius), flip in ((outline[0], True), (outline[-1], False)):
        rim, centre = ring(place, radius), base + place * way
        disc = np.array([[centre, rim[i], rim[i + 1]] for i in range(around)])
        faces.append(Face(disc[:, ::-1] if flip else disc))
    return solid(faces)


def moved(part: Part, turn: Floats = TURN, shift: Vec = (100.0, -20.0, 7.5)) -> Part:
    """Return the part turned and shifted, all its arrays with it."""
    changed: dict[str, object] = {}
    for each in fields(part):
        value = getattr(part, each.name)
        if not isinstance(value, np.ndarray) or value.ndim != 2 or value.shape[1] != 3 or value.dtype.kind != "f":
            continue
        place = each.name.endswith("_mm")
        changed[each.name] = value @ turn.T + (np.array(shift) if place else 0.0)
    points = part.mesh.point_mm @ turn.T + np.array(shift)
    changed["mesh"] = replace(part.mesh, point_mm=points)
    changed["box_mm"] = np.array([points.min(axis=0), points.max(axis=0)])
    changed["centroid_mm"] = vec(turn @ np.array(part.centroid_mm) + np.array(shift))
    return replace(part, **changed)  # type: ignore[arg-type]  # names and types come from the part itself


# --- features -------------------------------------------------------------------------------------------------------


def hole(diameter: float = 6.6, depth: float | None = 10.0, **more: object) -> RoundHole:
    """Return a round hole; blind with a drill point unless said otherwise."""
    values: dict[str, object] = {
        "id": "F1",
        "faces": (),
        "direction": UP,
        "position_mm": (20.0, 3.0, 31.0),
        "diameter_mm": diameter,
        "depth_mm": depth,
        "through": False,
        "bottom": "conical",
        "point_angle_deg": 118.0,
        "depth_ratio": None if depth is None else depth / diameter,
    }
    if more.get("through"):
        values |= {"bottom": "through", "point_angle_deg": None}
    return RoundHole(**(values | more))  # type: ignore[arg-type]  # the values are those of the class


def pocket(length: float = 30.0, width: float = 20.0, depth: float = 8.0, **more: object) -> ClosedPocket:
    """Return a closed pocket with corner radius 4 unless said otherwise."""
    values: dict[str, object] = {
        "id": "F1",
        "faces": (6, 7, 8, 9, 10),
        "direction": UP,
        "position_mm": (30.0, 8.0, 31.0),
        "depth_mm": depth,
        "length_mm": length,
        "width_mm": width,
        "through": False,
        "corner_radius_mm": 4.0,
        "floor_radius_mm": 0.0,
    }
    return ClosedPocket(**(values | more))  # type: ignore[arg-type]  # the values are those of the class


def slot(width: float = 10.0, depth: float = 8.0, length: float = 60.0, **more: object) -> Slot:
    """Return a slot open at both ends unless said otherwise."""
    values: dict[str, object] = {
        "id": "F1",
        "faces": (),
        "direction": UP,
        "position_mm": (30.0, 8.0, 31.0),
        "width_mm": width,
        "depth_mm": depth,
        "length_mm": length,
        "through": True,
        "ends": "open",
        "floor_radius_mm": 0.0,
    }
    return Slot(**(values | more))  # type: ignore[arg-type]  # the values are those of the class


def step(width: float = 12.0, depth: float = 6.0, **more: object) -> Step:
    """Return a step between two sides unless said otherwise."""
    values: dict[str, object] = {
        "id": "F1",
        "faces": (),
        "direction": UP,
        "position_mm": (30.0, 8.0, 31.0),
        "width_mm": width,
        "depth_mm": depth,
        "through": True,
        "floor_radius_mm": 0.0,
    }
    return Step(**(values | more))  # type: ignore[arg-type]  # the values are those of the class


# --- facts, settings ------------------------------------------------------------------------------------------------


def facts(
    part: Part,
    features: Sequence[Feature] = (),
    *,
    process: str = "milled",
    axis: Vec | None = None,
    measures: Sequence[Measure] = (),
    walls: Sequence[ThinPlace] = (),
) -> Facts:
    """Return facts about a part; a face without a feature is outer. Features are numbered F1, F2, ... in order."""
    numbered = tuple(replace(each, id=f"F{number}") for number, each in enumerate(features, start=1))
    kinds: list[FaceClass] = ["outer"] * part.n_faces
    for each in numbered:
        for face in each.faces:
            kinds[face] = each.face_class
    made = MadeBy(process=process, why="built so", axis=axis)  # type: ignore[arg-type]  # one of its four words
    return Facts(
        part=part,
        features=numbered,
        face_class=tuple(kinds),
        measures=tuple(measures),
        walls=tuple(walls),
        made_by=made,
    )


@cache
def example() -> Settings:
    """Return the built-in, invented shop with one part to make."""
    return load_settings()


def with_shop(settings: Settings | None = None, **changes: object) -> Settings:
    """Return settings with some fields of the shop replaced."""
    base = settings or example()
    return replace(base, shop=replace(base.shop, **changes))  # type: ignore[arg-type]  # names are the shop's


def with_cutters(*cutters: Cutter) -> Settings:
    """Return settings with these cutters on the shelf and no others."""
    return with_shop(cutters=cutters)


def end_mill(diameter: float, reach: float, kind: str = "flat", **more: object) -> Cutter:
    """Return an end mill named by its size; a ball's radius follows from its diameter."""
    values: dict[str, object] = {
        "id": f"{kind} {diameter:g}",
        "kind": kind,
        "diameter_mm": diameter,
        "flute_length_mm": min(reach, 2.0 * diameter),
        "reach_mm": reach,
        "corner_radius_mm": diameter / 2.0 if kind == "ball" else 0.0,
        "flutes": 3,
    }
    return Cutter(**(values | more))  # type: ignore[arg-type]  # the values are those of the class


def drill(diameter: float, reach: float) -> Cutter:
    """Return a twist drill."""
    return Cutter(
        id=f"drill {diameter:g}",
        kind="drill",
        diameter_mm=diameter,
        flute_length_mm=reach,
        reach_mm=reach,
        point_angle_deg=118.0,
        made_of="hss",
    )


def machine(**changes: object) -> Machine:
    """Return the example shop's mill with some fields replaced."""
    return replace(example().shop.machines[0], **changes)  # type: ignore[arg-type]  # names are the machine's
