"""What the tests of recognition share: shapes to cut with, what is recognised on a solid, and how it is compared."""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepPrimAPI import (
    BRepPrimAPI_MakeBox,
    BRepPrimAPI_MakeCone,
    BRepPrimAPI_MakeCylinder,
    BRepPrimAPI_MakeSphere,
    BRepPrimAPI_MakeTorus,
)
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf
from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain
from OCP.TopoDS import TopoDS_Shape

from analyzers.features import recognise
from analyzers.model.feature import Feature
from analyzers.model.report import Facts
from fixtures.make.vocabulary.draw import Point2, polygon, prism, wire
from fixtures.make.vocabulary.stock import block
from fixtures.make.vocabulary.work import Vec, Work
from tests.kernel._solids import loaded, mirrored_in, moved, turned_by

Build = Callable[[], Work | TopoDS_Shape]
Said = dict[str, Any]

Z: Vec = (0.0, 0.0, 1.0)
AS_BUILT = turned_by(Z, 0.0)
ASKEW = turned_by((0.3, -0.5, 0.8), 41.9, (31.7, -12.3, 55.1))
MIRRORED = mirrored_in((0.2, 0.9, 0.3), (5.0, 1.0, 2.0))
POSES = {"as-built": AS_BUILT, "askew": ASKEW, "mirrored": MIRRORED}
LENGTH_MM, ANGLE_DEG = 1e-3, 0.01


def box(low: Vec, high: Vec) -> TopoDS_Shape:
    """Return the block between two corners."""
    return BRepPrimAPI_MakeBox(gp_Pnt(*low), gp_Pnt(*high)).Shape()


def rod(foot: Vec, diameter: float, height: float, axis: Vec = Z) -> TopoDS_Shape:
    """Return a cylinder."""
    return BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(*foot), gp_Dir(*axis)), diameter / 2, height).Shape()


def taper(foot: Vec, foot_diameter: float, top_diameter: float, height: float, axis: Vec = Z) -> TopoDS_Shape:
    """Return a cone's frustum."""
    place = gp_Ax2(gp_Pnt(*foot), gp_Dir(*axis))
    return BRepPrimAPI_MakeCone(place, foot_diameter / 2, top_diameter / 2, height).Shape()


def ball(centre: Vec, diameter: float) -> TopoDS_Shape:
    """Return a sphere."""
    return BRepPrimAPI_MakeSphere(gp_Pnt(*centre), diameter / 2).Shape()


def ring(centre: Vec, diameter: float, tube_diameter: float, axis: Vec = Z) -> TopoDS_Shape:
    """Return a torus."""
    place = gp_Ax2(gp_Pnt(*centre), gp_Dir(*axis))
    return BRepPrimAPI_MakeTorus(place, diameter / 2, tube_diameter / 2).Shape()


def upright(outline: Sequence[Point2], low: float, high: float) -> TopoDS_Shape:
    """Return the prism of a polygon in the xy plane."""
    return prism(polygon([(x, y, low) for x, y in outline]), (0.0, 0.0, high - low))


def swept(edges: Sequence[Any], rise: Vec) -> TopoDS_Shape:
    """Return the prism of a closed chain of edges."""
    return prism(wire(list(edges)), rise)


def cut(shape: TopoDS_Shape, *tools: TopoDS_Shape) -> TopoDS_Shape:
    """Return the shape without the tools."""
    for tool in tools:
        shape = BRepAlgoAPI_Cut(shape, tool).Shape()
    return shape


def common(first: TopoDS_Shape, second: TopoDS_Shape) -> TopoDS_Shape:
    """Return what two shapes share."""
    return BRepAlgoAPI_Common(first, second).Shape()


def joined(shape: TopoDS_Shape, *others: TopoDS_Shape) -> TopoDS_Shape:
    """Return the shapes as one solid whose faces stay split where the shapes met, as some exporters leave them."""
    for other in others:
        shape = BRepAlgoAPI_Fuse(shape, other).Shape()
    return shape


def merged(shape: TopoDS_Shape) -> TopoDS_Shape:
    """Return the shape with neighbouring faces and edges of one surface as one, as most exporters leave them."""
    merge = ShapeUpgrade_UnifySameDomain(shape, True, True, False)
    merge.Build()
    return merge.Shape()


def plate(size: Vec = (60.0, 40.0, 20.0)) -> Work:
    """Return a block with its low corner at the origin."""
    return block(size)


def shape_of(build: Build) -> TopoDS_Shape:
    """Return the shape that a builder makes."""
    made = build()
    return made.shape if isinstance(made, Work) else made


def recognised(build: Build, pose: gp_Trsf = ASKEW) -> Facts:
    """Return what is recognised on a built shape in a pose."""
    part, geometry = loaded(moved(shape_of(build), pose))
    return recognise(part, geometry)


def of_family(facts: Facts, family: type[Feature]) -> list[Feature]:
    """Return the features of one family."""
    return [each for each in facts.features if isinstance(each, family)]


def listed(features: Sequence[Feature]) -> list[str]:
    """Return features as short texts for messages."""
    return [f"{each.kind} {each.callout()} faces {each.faces}" for each in features]


def mismatch(said: Said, feature: Feature) -> list[str]:
    """Return where a feature differs from what was said about it: "kind" and any of its own fields."""
    fields = {"kind": feature.kind, "n_faces": len(feature.faces)} | feature.dimensions()
    return [
        f"{key}: expected {value}, got {fields.get(key)}"
        for key, value in said.items()
        if not agrees(key, value, fields.get(key, "no such field"))
    ]


def agrees(key: str, said: Any, got: Any) -> bool:
    """Return whether two values are one within a micrometre or a hundredth of a degree."""
    if isinstance(said, float) and isinstance(got, float):
        return abs(said - got) <= (ANGLE_DEG if key.endswith("_deg") else LENGTH_MM)
    return bool(said == got)


def differences(expected: Sequence[Said], found: Sequence[Feature]) -> list[str]:
    """Return what is missing, extra or off when each expectation takes the feature that fits it best."""
    left, texts = list(found), []
    for said in expected:
        if not left:
            texts.append(f"missing: {said}")
            continue
        best = min(left, key=lambda each: len(mismatch(said, each)))
        left.remove(best)
        texts += [f"{best.kind} {best.callout()}: {each}" for each in mismatch(said, best)]
    return texts + [f"extra: {each}" for each in listed(left)]


def every_face_once(facts: Facts) -> bool:
    """Return whether no face has two owners and every face's class is its owner's."""
    faces = [face for feature in facts.features for face in feature.faces]
    owner = {face: feature.face_class for feature in facts.features for face in feature.faces}
    right = all(facts.face_class[face] == owner.get(face, "outer") for face in range(facts.part.n_faces))
    return right and len(faces) == len(set(faces))


def looks(feature: Feature, pose: gp_Trsf, direction: Vec, either: bool = False) -> bool:
    """Return whether a feature's direction is the given one of the shape as built, in its pose."""
    matrix = np.array([[pose.Value(row, column) for column in (1, 2, 3)] for row in (1, 2, 3)])
    along = float(np.array(feature.direction) @ (matrix @ np.array(direction)))
    return (abs(along) if either else along) > 1.0 - 1e-6


def turned_axis(axis: Vec, pose: gp_Trsf, direction: Vec) -> bool:
    """Return whether an axis, in either sense, is the given direction of the shape as built, in its pose."""
    matrix = np.array([[pose.Value(row, column) for column in (1, 2, 3)] for row in (1, 2, 3)])
    return abs(float(np.array(axis) @ (matrix @ np.array(direction)))) > 1.0 - 1e-6


def placed(point: Vec, pose: gp_Trsf) -> Vec:
    """Return where a point of the posed part lies on the shape as built."""
    back = gp_Pnt(*point).Transformed(pose.Inverted())
    return (back.X(), back.Y(), back.Z())
