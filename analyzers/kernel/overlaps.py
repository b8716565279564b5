"""Bodies of one file that share room: two of them lie in one another, or in the same place."""

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Tool
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepClass3d import BRepClass3d_SolidClassifier
from OCP.gp import gp_Pnt
from OCP.IntTools import IntTools_Context
from OCP.TopAbs import TopAbs_ShapeEnum, TopAbs_State
from OCP.TopoDS import TopoDS, TopoDS_Shape, TopoDS_Solid

from analyzers.kernel.explore import explored, point_inside
from analyzers.model.arrays import Floats
from analyzers.tolerance import SAME_PLACE_MM

_BODIES_MOST: Final = 40  # more are an assembly, whose screws overlap their threads by custom
_MOST: Final = 60  # faces and corners of each body, evenly taken


def overlapping(solids: Sequence[TopoDS_Solid]) -> Iterator[tuple[int, int]]:
    """Yield the pairs of solids, by their places in the list, that share room.

    They do where a corner or a point inside a face of one lies inside the other, or where all such points lie on the
    other's skin. Two bars that cross away from all of these are missed.
    """
    if not 1 < len(solids) <= _BODIES_MOST:
        return
    boxes = [_box(each) for each in solids]
    context = IntTools_Context()
    points: dict[int, list[gp_Pnt]] = {}
    for one in range(len(solids)):
        for other in range(one + 1, len(solids)):
            room = np.minimum(boxes[one][1], boxes[other][1]) - np.maximum(boxes[one][0], boxes[other][0])
            if room.min() <= 2 * SAME_PLACE_MM:
                continue
            for each in (one, other):
                if each not in points:
                    points[each] = _points(solids[each], context)
            if _within(points[one], solids[other]) or _within(points[other], solids[one]):
                yield one, other


def _box(solid: TopoDS_Solid) -> Floats:
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(solid, box, False, False)
    low, high = box.CornerMin(), box.CornerMax()
    return np.array([low.Coord(), high.Coord()])


def _points(solid: TopoDS_Solid, context: IntTools_Context) -> list[gp_Pnt]:
    """Return a point inside each of the solid's faces and its corners, or of some of them, evenly taken."""
    corners = [BRep_Tool.Pnt_s(TopoDS.Vertex(each)) for each in _some(solid, TopAbs_ShapeEnum.TopAbs_VERTEX)]
    faces = _some(solid, TopAbs_ShapeEnum.TopAbs_FACE)
    inner = [point for face in faces if (point := point_inside(TopoDS.Face(face), context)) is not None]
    return inner + corners


def _some(solid: TopoDS_Solid, kind: TopAbs_ShapeEnum) -> list[TopoDS_Shape]:
    found = list(explored(solid, kind))
    return found[:: max(1, len(found) // _MOST)]


def _within(points: list[gp_Pnt], solid: TopoDS_Solid) -> bool:
    """Return whether one of the points lies inside the solid, or every one on its skin."""
    classifier = BRepClass3d_SolidClassifier(solid)
    on = 0
    for point in points:
        classifier.Perform(point, SAME_PLACE_MM)
        if classifier.State() == TopAbs_State.TopAbs_IN:
            return True
        on += classifier.State() == TopAbs_State.TopAbs_ON
    return bool(points) and on == len(points)
