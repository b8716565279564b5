"""A model mended in the system that drew it: sound, closed, without faces and edges that are too small to be meant."""

from dataclasses import replace

import numpy as np

from analyzers.model.finding import Change
from analyzers.model.part import Curve
from analyzers.model.report import Facts

HEALED_MM = 1.0
"""Length and width that a healed edge or face is given: any that no rule finds too small."""


def healed(facts: Facts, change: Change) -> Facts:
    """Return the facts without the defect that the change names; shape and sizes stay."""
    part = facts.part
    if change.field == "faults":
        return replace(facts, part=part.changed(valid=True))
    if change.field == "open_edges":
        return replace(facts, part=part.changed(closed=True))
    if change.field == "narrow_faces":
        around = np.bincount(part.coedge_face, part.edge_length_mm[part.coedge_edge], part.n_faces)
        area = part.face_area_mm2.copy()
        rows = list(change.faces)
        area[rows] = np.maximum(area[rows], HEALED_MM * around[rows] / 2.0)
        return replace(facts, part=part.changed(face_area_mm2=area))
    length = np.where(part.edge_curve == Curve.DEGENERATE, part.edge_length_mm, part.edge_length_mm.clip(HEALED_MM))
    return replace(facts, part=part.changed(edge_length_mm=length))
