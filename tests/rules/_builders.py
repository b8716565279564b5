"""Features, shops and cases to judge; all numbers in millimetres. The parts they are on stand in `_solids`."""

from collections.abc import Iterable
from dataclasses import replace
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
from analyzers.model.part import Part
from analyzers.model.plan import CutterUse, Minutes, Plan, Setup, Unmade
from analyzers.model.report import Facts, MadeBy
from analyzers.model.source import Source
from analyzers.rules._base import Case
from analyzers.rules._limits import load_limits
from analyzers.settings import Cutter, Holder, LimitOverride, Machine, Material, Policy, Settings, Shop
from tests.rules._solids import POCKET_FACES, TURN, UP, pocketed_block

OUTER: FaceClass = "outer"

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


def moved_feature(feature: Feature, turn: Floats = TURN, shift: Vec = (101.0, -57.0, 33.0)) -> Feature:
    """Return the same feature turned and shifted."""
    return replace(
        feature,
        direction=vec(np.array(feature.direction) @ turn.T),
        position_mm=vec(np.array(feature.position_mm) @ turn.T + np.array(shift)),
    )


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
    form: str = "block",
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
        stock_form=form,  # type: ignore[arg-type]  # one of the words
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
