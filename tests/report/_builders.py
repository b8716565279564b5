"""Small whole reports, built from real dataclasses with numbers chosen here: the truth that the tests expect."""

from dataclasses import replace
from typing import Any

import numpy as np

from analyzers.features.fillet import Fillet
from analyzers.features.hole import CounterboreHole, RoundHole
from analyzers.features.pocket import ClosedPocket
from analyzers.model.arrays import Floats, Ints, Vec
from analyzers.model.feature import NOTHING, FaceClass, Gap, Pattern
from analyzers.model.finding import Finding
from analyzers.model.health import Health
from analyzers.model.measure import Measure, ThinPlace
from analyzers.model.part import Curve, Mesh, Part, Surface
from analyzers.model.plan import CutterUse, Minutes, Plan, Setup, TimeShare, Uncut, Unmade
from analyzers.model.report import Body, Facts, MadeBy, Report, SettingsUsed
from analyzers.model.source import Problem, Source
from analyzers.model.triage import Driver, Triage
from analyzers.report.health import unusable

SIZE: Vec = (80.0, 50.0, 20.0)
HOLE_XY = (25.0, 30.0)  # off-centre on purpose
HOLE_D = 12.0
GAP = Gap(like="F1", expected="⌀12 THRU", found=NOTHING)
AROUND = 48  # mesh points round the hole
HOLE_FACE = 6
TOP_FACE = 5

_BOX = np.array([[x, y, z] for z in (0, 1) for y in (0, 1) for x in (0, 1)], dtype=float)
_SIDES = {  # corners of each side, counter-clockwise seen from outside
    0: (0, 4, 6, 2),  # -x
    1: (1, 3, 7, 5),  # +x
    2: (0, 1, 5, 4),  # -y
    3: (2, 6, 7, 3),  # +y
}


def _plate_mesh() -> Mesh:
    """Return the mesh of a plate with one round hole through it; faces -x +x -y +y bottom top hole."""
    points: list[Floats] = list(_BOX * np.array(SIZE))
    triangles: list[tuple[int, int, int]] = []
    faces: list[int] = []
    for face, (a, b, c, d) in _SIDES.items():
        triangles += [(a, b, c), (a, c, d)]
        faces += [face, face]
    around = np.linspace(0.0, 2.0 * np.pi, AROUND, endpoint=False)
    corners = _BOX[:4, :2] * np.array(SIZE[:2]) - np.array(HOLE_XY)
    turn = np.unique(np.concatenate([around, np.arctan2(corners[:, 1], corners[:, 0]) % (2.0 * np.pi)]))
    ring = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    centre = np.array(HOLE_XY)
    with np.errstate(divide="ignore"):
        reach = np.where(ring > 0, (np.array(SIZE[:2]) - centre) / ring, -centre / ring)
    border = centre + ring * np.nanmin(np.where(ring == 0, np.inf, reach), axis=1, keepdims=True)
    start: dict[tuple[str, int], int] = {}
    for name, xy in (("hole", centre + ring * HOLE_D / 2), ("border", border)):
        for level, z in enumerate((0.0, SIZE[2])):
            start[name, level] = len(points)
            points += [np.array([x, y, z]) for x, y in xy]
    for i in range(len(turn)):
        j = (i + 1) % len(turn)
        for level, face in ((1, TOP_FACE), (0, 4)):
            inner, outer = start["hole", level], start["border", level]
            quad = (inner + i, outer + i, outer + j, inner + j)
            a, b, c, d = quad if level else quad[::-1]
            triangles += [(a, b, c), (a, c, d)]
            faces += [face, face]
        low, high = start["hole", 0], start["hole", 1]
        triangles += [(low + i, high + j, low + j), (low + i, high + i, high + j)]
        faces += [HOLE_FACE, HOLE_FACE]
    by_face = np.argsort(faces, kind="stable")
    return Mesh(
        point_mm=np.array(points),
        triangle=np.array(triangles, dtype=np.int64)[by_face],
        triangle_face=np.array(faces, dtype=np.int64)[by_face],
        chord_mm=0.05,
    )


def _faces(mesh: Mesh, n_faces: int) -> tuple[Floats, Floats, Floats]:
    corner = mesh.point_mm[mesh.triangle]
    cross = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]) / 2.0
    area = np.zeros(n_faces)
    np.add.at(area, mesh.triangle_face, np.linalg.norm(cross, axis=1))
    centroid = np.zeros((n_faces, 3))
    np.add.at(centroid, mesh.triangle_face, corner.mean(axis=1) * np.linalg.norm(cross, axis=1)[:, None])
    normal = np.zeros((n_faces, 3))
    np.add.at(normal, mesh.triangle_face, cross)
    return area, centroid / area[:, None], normal


def plate(name: str = "Clamp plate", count: int = 1) -> Part:
    """Return a plate 80 x 50 x 20 mm with one hole of 12 mm through it at (25, 30)."""
    mesh = _plate_mesh()
    n = 7
    area, centroid, normal = _faces(mesh, n)
    normal[HOLE_FACE] = (-1.0, 0.0, 0.0)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    nan, radius = np.full(n, np.nan), np.full(n, np.nan)
    radius[HOLE_FACE] = HOLE_D / 2
    surface: Ints = np.full(n, Surface.PLANE, dtype=np.int64)
    surface[HOLE_FACE] = Surface.CYLINDER
    point = centroid.copy()
    point[HOLE_FACE] = (HOLE_XY[0] + HOLE_D / 2, HOLE_XY[1], SIZE[2] / 2)
    point[[4, TOP_FACE], 0] = 60.0  # away from the hole
    axis = normal.copy()
    axis[HOLE_FACE] = (0.0, 0.0, 1.0)
    concave = surface == Surface.CYLINDER
    edge_faces = [(a, b) for a in (0, 1) for b in (2, 3, 4, 5)] + [(a, b) for a in (2, 3) for b in (4, 5)]
    edge_faces += [(4, HOLE_FACE), (TOP_FACE, HOLE_FACE)]
    e = len(edge_faces)
    volume = SIZE[0] * SIZE[1] * SIZE[2] - np.pi * HOLE_D**2 / 4 * SIZE[2]
    return Part(
        name=name,
        count=count,
        valid=True,
        closed=True,
        volume_mm3=float(volume),
        area_mm2=float(area.sum()),
        centroid_mm=(40.9, 24.7, 10.0),
        box_mm=np.array([[0.0, 0.0, 0.0], SIZE]),
        face_surface=surface,
        face_area_mm2=area,
        face_centroid_mm=centroid,
        face_point_mm=point,
        face_normal=normal,
        face_origin_mm=point.copy(),
        face_axis=axis,
        face_radius_mm=radius,
        face_tube_radius_mm=nan.copy(),
        face_half_angle_deg=nan.copy(),
        face_concave=concave,
        face_span_deg=np.where(concave, 360.0, np.nan),
        face_along_mm=np.full((n, 2), np.nan),
        face_min_radius_mm=np.full(n, np.inf),
        face_ball_radius_mm=np.full((n, 2), np.nan),
        edge_curve=np.array([Curve.LINE] * 12 + [Curve.CIRCLE] * 2, dtype=np.int64),
        edge_length_mm=np.full(e, 1.0),
        edge_faces=np.array(edge_faces, dtype=np.int64),
        edge_angle_deg=np.full(e, 90.0),
        edge_mid_mm=np.zeros((e, 3)),
        edge_tangent=np.tile([1.0, 0.0, 0.0], (e, 1)),
        edge_vertices=np.zeros((e, 2), dtype=np.int64),
        edge_centre_mm=np.full((e, 3), np.nan),
        edge_axis=np.full((e, 3), np.nan),
        edge_radius_mm=np.full(e, np.nan),
        vertex_mm=_BOX * np.array(SIZE),
        coedge_face=np.zeros(0, dtype=np.int64),
        coedge_edge=np.zeros(0, dtype=np.int64),
        coedge_loop=np.zeros(0, dtype=np.int64),
        mesh=mesh,
    )


def hole(number: int = 1, **changes: Any) -> RoundHole:
    """Return a through hole; keyword arguments replace its fields."""
    plain = RoundHole(
        faces=(HOLE_FACE,),
        direction=(0.0, 0.0, 1.0),
        position_mm=(*HOLE_XY, SIZE[2]),
        id=f"F{number}",
        fingerprint=f"hole-{number}",
        why="One concave cylinder, open at both ends.",
        diameter_mm=HOLE_D,
        depth_mm=SIZE[2],
        through=True,
        bottom="through",
        depth_ratio=SIZE[2] / HOLE_D,
    )
    return replace(plain, **changes)


def finding(**changes: Any) -> Finding:
    """Return a warning about the hole; keyword arguments replace its fields."""
    plain = Finding(
        rule="hole_off_drill_size",
        level="warning",
        message="Hole ⌀12 sits 3 mm from a wall.",
        suggestion="Move it 2 mm inwards.",
        effect="One cutter less.",
        feature="F1",
        faces=(HOLE_FACE,),
        measured=3.0,
        limit=5.0,
        unit="mm",
        basis="judgement: made for this test",
        fingerprint="finding-1",
    )
    return replace(plain, **changes)


def facts(part: Part | None = None) -> Facts:
    """Return the facts of the plate: its hole, a thin place, measures with and without a value."""
    part = part or plate()
    classes: tuple[FaceClass, ...] = ("outer",) * 6 + ("hole",)
    return Facts(
        part=part,
        features=(hole(),),
        face_class=classes,
        patterns=(Pattern("mirror", ("F1",), ((55.0, 30.0, 20.0),), (GAP,)),),
        measures=(
            Measure(
                name="max_hole_depth_ratio",
                value=SIZE[2] / HOLE_D,
                point_mm=(*HOLE_XY, SIZE[2]),
                faces=(HOLE_FACE,),
                feature="F1",
            ),
            Measure(name="min_internal_radius_mm", value=None, why_none="there is no inside corner", applies=False),
            Measure(name="sharp_internal_corners", value=0.0, point_mm=None),
            Measure(name="min_wall_mm", value=14.0, point_mm=(25.0, 36.0, 10.0), faces=(3, HOLE_FACE)),
        ),
        walls=(ThinPlace(thickness_mm=14.0, point_mm=(25.0, 36.0, 10.0), faces=(HOLE_FACE, 3), area_mm2=90.0),),
        made_by=MadeBy(process="milled", why="Flat faces at right angles and no common axis."),
    )


def plan(**changes: Any) -> Plan:
    """Return a plan with one setup and one drill; keyword arguments replace its fields."""
    plain = Plan(
        machine="mill-3",
        stock_mm=(84.0, 54.0, 24.0),
        removed_mm3=31_000.0,
        setups=(
            Setup(
                id="S1",
                direction=(0.0, 0.0, 1.0),
                features=("F1",),
                why="The hole opens upwards.",
                vise_faces=(2, 3),
                grip_width_mm=50.0,
            ),
        ),
        tools=(CutterUse(cutter="drill 12", features=("F1",), setup="S1", minutes=1.25),),
        unmade=(),
        minutes=Minutes(low=6.0, likely=9.0, high=15.0),
        setup_minutes=20.0,
        stock_form="plate",
        stock_why="The next plate on the shelf.",
        time_shares=(TimeShare(name="drill", minutes=6.0), TimeShare(name="tool_changes", minutes=3.0)),
        assumptions=("Stock is sawn 2 mm over size on each side.",),
    )
    return replace(plain, **changes)


def body(number: int = 1, part: Part | None = None, **changes: Any) -> Body:
    """Return the plate with its judgement; keyword arguments replace fields of the body."""
    plain = Body(
        id=f"B{number}",
        facts=facts(part),
        plan=plan(),
        findings=(finding(),),
        questions=("Is the 12 mm hole for a dowel pin? The model gives no tolerance.",),
        triage=Triage(
            difficulty=14.0,
            bucket="routine",
            drivers=(Driver(name="edge distance", points=14.0, why="One hole sits close to a wall."),),
            machining_minutes=Minutes(low=6.0, likely=9.0, high=15.0),
            summary="One plain hole from one side.",
        ),
    )
    return replace(plain, **changes)


def report(*bodies: Body, **changes: Any) -> Report:
    """Return a whole report; without bodies it holds the plate."""
    plain = Report(
        status="complete",
        source=Source(
            file_name="clamp_plate.step",
            sha256="ab" * 32,
            size_bytes=20_480,
            step_schema="AP214",
            length_unit="mm",
            originating_system="made for a test",
            product_name="Clamp plate",
            time_stamp="2024-05-06T07:08:09",
        ),
        settings=SettingsUsed(
            shop="Example shop", policy="default", material="aluminium_6082", quantity=1, digest="cd" * 32
        ),
        health=Health(contents="solid"),
        timings_s={"load": 0.02, "total": 0.05},
        bodies=bodies or (body(),),
    )
    return replace(plain, **changes)


NO_STEP = "This is a PNG picture; expected a STEP file (ISO 10303-21)."


def unreadable() -> Report:
    """Return the report of a file that is no STEP file."""
    return report(
        status="unreadable",
        bodies=(),
        health=unusable("not_step", NO_STEP),
        problems=(Problem("load", NO_STEP, None),),
    )


def with_many_features() -> Report:
    """Return a report with equal holes, a counterbore, a pocket and a fillet, three levels of findings, one unmade."""
    extra = (
        hole(),
        hole(2),
        hole(3, diameter_mm=5.0, depth_mm=12.0, through=False, bottom="conical", point_angle_deg=118.0),
        CounterboreHole(
            faces=(),
            direction=(0.0, 0.0, 1.0),
            position_mm=(60.0, 20.0, 20.0),
            id="F4",
            fingerprint="bore",
            diameter_mm=6.6,
            depth_mm=13.6,
            through=True,
            bottom="through",
            counterbore_diameter_mm=11.0,
            counterbore_depth_mm=6.4,
        ),
        ClosedPocket(
            faces=(TOP_FACE,),
            direction=(0.0, 0.0, 1.0),
            position_mm=(55.0, 25.0, 20.0),
            id="F5",
            fingerprint="pocket",
            depth_mm=12.0,
            length_mm=30.0,
            width_mm=20.0,
            through=False,
            corner_radius_mm=4.0,
            floor_radius_mm=0.0,
            floor_thickness_mm=8.0,
            depth_ratio=1.5,
        ),
        Fillet(
            faces=(0,), direction=(0.0, 0.0, 1.0), position_mm=(0.0, 0.0, 0.0), id="F6", fingerprint="f", radius_mm=4.0
        ),
    )
    classes: tuple[FaceClass, ...] = ("fillet", "outer", "outer", "outer", "outer", "pocket", "hole")
    full = replace(facts(), features=extra, face_class=classes)
    said = (
        finding(rule="sharp_corner", level="error", message="Inside corner has no radius.", feature="F5", faces=(5,)),
        finding(),
        finding(rule="small_fillet", level="note", message="R4 asks for a cutter of 8 mm.", feature="F6", faces=(0,)),
    )
    hard = plan(
        unmade=(Unmade(feature="F5", why="No cutter reaches 12 mm with a 0 mm floor radius."),),
        uncut=(
            Uncut(
                feature="F5", setup="S1", cutter="flat 8", area_mm2=4.0, volume_mm3=48.0, faces=(5,), resolution_mm=0.1
            ),
        ),
    )
    return report(body(facts=full, findings=said, plan=hard))
