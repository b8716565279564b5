"""What follows from a plan once it stands: stick-outs, what stays uncut, access, room on machines, box, remarks."""

from dataclasses import replace

import numpy as np

from analyzers.features.hole import Hole
from analyzers.model.arrays import vec
from analyzers.model.feature import Feature
from analyzers.model.part import Part
from analyzers.model.plan import Access, CutterUse, Entry, Indexing, Plan, Room, Setup
from analyzers.model.report import Facts
from analyzers.plan.bench import Bench
from analyzers.plan.box import smallest_box
from analyzers.plan.directions import hidden_faces, milled_from_both_ends
from analyzers.plan.frame import Frame, parallel, same_way
from analyzers.plan.layout import Layout, takes
from analyzers.plan.reach import View
from analyzers.plan.stock import Blank
from analyzers.plan.threading import threads_not_timed
from analyzers.plan.uncut import MILLS, uncut
from analyzers.settings import Machine, Settings
from analyzers.tolerance import SQUARE_SIN


def completed(plan: Plan, facts: Facts, settings: Settings, layout: Layout) -> Plan:
    """Return the plan with what follows from it and from what its directions see.

    Costs about as much as the plan itself, so it is asked for once, not for every plan that is only tried.
    """
    views = _views(layout)
    size, axes = smallest_box(facts.part.mesh.point_mm, layout.frame)
    machines = {each.id: each for each in settings.shop.machines}
    return replace(
        plan,
        assumptions=(*plan.assumptions, *threads_not_timed(facts)),
        setups=tuple(
            replace(
                each,
                indexing=_indexing(each, machines.get(each.machine or ""), layout.frame),
                tall_ratio=_tall_ratio(each, facts.part),
            )
            for each in plan.setups
        ),
        tools=_with_stick_outs(plan.tools, facts, settings, layout, views),
        undercut_faces=_undercut(layout),
        access=_access(layout),
        entries=_entries(plan, views),
        uncut=uncut(facts, views, plan.tools, settings.shop),
        rooms=tuple(_room(each, layout.blank) for each in layout.machines),
        box_mm=vec(np.round(size, 6)),
        box_axes=(vec(axes[0]), vec(axes[1]), vec(axes[2])),
    )


def _indexing(setup: Setup, machine: Machine | None, frame: Frame) -> Indexing:
    """Return how a setup comes by its directions."""
    ways = np.array([setup.direction, *setup.indexed])
    if len(ways) > 1:
        about_one = np.linalg.svd(ways, compute_uv=False)[2:].max(initial=0.0) <= SQUARE_SIN
        return "3+1" if about_one else "3+2"
    if bool(parallel(ways[0], frame.axes).any()):
        return "none"
    swivels = machine is not None and machine.axes >= 5
    return "3+2" if swivels else "tilted"


def _tall_ratio(setup: Setup, part: Part) -> float | None:
    """Return how high the part stands in its clamping, by what the jaws span; None where they grip nothing."""
    if not setup.grip_width_mm:
        return None
    return float(np.ptp(part.mesh.point_mm @ np.array(setup.direction))) / setup.grip_width_mm


def _views(layout: Layout) -> dict[str, View]:
    """Return for each feature the view from the direction it is made from, where there is one."""
    return {
        feature.id: view
        for approach in layout.approaches
        if not approach.turned and (view := layout.view(approach.direction)) is not None
        for feature in approach.features
    }


def _undercut(layout: Layout) -> tuple[int, ...]:
    """Return the faces that a straight cutter does not see from where their feature is made, as in T-slots.

    Holes are left out, whose far parts are cut from the other end, and what is turned.
    """
    found: set[int] = set()
    for approach in layout.approaches:
        if not approach.turned:
            made = {face for each in approach.features if not isinstance(each, Hole) for face in each.faces}
            found.update(hidden_faces(layout.coverage, approach.direction, made))
    return tuple(sorted(found))


def _with_stick_outs(
    uses: tuple[CutterUse, ...], facts: Facts, settings: Settings, layout: Layout, views: dict[str, View]
) -> tuple[CutterUse, ...]:
    """Return the uses with the least stick-out of each end mill and drill, over the features that have a view."""
    known = {each.id: each for each in settings.shop.cutters if each.kind in (*MILLS, "drill")}
    features = {each.id: each for each in facts.features}
    machine = settings.shop.machines[0]  # no machine changes how long a cutter must be
    done = []
    for use in uses:
        cutter = known.get(use.cutter)
        lengths = []
        for name in use.features if cutter is not None else ():
            view = views.get(name)
            if cutter is None or view is None or name not in view.around:
                continue
            bench = Bench.of(facts.part, settings, machine, layout.frame.axes, around=view.around)
            depth = _depth_mm(features[name], view, bench)
            if depth is not None:
                lengths.append(bench.stick_out_mm(cutter, name, depth))
        if cutter is not None and lengths:
            holder = Bench.of(facts.part, settings, machine, layout.frame.axes).holder(cutter)
            done.append(replace(use, stick_out_mm=max(lengths), holder=holder.id))
        else:
            done.append(use)
    return tuple(done)


def _depth_mm(feature: Feature, view: View, bench: Bench) -> float | None:
    """Return how far a cutter goes down: depth or height, half of what is cut from both ends; from aside the extent."""
    if bool(same_way(view.direction, np.array(feature.direction))):
        own: float | None = getattr(feature, "depth_mm", None) or getattr(feature, "height_mm", None)
        if own is not None:
            return own / 2.0 if milled_from_both_ends(feature, bench.wall_reach_mm) else own
    return bench.extent_mm(feature.faces, view.direction)


def _access(layout: Layout) -> tuple[Access, ...]:
    """Return the faces that each direction reaches whole."""
    coverage = layout.coverage
    return tuple(
        Access(direction=vec(np.round(direction, 12) + 0.0), faces=tuple(np.flatnonzero(reached).tolist()))
        for direction, reached in zip(coverage.directions, coverage.face_reached.T, strict=True)
    )


def _entries(plan: Plan, views: dict[str, View]) -> tuple[Entry, ...]:
    """Return which cutters go into each cavity, in the order of the setups."""
    found = []
    for setup in plan.setups:
        for name in setup.features:
            known = views[name].around.get(name) if name in views else None
            if known is None or known.enters_mm is None or known.finishes_mm is None:
                continue
            entry = Entry(
                feature=name,
                setup=setup.id,
                enters_mm=round(known.enters_mm, 3),
                finishes_mm=round(known.finishes_mm, 3),
                resolution_mm=round(known.resolution_mm, 3),
            )
            found.append(entry)
    return tuple(found)


def _room(machine: Machine, blank: Blank) -> Room:
    """Return what a machine's travels leave beside a blank that is laid longest along longest."""
    order = np.argsort(machine.travel_mm, kind="stable")
    spare = np.zeros(3)
    spare[order] = np.sort(machine.travel_mm) - np.sort(blank.size_mm)
    return Room(machine=machine.id, takes=takes(machine, blank), spare_mm=vec(np.round(spare, 3)))
