"""A report's bodies as binary glTF 2.0: one mesh for each feature under its name, coloured by the class of its faces.

glTF is in metres with y up (Khronos glTF 2.0, 3.4), the model in millimetres with z up: the turn is in the node of
each body, so that the points themselves stay millimetres divided by a thousand.
"""

from collections.abc import Iterable
from typing import Final

import numpy as np
from trimesh import Scene, Trimesh
from trimesh.visual import TextureVisuals
from trimesh.visual.material import PBRMaterial

from analyzers.model.arrays import Ints
from analyzers.model.part import Mesh
from analyzers.model.report import Body, Report
from analyzers.report.palette import LOOKS, Look
from analyzers.report.text import clean

M_PER_MM: Final = 1e-3
_Z_UP_TO_Y_UP: Final = np.array([[1, 0, 0, 0], [0, 0, 1, 0], [0, -1, 0, 0], [0, 0, 0, 1]], dtype=float)
REST: Final = "other faces"


def to_glb(report: Report) -> bytes:
    """Return the file's bytes; its nodes are "B1 F3 ⌀6.6 THRU" and "B1 other faces".

    Raises
    ------
    ValueError : the report has no bodies
    """
    if not report.bodies:
        raise ValueError(f"{report.source.file_name}: found no body; expected one to draw")
    scene = Scene()
    for body in report.bodies:
        for name, faces, look in _pieces(body):
            mesh = _mesh(body.facts.part.mesh, faces, look)
            if mesh is not None:
                scene.add_geometry(mesh, node_name=name, geom_name=name, transform=_Z_UP_TO_Y_UP)
    return bytes(scene.export(file_type="glb"))


def _pieces(body: Body) -> Iterable[tuple[str, Ints, Look]]:
    """Yield name, faces and look of each feature, and of what belongs to none."""
    free = np.ones(body.facts.part.n_faces, dtype=bool)
    for each in body.facts.features:
        faces = np.array(each.faces, dtype=np.int64)
        free[faces] = False
        yield f"{body.id} {each.id} {clean(each.callout())}", faces, LOOKS[each.face_class]
    yield f"{body.id} {REST}", np.flatnonzero(free), LOOKS["outer"]


def _mesh(mesh: Mesh, faces: Ints, look: Look) -> Trimesh | None:
    triangles = mesh.triangle[mesh.rows_of(faces)]
    if not len(triangles):
        return None
    used, index = np.unique(triangles, return_inverse=True)
    colour = [*look.colour, 255]
    material = PBRMaterial(name=look.word, baseColorFactor=colour, metallicFactor=0.0, roughnessFactor=0.8)
    return Trimesh(
        mesh.point_mm[used] * M_PER_MM,
        index.reshape(triangles.shape),
        visual=TextureVisuals(material=material),
        process=False,
    )
