"""One pass from a solid's B-rep into the read-only arrays of model.part.Part."""

import math
from collections import Counter

import numpy as np
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Solid

from analyzers.errors import KernelFailure
from analyzers.kernel.edges import EdgeTable, angle_through_material, faces_of_edges, free_normal, read_edges
from analyzers.kernel.explore import distinct
from analyzers.kernel.faults import CHECK_EDGES, CHECK_LOOPS, faults, largest_gap_mm
from analyzers.kernel.mass import areas, volume
from analyzers.kernel.mesh import box_around, chord_for, triangulate
from analyzers.kernel.surfaces import SurfaceRow, bend_radii, is_free, read_surface
from analyzers.kernel.turns import spans
from analyzers.model.arrays import Bools, Floats, Ints, triangle_normals, unit, vec, widest_mm
from analyzers.model.part import Curve, Fault, Mesh, Part, Surface

_FREE = (Surface.REVOLUTION, Surface.EXTRUSION, Surface.BSPLINE, Surface.OTHER)


def faces_of(solid: TopoDS_Solid) -> list[TopoDS_Face]:
    """Return the solid's faces in the kernel's order, the order of every `face_*` array."""
    return [TopoDS.Face(each) for each in distinct(solid, TopAbs_ShapeEnum.TopAbs_FACE)]


def read_part(solid: TopoDS_Solid, name: str, count: int) -> Part:
    """Return the solid as arrays.

    Raises
    ------
    KernelFailure : OpenCascade raised, or the geometry is empty or not finite
    """
    try:
        return _read(solid, name, count)
    except KernelFailure:
        raise
    except Exception as error:  # OpenCascade's exception classes share no importable base
        raise KernelFailure(f"the solid's geometry could not be read: {error}") from error


def _read(solid: TopoDS_Solid, name: str, count: int) -> Part:
    faces = faces_of(solid)
    table = read_edges(solid, faces)
    points = _points_of(table)
    box = box_around(faces, points)
    mesh = triangulate(solid, faces, chord_for(widest_mm(points) or float(np.linalg.norm(box[1] - box[0]))), box)
    adaptors = [BRepAdaptor_Surface(face) for face in faces]
    rows = [read_surface(face, adaptor) for face, adaptor in zip(faces, adaptors, strict=True)]

    surface = np.array([row.kind for row in rows], dtype=np.int64)
    origin, axis = (np.array([getattr(row, key) for row in rows]) for key in ("origin", "axis"))
    radius, tube, half = (
        np.array([getattr(row, key) for row in rows]) for key in ("radius", "tube_radius", "half_angle_deg")
    )
    point, mesh_normal = _inner_points(mesh, len(faces))
    axis[surface == Surface.PLANE] *= np.where(
        np.einsum("ij,ij->i", axis, mesh_normal)[surface == Surface.PLANE, None] < 0, -1.0, 1.0
    )
    _turn_cones(axis, origin, point, surface)
    natural = _natural_normals(surface, origin, axis, radius, point, mesh_normal)
    with np.errstate(invalid="ignore"):
        concave = (surface != Surface.PLANE) & (np.einsum("ij,ij->i", natural, mesh_normal) < 0)
    normal = np.where(concave[:, None], -natural, natural)
    span, along = spans(mesh, surface, origin, axis)
    hidden = np.array([is_free(adaptor) for adaptor in adaptors]) & ~np.isin(surface, _FREE)
    area, centroid = areas(faces, mesh, _polygons(surface, table), hidden)
    inside_mm3, middle = volume(faces, hidden, box.mean(axis=0))
    _refuse_boundless(inside_mm3, area, box)
    edge_faces, edge_angle = _edge_angles(
        faces, adaptors, table, _Shapes(surface, origin, axis, radius, concave, mesh_normal)
    )
    free_radii = _free_radii(faces, adaptors, rows)
    found = _faults(solid, faces, table)
    return Part(
        name=name,
        count=count,
        valid=not found,
        closed=bool(np.all((edge_faces >= 0).all(axis=1) | (np.array(table.curve) == Curve.DEGENERATE))),
        volume_mm3=inside_mm3,
        area_mm2=float(area.sum()),
        centroid_mm=vec(middle),
        box_mm=box,
        face_surface=surface,
        face_area_mm2=area,
        face_centroid_mm=centroid,
        face_point_mm=point,
        face_normal=normal,
        face_origin_mm=origin,
        face_axis=axis,
        face_radius_mm=radius,
        face_tube_radius_mm=tube,
        face_half_angle_deg=half,
        face_concave=concave,
        face_span_deg=span,
        face_along_mm=along,
        face_min_radius_mm=free_radii[:, 0],
        face_ball_radius_mm=free_radii[:, 1:],
        edge_curve=np.array(table.curve, dtype=np.int64),
        edge_length_mm=np.array(table.length, dtype=float),
        edge_faces=edge_faces,
        edge_angle_deg=edge_angle,
        edge_mid_mm=np.array(table.mid, dtype=float).reshape(-1, 3),
        edge_tangent=np.array(table.tangent, dtype=float).reshape(-1, 3),
        edge_vertices=np.array(table.vertices, dtype=np.int64).reshape(-1, 2),
        edge_centre_mm=np.array(table.centre, dtype=float).reshape(-1, 3),
        edge_axis=np.array(table.axis, dtype=float).reshape(-1, 3),
        edge_radius_mm=np.array(table.radius, dtype=float),
        vertex_mm=np.array(table.vertex, dtype=float).reshape(-1, 3),
        coedge_face=np.array(table.coedge_face, dtype=np.int64),
        coedge_edge=np.array(table.coedge_edge, dtype=np.int64),
        coedge_loop=np.array(table.coedge_loop, dtype=np.int64),
        mesh=mesh,
        faults=found,
        gap_mm=largest_gap_mm(solid),
    )


def _refuse_boundless(inside_mm3: float, area_mm2: Floats, box: Floats) -> None:
    """Raise KernelFailure where the faces reach beyond all measure: nothing can be larger than what it lies in."""
    across = float(np.linalg.norm(box[1] - box[0]))
    layers = float(area_mm2.sum()) / across**2 if across else 1.0  # an open skin may be wound up
    if not abs(inside_mm3) <= max(layers, 1.0) * across**3:
        raise KernelFailure(
            f"the solid's volume comes out as {inside_mm3:.3g} mm³ though it lies in a box of {across:.6g} mm from "
            "corner to corner: its surfaces are not where its edges are"
        )


def _points_of(table: EdgeTable) -> Floats:
    """Return (N, 3) corners and middles of edges: how far apart they lie is a solid's size, however it lies."""
    points = np.array([*table.vertex, *table.mid], dtype=float).reshape(-1, 3)
    known: Floats = points[np.isfinite(points).all(axis=1)]
    return known


def _inner_points(mesh: Mesh, n_faces: int) -> tuple[Floats, Floats]:
    """Return (F, 3) the middle of each face's largest triangle and (F, 3) that triangle's outward normal."""
    corner = mesh.point_mm[mesh.triangle]
    cross = triangle_normals(corner)
    size = np.linalg.norm(cross, axis=1)
    order = np.lexsort((size, mesh.triangle_face))
    last = np.flatnonzero(np.diff(np.append(mesh.triangle_face[order], n_faces)))
    pick = order[last]
    point, normal = np.full((n_faces, 3), math.nan), np.full((n_faces, 3), math.nan)
    owner = mesh.triangle_face[pick]
    point[owner] = corner[pick].mean(axis=1)
    normal[owner] = unit(cross[pick])
    return point, normal


def _turn_cones(axis: Floats, origin: Floats, point: Floats, surface: Ints) -> None:
    """Turn each cone's axis so that it points from the tip into the face (in place)."""
    cone = surface == Surface.CONE
    against = np.einsum("ij,ij->i", axis[cone], point[cone] - origin[cone]) < 0
    axis[cone] = np.where(against[:, None], -axis[cone], axis[cone])


def _natural_normals(
    surface: Ints, origin: Floats, axis: Floats, radius: Floats, point: Floats, fallback: Floats
) -> Floats:
    """Return (N, 3) unit normals at the points, away from the axis, centre or tube; planes: their normal.

    Free surfaces give the fallback.
    """
    offset = point - origin
    along = np.einsum("ij,ij->i", offset, axis)[:, None] * axis
    radial = unit(offset - along)
    normal = fallback.copy()
    normal[surface == Surface.PLANE] = axis[surface == Surface.PLANE]
    normal[surface == Surface.CYLINDER] = radial[surface == Surface.CYLINDER]
    sphere = surface == Surface.SPHERE
    normal[sphere] = unit(offset[sphere])
    torus = surface == Surface.TORUS
    normal[torus] = unit(offset[torus] - radius[torus, None] * radial[torus])
    cone = surface == Surface.CONE
    if cone.any():  # perpendicular to the flank: the flank runs from the tip through the point
        flank = unit(offset[cone])
        normal[cone] = unit(radial[cone] - np.einsum("ij,ij->i", radial[cone], flank)[:, None] * flank)
    return normal


class _Shapes:
    """The columns that outward normals are made from."""

    def __init__(
        self, surface: Ints, origin: Floats, axis: Floats, radius: Floats, concave: Bools, fallback: Floats
    ) -> None:
        self.surface, self.origin, self.axis, self.radius = surface, origin, axis, radius
        self.sign = np.where(concave, -1.0, 1.0)
        self.fallback = fallback

    def outward(self, face: Ints, point: Floats) -> Floats:
        """Return (N, 3) outward normals of analytic faces at points on them."""
        natural = _natural_normals(
            self.surface[face], self.origin[face], self.axis[face], self.radius[face], point, self.fallback[face]
        )
        turned: Floats = natural * np.where(self.surface[face] == Surface.PLANE, 1.0, self.sign[face])[:, None]
        return turned


def _edge_angles(
    faces: list[TopoDS_Face], adaptors: list[BRepAdaptor_Surface], table: EdgeTable, shapes: _Shapes
) -> tuple[Ints, Floats]:
    """Return (E, 2) left and right face and (E,) angle through the material at mid-length; nan where it is open."""
    edge_faces, _ = faces_of_edges(table)
    mid = np.array(table.mid, dtype=float).reshape(-1, 3)
    tangent = np.array(table.tangent, dtype=float).reshape(-1, 3)
    normals = []
    for side in (0, 1):
        face = edge_faces[:, side]
        normal = shapes.outward(np.maximum(face, 0), mid)
        for edge in np.flatnonzero((face >= 0) & np.isin(shapes.surface[np.maximum(face, 0)], _FREE)).tolist():
            owner = int(face[edge])
            normal[edge] = free_normal(table.shapes[edge], table.mid_parameter[edge], faces[owner], adaptors[owner])
        normal[face < 0] = math.nan
        normals.append(normal)
    return edge_faces, angle_through_material(tangent, normals[0], normals[1])


def _polygons(surface: Ints, table: EdgeTable) -> Bools:
    """Return (F,) planes bounded by straight lines only."""
    bent = np.bincount(
        np.array(table.coedge_face, dtype=np.int64),
        weights=(np.array(table.curve)[np.array(table.coedge_edge)] != Curve.LINE).astype(float),
        minlength=len(surface),
    )
    straight: Bools = (surface == Surface.PLANE) & (bent == 0)
    return straight


def _faults(solid: TopoDS_Solid, faces: list[TopoDS_Face], table: EdgeTable) -> tuple[Fault, ...]:
    """Return what the kernel finds wrong; faces with very many loops or edges are not asked about."""
    if (
        max(table.coedge_loop, default=0) > CHECK_LOOPS
        or max(Counter(table.coedge_face).values(), default=0) > CHECK_EDGES
    ):
        return ()
    check = BRepCheck_Analyzer(solid)
    if check.IsValid():
        return ()
    return faults(check, solid, faces) or (Fault("invalid_geometry", None),)


def _free_radii(faces: list[TopoDS_Face], adaptors: list[BRepAdaptor_Surface], rows: list[SurfaceRow]) -> Floats:
    """Return (F, 3) of free faces the radii that `bend_radii` tells; nan for analytic faces.

    First the smallest hollow one, inf where nowhere hollow, then the least and the largest of a rolling ball.
    """
    radii = np.full((len(faces), 3), math.nan)
    for index, row in enumerate(rows):
        if row.kind in _FREE:
            outward = faces[index].Orientation() != TopAbs_Orientation.TopAbs_REVERSED
            radii[index] = bend_radii(faces[index], adaptors[index], outward)
    return radii
