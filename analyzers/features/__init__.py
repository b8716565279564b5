"""Recognises the machining features of one part from its arrays; one file per feature family."""

from dataclasses import replace

from analyzers.features._claims import settle
from analyzers.features._fingerprints import with_fingerprints
from analyzers.features._made_by import made_by
from analyzers.features._patterns import find_patterns
from analyzers.features._view import View
from analyzers.model.feature import FaceClass
from analyzers.model.geometry import Geometry
from analyzers.model.part import Part
from analyzers.model.report import Facts

__all__ = ["recognise"]


def recognise(part: Part, geometry: Geometry) -> Facts:
    """Return the part's features, patterns and process; measures are still empty.

    Features are numbered F1, F2, ... in the order of their lowest face. Every face has one class; a face that
    belongs to no feature is "outer".
    """
    view = View(part, geometry)
    found = settle(view) if part.area_mm2 > 0.0 else []  # a broken solid may have faces of no size
    named = with_fingerprints(view, sorted(found, key=lambda feature: min(feature.faces)))
    features = tuple(replace(feature, id=f"F{number}") for number, feature in enumerate(named, start=1))
    face_class: list[FaceClass] = ["outer"] * part.n_faces
    for feature in features:
        for face in feature.faces:
            face_class[face] = feature.face_class
    return Facts(
        part=part,
        features=features,
        face_class=tuple(face_class),
        patterns=find_patterns(view, features),
        made_by=made_by(view, features),
    )
