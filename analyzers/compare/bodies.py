"""Pairs the bodies of two reports and says what differs between them."""

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

import numpy as np
from scipy.optimize import linear_sum_assignment

from analyzers.compare.changes import BodyComparison, Comparison, Difference, Move, Relation
from analyzers.compare.features import FeatureMatch, match_features, same_value
from analyzers.compare.motion import Motion, find_motion
from analyzers.model.arrays import Vec, vec
from analyzers.model.finding import Finding
from analyzers.model.part import Part
from analyzers.model.report import Body, Report
from analyzers.signature import signature_of
from analyzers.tolerance import MASS_ERROR

_MASS: Final = 10 * MASS_ERROR  # share by which volumes and areas of one body may differ from export to export
_FEATURE: Final = re.compile(r"\bF\d+\b")
_SIZE: Final = ("size_x_mm", "size_y_mm", "size_z_mm")


def compare(old: Report, new: Report) -> Comparison:
    """Return what changed from one report to the other; bodies are paired by what they are like."""
    readable = old.bodies and new.bodies  # of a model that cannot be read nothing is known, so nothing is missing
    pairs = _paired(old.bodies, new.bodies)
    matched_old, matched_new = {i for i, _ in pairs}, {j for _, j in pairs}
    return Comparison(
        old=old.source,
        new=new.source,
        bodies=tuple(_compared(old.bodies[i], new.bodies[j]) for i, j in pairs),
        removed_bodies=tuple(each.id for i, each in enumerate(old.bodies) if readable and i not in matched_old),
        added_bodies=tuple(each.id for j, each in enumerate(new.bodies) if readable and j not in matched_new),
        notes=tuple(_notes(old, new)),
    )


def _notes(old: Report, new: Report) -> Iterator[str]:
    for word, report in (("old", old), ("new", new)):
        if report.status == "unreadable":
            reason = report.problems[0].message if report.problems else "no reason is known"
            yield f"the {word} revision could not be analysed: {reason}"
    if old.settings.digest != new.settings.digest:
        yield "the two were judged with different settings: minutes, findings and questions are not comparable"


def _paired(old: tuple[Body, ...], new: tuple[Body, ...]) -> list[tuple[int, int]]:
    """Return the pairs of bodies that are most like one another, in the new order."""
    if not old or not new:
        return []
    here, there = ([signature_of(body.facts.part).numbers for body in bodies] for bodies in (old, new))
    far = np.linalg.norm(np.array(here)[:, None] - np.array(there)[None], axis=2)
    rows, columns = linear_sum_assignment(far)
    return sorted(zip(rows.tolist(), columns.tolist(), strict=True), key=lambda pair: pair[1])


def _compared(old: Body, new: Body) -> BodyComparison:
    """Return what differs between two bodies.

    Where every face lies on an equal one the geometry is the same, and so is all that follows from it: what the
    order of faces or the pose may still make different in words is no difference of the part.
    """
    before, after = old.facts.part, new.facts.part
    motion = find_motion(before, after)
    old_faces = np.flatnonzero(motion.partner < 0)
    new_faces = np.setdiff1d(np.arange(after.n_faces), motion.partner)
    if len(old_faces) or len(new_faces):
        match = match_features(old.facts.features, new.facts.features, (before, after), motion)
    else:
        match = FeatureMatch({each.id: "" for each in old.facts.features}, (), (), ())
    counted = () if before.count == after.count else (_difference("count", before.count, after.count),)
    numbers = (*counted, *(_numbers(old, new, motion) if len(old_faces) or len(new_faces) else ()))
    differs = bool(numbers or match.changed or match.added or match.removed)
    found = _only(*_findings(old, new, match)) if differs else ((), ())
    asked = _only([_now(each, match) for each in old.questions], new.questions) if differs else ((), ())
    tolerances = _only(*([each.callout() for each in body.facts.tolerances] for body in (old, new)))
    relation: Relation = "changed" if differs or any(tolerances) else "mirrored" if motion.mirrored else "same"
    return BodyComparison(
        old=old.id,
        new=new.id,
        relation=relation,
        move=_move(motion),
        same_features=len(match.partner) - len(match.changed),
        changed=match.changed,
        added=match.added,
        removed=match.removed,
        numbers=numbers,
        old_faces=tuple(old_faces.tolist()),
        new_faces=tuple(new_faces.tolist()),
        findings_gone=found[0],
        findings_new=found[1],
        tolerances_gone=tolerances[0],
        tolerances_new=tolerances[1],
        questions_gone=asked[0],
        questions_new=asked[1],
    )


def _difference(field: str, old: float, new: float) -> Difference:
    return Difference(field=field, old=float(old), new=float(new))


def _findings(old: Body, new: Body, match: FeatureMatch) -> tuple[dict[Any, str], dict[Any, str]]:
    """Return the findings of both as texts by rule, level and features, so that another number is no new finding."""

    def key(finding: Finding, partner: Mapping[str, str]) -> Any:
        return finding.rule, finding.level, frozenset(partner.get(each, each) for each in finding.features)

    def text(finding: Finding) -> str:
        return f"{finding.rule}: {finding.message}"

    return (
        {key(each, match.partner): _now(text(each), match) for each in old.findings},
        {key(each, {}): text(each) for each in new.findings},
    )


def _now(text: str, match: FeatureMatch) -> str:
    """Return a text of the old revision with the ids and callouts that its features have in the new."""
    text = _FEATURE.sub(lambda found: match.partner.get(found[0], found[0]), text)
    for each in match.changed:
        text = text.replace(each.old_callout, each.new_callout)
    return text


def _move(motion: Motion) -> Move:
    x, y, z = (vec(row) for row in motion.turn)
    return Move(turn=(x, y, z), shift_mm=vec(motion.shift_mm), angle_deg=motion.angle_deg, agreed=motion.agreed)


def _numbers(old: Body, new: Body, motion: Motion) -> Iterator[Difference]:
    """Yield the body's own numbers that are not the same, geometry before judgement."""
    before, after = old.facts.part, new.facts.part
    for name, a, b in zip(_SIZE, *_sizes(before, after, motion), strict=True):
        if abs(a - b) > _coarse(before, after, motion) and not same_value(a, b):
            yield Difference(field=name, old=a, new=b)
    for name in ("volume_mm3", "area_mm2"):
        a, b = getattr(before, name), getattr(after, name)
        if abs(a - b) > _MASS * max(abs(a), abs(b)):
            yield Difference(field=name, old=a, new=b)
    yield from _measures(old, new)
    yield from _judged(old, new)


def _sizes(old: Part, new: Part, motion: Motion) -> tuple[Vec, Vec]:
    """Return the sides of both bodies' boxes along the old body's axes."""
    if _unturned(motion):
        return old.size_mm, new.size_mm
    points = (new.mesh.point_mm - motion.shift_mm) @ motion.turn
    return old.size_mm, vec(points.max(axis=0) - points.min(axis=0))


def _coarse(old: Part, new: Part, motion: Motion) -> float:
    """Return how far those sides may be off: exact unless the body was turned, else what two meshes miss of curves."""
    return 0.0 if _unturned(motion) else 2.0 * (old.mesh.chord_mm + new.mesh.chord_mm)


def _unturned(motion: Motion) -> bool:
    return bool(np.abs(motion.turn - np.eye(3)).max() <= MASS_ERROR)


def _measures(old: Body, new: Body) -> Iterator[Difference]:
    names = dict.fromkeys(each.name for each in (*old.facts.measures, *new.facts.measures))
    for name in names:
        a, b = ((measure.value if (measure := body.facts.measure(name)) else None) for body in (old, new))
        if not same_value(a, b):
            yield Difference(field=name, old=a, new=b)


def _judged(old: Body, new: Body) -> Iterator[Difference]:
    """Yield what the plan and the sorting say otherwise; a minute's hundredth is no difference."""
    pairs: tuple[tuple[str, float | str, float | str], ...] = (
        ("setups", float(len(old.plan.setups)), float(len(new.plan.setups))),
        ("machining_minutes", round(old.plan.minutes.likely, 2), round(new.plan.minutes.likely, 2)),
        ("difficulty", round(old.triage.difficulty, 1), round(new.triage.difficulty, 1)),
        ("bucket", old.triage.bucket, new.triage.bucket),
    )
    for name, a, b in pairs:
        if a != b:
            yield Difference(field=name, old=a, new=b)


def _only(
    old: Mapping[Any, str] | Iterable[str], new: Mapping[Any, str] | Iterable[str]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the texts that only the old has and those that only the new has, by their keys if they have any."""
    before, after = (each if isinstance(each, Mapping) else {text: text for text in each} for each in (old, new))
    gone = tuple(text for key, text in before.items() if key not in after)
    return gone, tuple(text for key, text in after.items() if key not in before)
