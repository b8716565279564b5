"""Small parts, features, shops and cases to judge; all numbers in millimetres.

The parts are real arrays: blocks with a pocket whose faces, edges, normals and angles follow from the sizes given.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from importlib import import_module
from typing import Any

import numpy as np

from analyzers.features.boss import Boss
from analyzers.features.chamfer import Chamfer
from analyzers.features.edge_round import EdgeRound
from analyzers.features.fillet import Fillet
from analyzers.features.groove import Groove
from analyzers.features.hole import CounterboreHole, CountersunkHole, RoundHole, Segment, SteppedHole
from analyzers.features.outer_round import OuterRound
from analyzers.features.pocket import ClosedPocket
from analyzers.features.region import Region
from analyzers.features.slot import Slot
from analyzers.features.step import Step
from analyzers.model.arrays import Floats, Vec, vec
from analyzers.model.feature import FaceClass, Feature, Pattern
from analyzers.model.finding import Finding
from analyzers.model.measure import Measure, ThinPlace
from analyzers.model.part import Curve, Mesh, Part, Surface
from analyzers.model.plan import CutterUse, Minutes, Plan, Setup, Unmade
from analyzers.model.report import Facts, MadeBy
from analyzers.model.source import Source
from analyzers.rules._base import Case
from analyzers.rules._limits import load_limits
from analyzers.settings import Cutter, Holder, LimitOverride, Machine, Material, Policy, Settings, Shop

OUTER: FaceClass = "outer"
UP: Vec = (0.0, 0.0, 1.0)
TURN = np.array([[0.36, 0.48, -0.8], [-0.8, 0.6, 0.0], [0.48, 0.64, 0.6]])
"""A rotation about no axis of the frame (rows and columns of Pythagorean numbers, determinant 1)."""


# --- parts ----------------------------------------------------------------------------------------------------------


LOW: Vec = (5.0, -7.0, 11.0)
"""The low corner of every part's box: off the origin, so that nothing rests on it."""


@dataclass(frozen=True)
class Face:
    """One row of the face arrays; a plane's `axis` is its outward normal."""

    surface: Surface
    axis: Vec
    point: Vec = (0.0, 0.0, 0.0)
    area: float = 100.0
    radius: float = float("nan")
    concave: bool = False
    span: float = 360.0
    along: tuple[float, float] = (0.0, 0.0)
    half_angle: float = float("nan")
    min_radius: float = float("inf")


@dataclass(frozen=True)
class Edge:
    """One row of the edge arrays; `angle` goes through the material."""

    faces: tuple[int, int]
    angle: float
    tangent: Vec
    length: float = 10.0
    curve: Curve = Curve.LINE
    mid: Vec = LOW  # a corner of the part: what is not placed lies on it


def plane(normal: Vec, point: Vec = (0.0, 0.0, 0.0), area: float = 100.0) -> Face:
    """Return a flat face."""
    return Face(Surface.PLANE, normal, point, area)


def cylinder(axis: Vec, radius: float, *, concave: bool, span: float = 360.0, area: float = 100.0) -> Face:
    """Return a round face; a corner of a pocket spans 90 degrees."""
    return Face(Surface.CYLINDER, axis, area=area, radius=radius, concave=concave, span=span)


def part_of(
    faces: Sequence[Face],
    edges: Sequence[Edge] = (),
    *,
    size: Vec = (60.0, 40.0, 20.0),
    valid: bool = True,
    closed: bool = True,
    volume: float | None = None,
    count: int = 1,
    vertices: Sequence[Vec] | None = None,
) -> Part:
    """Return a part with these faces and edges; its box has this size and stands off the origin.

    `vertices`: None = the corners of that box.
    """
    low = np.array(LOW)
    corners = np.array([[i & 1, i >> 1 & 1, i >> 2] for i in range(8)]) * np.array(size)
    n, m = len(faces), len(edges)
    axis = np.array([each.axis for each in faces], dtype=float).reshape(n, 3)
    point = np.array([each.point for each in faces], dtype=float).reshape(n, 3)
    flat = np.array([each.surface == Surface.PLANE for each in faces], dtype=bool)
    sides = np.array([each.faces for each in edges], dtype=np.int64).reshape(m, 2)
    area = np.array([each.area for each in faces], dtype=float)
    return Part(
        name="plate",
        count=count,
        valid=valid,
        closed=closed,
        volume_mm3=float(np.prod(size)) if volume is None else volume,
        area_mm2=float(area.sum()),
        centroid_mm=vec(low + np.array(size) / 2.0),
        box_mm=np.array([low, low + np.array(size)]),
        face_surface=np.array([each.surface for each in faces], dtype=np.int64),
        face_area_mm2=area,
        face_centroid_mm=point.copy(),
        face_point_mm=point.copy(),
        face_normal=np.where(flat[:, None], axis, np.array([1.0, 0.0, 0.0])),
        face_origin_mm=point.copy(),
        face_axis=axis,
        face_radius_mm=np.array([each.radius for each in faces], dtype=float),
        face_tube_radius_mm=np.full(n, np.nan),
        face_half_angle_deg=np.array([each.half_angle for each in faces], dtype=float),
        face_concave=np.array([each.concave for each in faces], dtype=bool),
        face_span_deg=np.array([each.span for each in faces], dtype=float),
        face_along_mm=np.array([each.along for each in faces], dtype=float).reshape(n, 2),
        face_min_radius_mm=np.array([each.min_radius for each in faces], dtype=float),
        face_ball_radius_mm=np.full((len(faces), 2), np.nan),
        edge_curve=np.array([each.curve for each in edges], dtype=np.int64),
        edge_length_mm=np.array([each.length for each in edges], dtype=float),
        edge_faces=sides,
        edge_angle_deg=np.array([each.angle for each in edges], dtype=float),
        edge_mid_mm=np.array([each.mid for each in edges], dtype=float).reshape(m, 3),
        edge_tangent=np.array([each.tangent for each in edges], dtype=float).reshape(m, 3),
        edge_vertices=np.zeros((m, 2), dtype=np.int64),
        edge_centre_mm=np.full((m, 3), np.nan),
        edge_axis=np.full((m, 3), np.nan),
        edge_radius_mm=np.full(m, np.nan),
        vertex_mm=low + corners if vertices is None else np.array(vertices, dtype=float),
        coedge_face=sides.ravel().copy(),
        coedge_edge=np.repeat(np.arange(m, dtype=np.int64), 2),
        coedge_loop=np.zeros(2 * m, dtype=np.int64),
        mesh=Mesh(
            point_mm=np.zeros((0, 3)),
            triangle=np.zeros((0, 3), dtype=np.int64),
            triangle_face=np.zeros(0, dtype=np.int64),
            chord_mm=0.01,
        ),
    )


SIDES: tuple[Vec, ...] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0), (0.0, -1.0, 0.0))
POCKET_FACES = tuple(range(6, 11))


def block(size: Vec = (60.0, 40.0, 20.0), **changes: Any) -> Part:
    """Return a plain block: faces 0 to 3 the sides, 4 the top, 5 the bottom; twelve sharp outside edges."""
    return part_of([*_block_faces(size), *_unused(6)], _block_edges(size), size=size, **changes)


def pocketed_block(
    depth: float = 12.0, radii: Sequence[float] = (), opening_deg: float = 90.0, size: Vec = (60.0, 40.0, 20.0)
) -> Part:
    """Return a block with a pocket in its top: faces 6 to 9 the walls, 10 the floor, 11 on its rounded corners.

    Without `radii` the four upright corners are sharp, of that opening angle.
    """
    floor = plane(UP, (30.0, 20.0, size[2] - depth))
    walls = [plane((-x, -y, -z), (30.0, 20.0, size[2] - depth / 2)) for x, y, z in SIDES]
    corners = [cylinder(UP, radius, concave=True, span=90.0) for radius in radii]
    across = [(-y, x, 0.0) for x, y, _ in SIDES]
    edges = [Edge((6 + i, 10), 270.0, across[i], 20.0) for i in range(4)]
    edges += [Edge((6 + i, 4), 90.0, across[i], 20.0) for i in range(4)]
    if not radii:
        edges += [Edge((6 + i, 6 + (i + 1) % 4), 360.0 - opening_deg, UP, depth) for i in range(4)]
    for i in range(len(radii)):
        edges += [Edge((6 + side % 4, 11 + i), 180.0, UP, depth) for side in (i, i + 1)]
    faces = [*_block_faces(size), *walls, floor, *corners]
    return part_of([*faces, *_unused(len(faces))], [*_block_edges(size), *edges], size=size)


def _unused(taken: int) -> list[Face]:
    """Return faces without area up to number 40, for features that a test places without shaping them."""
    return [Face(Surface.OTHER, UP, area=0.0) for _ in range(taken, 40)]


def _block_faces(size: Vec) -> list[Face]:
    x, y, z = size
    sides = [plane(normal, area=(y if normal[0] else x) * z) for normal in SIDES]
    return [*sides, plane(UP, (x / 2, y / 2, z), x * y), plane((0.0, 0.0, -1.0), (x / 2, y / 2, 0.0), x * y)]


def _block_edges(size: Vec) -> list[Edge]:
    x, y, z = size
    upright = [Edge((i, (i + 1) % 4), 90.0, UP, z) for i in range(4)]
    return upright + [
        Edge((i, cap), 90.0, (-ny, nx, 0.0), y if nx else x) for cap in (4, 5) for i, (nx, ny, _) in enumerate(SIDES)
    ]


def moved(part: Part, turn: Floats = TURN, shift: Vec = (101.0, -57.0, 33.0)) -> Part:
    """Return the same part turned and shifted."""
    points = ("face_centroid_mm", "face_point_mm", "face_origin_mm", "edge_mid_mm", "edge_centre_mm", "vertex_mm")
    directions = ("face_normal", "face_axis", "edge_tangent", "edge_axis")
    changes: dict[str, Any] = {name: getattr(part, name) @ turn.T + np.array(shift) for name in points}
    changes |= {name: getattr(part, name) @ turn.T for name in directions}
    return replace(part, **changes, centroid_mm=vec(np.array(part.centroid_mm) @ turn.T + np.array(shift)))


def moved_feature(feature: Feature, turn: Floats = TURN, shift: Vec = (101.0, -57.0, 33.0)) -> Feature:
    """Return the same feature turned and shifted."""
    return replace(
        feature,
        direction=vec(np.array(feature.direction) @ turn.T),
        position_mm=vec(np.array(feature.position_mm) @ turn.T + np.array(shift)),
    )


# --- features -------------------------------------------------------------------------------------------------------


def hole(diameter: float = 5.0, depth: float | None = 10.0, **changes: Any) -> RoundHole:
    """Return a blind hole with a drill point, in a face of its own."""
    given: dict[str, Any] = {"faces": (20,), "through": False, "bottom": "conical", "point_angle_deg": 118.0}
    return RoundHole(
        diameter_mm=diameter, depth_mm=depth, direction=UP, position_mm=(3.0, 4.0, 20.0), **{**given, **changes}
    )


def counterbored(diameter: float = 6.6, bore: float = 11.0, bore_depth: float = 6.4, **changes: Any) -> CounterboreHole:
    """Return a through hole with a counterbore."""
    given: dict[str, Any] = {"faces": (20, 21), "through": True, "bottom": "through", "depth_mm": 20.0}
    return CounterboreHole(
        diameter_mm=diameter,
        counterbore_diameter_mm=bore,
        counterbore_depth_mm=bore_depth,
        direction=UP,
        position_mm=(3.0, 4.0, 20.0),
        **{**given, **changes},
    )


def countersunk(diameter: float = 4.5, sink: float = 9.4, angle: float = 90.0, **changes: Any) -> CountersunkHole:
    """Return a through hole with a countersink."""
    given: dict[str, Any] = {"faces": (20, 21), "through": True, "bottom": "through", "depth_mm": 20.0}
    return CountersunkHole(
        diameter_mm=diameter,
        countersink_diameter_mm=sink,
        countersink_angle_deg=angle,
        direction=UP,
        position_mm=(3.0, 4.0, 20.0),
        **{**given, **changes},
    )


def pocket(depth: float | None = 12.0, corner: float | None = 4.0, **changes: Any) -> ClosedPocket:
    """Return a pocket of 30 by 20 in the faces of `pocketed_block`."""
    given: dict[str, Any] = {
        "faces": POCKET_FACES,
        "length_mm": 30.0,
        "width_mm": 20.0,
        "through": False,
        "floor_radius_mm": 0.0,
        "floor_thickness_mm": 8.0,
    }
    return ClosedPocket(
        depth_mm=depth, corner_radius_mm=corner, direction=UP, position_mm=(30.0, 20.0, 20.0), **{**given, **changes}
    )


def slot(width: float | None = 6.0, depth: float | None = 5.0, **changes: Any) -> Slot:
    """Return a slot that runs through."""
    given: dict[str, Any] = {"faces": (6, 7, 8), "length_mm": 60.0, "through": True, "ends": "open"}
    return Slot(width_mm=width, depth_mm=depth, direction=UP, position_mm=(30.0, 20.0, 20.0), **{**given, **changes})


def step(depth: float | None = 5.0, width: float | None = 12.0, **changes: Any) -> Step:
    """Return a step that cuts a corner."""
    given: dict[str, Any] = {"faces": (6, 7, 8), "through": False}
    return Step(depth_mm=depth, width_mm=width, direction=UP, position_mm=(30.0, 20.0, 20.0), **{**given, **changes})


def boss(height: float = 6.0, length: float = 20.0, width: float = 10.0, **changes: Any) -> Boss:
    """Return an oblong boss."""
    given: dict[str, Any] = {"faces": (6, 7)}
    return Boss(
        height_mm=height,
        length_mm=length,
        width_mm=width,
        direction=UP,
        position_mm=(30.0, 20.0, 20.0),
        **{**given, **changes},
    )


def fillet(radius: float | None = 3.0, **changes: Any) -> Fillet:
    """Return an inside rounding."""
    given: dict[str, Any] = {"faces": (11,)}
    return Fillet(radius_mm=radius, direction=UP, position_mm=(30.0, 20.0, 20.0), **{**given, **changes})


def edge_round(radius: float | None = 3.0, **changes: Any) -> EdgeRound:
    """Return an outside rounding."""
    given: dict[str, Any] = {"faces": (12,)}
    return EdgeRound(radius_mm=radius, direction=UP, position_mm=(0.0, 0.0, 20.0), **{**given, **changes})


def chamfer(width: float = 1.0, angle: float = 45.0, **changes: Any) -> Chamfer:
    """Return a chamfer."""
    given: dict[str, Any] = {"faces": (13,)}
    return Chamfer(width_mm=width, angle_deg=angle, direction=UP, position_mm=(0.0, 0.0, 20.0), **{**given, **changes})


def groove(width: float = 2.0, depth: float = 1.5) -> Groove:
    """Return a groove on a shaft of 30."""
    return Groove(
        width_mm=width,
        depth_mm=depth,
        diameter_mm=30.0 - 2.0 * depth,
        side="outer",
        faces=(14,),
        direction=UP,
        position_mm=(0.0, 0.0, 10.0),
    )


def outer_round(diameter: float, length: float) -> OuterRound:
    """Return a turned diameter."""
    return OuterRound(diameter_mm=diameter, length_mm=length, faces=(0,), direction=UP, position_mm=(0.0, 0.0, 0.0))


def region(min_radius: float | None = None, **changes: Any) -> Region:
    """Return a free-form surface."""
    given: dict[str, Any] = {"faces": (15,), "area_mm2": 100.0}
    return Region(min_concave_radius_mm=min_radius, direction=UP, position_mm=(0.0, 0.0, 0.0), **{**given, **changes})


def stepped(*diameters: float) -> SteppedHole:
    """Return a hole of these diameters from the entry down, each 5 mm long."""
    return SteppedHole(
        diameter_mm=min(diameters),
        depth_mm=5.0 * len(diameters),
        through=True,
        bottom="through",
        segments=tuple(Segment(shape="cylinder", diameter_mm=d, depth_mm=5.0, end_diameter_mm=d) for d in diameters),
        faces=(16, 17),
        direction=UP,
        position_mm=(0.0, 0.0, 20.0),
    )


def wall(thickness: float, faces: tuple[int, ...] = (0, 2), kind: str = "wall", area: float = 200.0) -> ThinPlace:
    """Return a thin place."""
    return ThinPlace(thickness_mm=thickness, point_mm=(1.0, 2.0, 3.0), faces=faces, area_mm2=area, kind=kind)


MILLED = MadeBy(process="milled", why="flat faces all round")

# --- shop and case --------------------------------------------------------------------------------------------------


def end_mill(diameter: float, reach: float, **changes: Any) -> Cutter:
    """Return a flat end mill named after its diameter."""
    given: dict[str, Any] = {"id": f"EM{diameter:g}", "kind": "flat", "flute_length_mm": min(reach, 2.0 * diameter)}
    return Cutter(diameter_mm=diameter, reach_mm=reach, **{**given, **changes})


def drill(diameter: float, reach: float = 100.0) -> Cutter:
    """Return a drill named after its diameter."""
    return Cutter(
        id=f"D{diameter:g}",
        kind="drill",
        diameter_mm=diameter,
        flute_length_mm=reach,
        reach_mm=reach,
        point_angle_deg=118.0,
    )


CUTTERS = (
    end_mill(2.0, 6.0),
    end_mill(6.0, 20.0),
    end_mill(10.0, 40.0),
    end_mill(16.0, 60.0),
    end_mill(10.0, 35.0, id="BN10", kind="bull", corner_radius_mm=1.0),
    end_mill(6.0, 25.0, id="BALL6", kind="ball", corner_radius_mm=3.0),
    drill(5.0),
    drill(6.6),
    drill(8.0),
)

MILL = Machine(
    id="M1",
    name="bed mill",
    kind="mill",
    axes=3,
    travel_mm=(500.0, 400.0, 300.0),
    max_rpm=8000,
    power_kw=11,
    rate_per_hour=60,
    tool_change_s=8,
)
LATHE = replace(MILL, id="L1", name="flat-bed lathe", kind="lathe", axes=2, travel_mm=(250.0, 250.0, 550.0))
ALUMINIUM = Material(
    id="AL",
    name="aluminium",
    density_kg_m3=2700,
    cutting_speed_m_min=300,
    feed_per_tooth_ratio=0.008,
    min_wall_mm=1.0,
    source="invented for these tests",
)


def shop(**changes: Any) -> Shop:
    """Return an invented shop with the cutters, machines and material above; cutters roll in 1/0.9 their radius."""
    given: dict[str, Any] = {
        "name": "Test Shop",
        "unit": "mm",
        "machines": (MILL, LATHE),
        "cutters": CUTTERS,
        "holders": (Holder(id="ER", diameter_mm=40.0, length_mm=60.0),),
        "materials": (ALUMINIUM,),
        "default_material": "AL",
        "stock_allowance_mm": 2.0,
        "grip_mm": 5.0,
        "vise_opening_mm": 150.0,
        "corner_clearance_ratio": 0.9,
        "scallop_height_mm": 0.01,
        "max_deflection_mm": 0.02,
        "setup_minutes": 30.0,
        "load_minutes": 2.0,
        "deburr_minutes_per_m": 3.0,
        "held_it_grade": 9,
        "max_setups": 4,
    }
    return Shop(**{**given, **changes})


def setup(name: str = "S1", features: tuple[str, ...] = (), **changes: Any) -> Setup:
    """Return a clamping on two sides of the block."""
    given: dict[str, Any] = {"direction": UP, "why": "reached from here", "vise_faces": (1, 3), "grip_width_mm": 40.0}
    return Setup(id=name, features=features, **{**given, **changes})


def plan(
    setups: tuple[Setup, ...] = (setup(),),
    unmade: tuple[Unmade, ...] = (),
    stock: Vec = (64.0, 44.0, 24.0),
    tools: tuple[CutterUse, ...] = (),
) -> Plan:
    """Return a plan with these clampings."""
    return Plan(
        machine="M1",
        stock_mm=stock,
        removed_mm3=20000.0,
        setups=setups,
        tools=tools,
        unmade=unmade,
        minutes=Minutes(low=10.0, likely=15.0, high=25.0),
        setup_minutes=30.0 * len(setups),
        assumptions=("invented",),
    )


def case(
    *features: Feature,
    part: Part | None = None,
    walls: Iterable[ThinPlace] = (),
    measures: Iterable[Measure] = (),
    patterns: Iterable[Pattern] = (),
    made_by: MadeBy = MILLED,
    plan_: Plan | None = None,
    shop_: Shop | None = None,
    unit: str = "mm",
    n_bodies: int = 1,
) -> Case:
    """Return a case; features without an id are numbered F1, F2, ..."""
    solid = part or pocketed_block()
    named = tuple(each if each.id else replace(each, id=f"F{i}") for i, each in enumerate(features, start=1))
    used = shop_ or shop()
    facts = Facts(
        part=solid,
        features=named,
        face_class=tuple(OUTER for _ in range(solid.n_faces)),
        patterns=tuple(patterns),
        measures=tuple(measures),
        walls=tuple(sorted(walls, key=lambda each: each.thickness_mm)),
        made_by=made_by,
    )
    return Case(
        facts=facts,
        plan=plan_ or plan(),
        settings=Settings(shop=used, policy=Policy(name="none", fail_levels=()), material=used.materials[0]),
        source=Source(file_name="plate.step", sha256="0" * 64, size_bytes=1000, length_unit=unit),
        n_bodies=n_bodies,
    )


def ask(rule: str, one: Case, **overrides: float) -> list[Finding]:
    """Return what one rule says about a case; `overrides` are the shop's figures for its limits."""
    own = [LimitOverride(rule=rule, limit=name, value=value) for name, value in overrides.items()]
    return list(import_module(f"analyzers.rules.{rule}").check(one, load_limits(rule, own)))


def told(finding: Finding) -> tuple[Any, ...]:
    """Return level, measured and limit of a finding."""
    return (finding.level, finding.measured, finding.limit)


def levels(findings: Iterable[Finding]) -> list[str]:
    """Return the levels of findings."""
    return [each.level for each in findings]
