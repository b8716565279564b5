"""Faces that no cutter can come to.

What: faces, or parts of them, that are hidden from every direction that was tried: the sides of the part, the
directions of its features, and those of the hidden faces themselves.
Why: a cutter comes in along a straight line. What lies behind something else is spark-eroded, made as a part of its
own, or printed or cast that way.
Instead: an opening above the place, the part split there, or a word that these faces may stay as they come.
"""

from collections.abc import Iterator

from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits
from analyzers.rules._say import plural, verb


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all such faces."""
    faces = case.plan.unreached_faces
    if not limits["hidden"].broken_by(len(faces)):
        return
    area = float(case.facts.part.face_area_mm2[list(faces)].sum())
    owners = {case.owner_of_face[face].id for face in faces if face in case.owner_of_face}
    yield limits.finding(
        limits["hidden"],
        on=tuple(each for each in case.facts.features if each.id in owners),
        faces=faces,
        measured=len(faces),
        message=f"{len(faces)} {plural('face', len(faces))} of {area / 100.0:.2g} cm² {verb(faces)} hidden, wholly or "
        "in part, from every direction a cutter can come from.",
        suggestion=f"An opening above {verb(faces, 'it', 'them')}, the part split there, or a word that these "
        f"{area / 100.0:.2g} cm² may stay as they come.",
        no_change="no size of the model tells which of the faces in front may go",
    )
