"""What is said about a body, put together for a reader: equal remarks once, and the few that matter most first."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache
from typing import Final

from markupsafe import Markup

from analyzers.model.arrays import Vec
from analyzers.model.finding import Finding, Level
from analyzers.model.report import Body
from analyzers.report import german, quantity, words
from analyzers.report.callouts import PER_LABEL, Place
from analyzers.report.text import LONG, capital, clean, plural
from analyzers.rules import describe_rules

MATTERS = 3
"""How many reasons the first screen gives."""
SAID_ANYWAY = ("setups", "time", "cutters", "features", "unmade", "remarks")
"""Reasons for the difficulty that the first screen shows as numbers, or that its other lines are about."""
TOLD_BY: Final = {
    "corners": ("sharp_internal_corner", "unmade_feature"),
    "depth": ("hole_depth_ratio", "hole_beyond_drill_reach"),
    "freeform": ("freeform_share", "freeform_radius_below_ball"),
    "holding": ("nothing_to_clamp",),
    "machine": ("exceeds_travels",),
    "model": ("open_shell", "invalid_solid"),
    "pockets": ("pocket_depth_ratio", "deep_narrow_slot"),
    "radii": ("corner_radius_below_cutters", "fillet_below_cutters", "corner_radius_at_cutter"),
    "size": ("exceeds_travels",),
    "walls": ("thin_wall", "thin_floor", "thin_hole_floor", "slender_wall", "holes_too_close", "hole_near_edge"),
}
"""Rules whose findings tell the same as a reason for the difficulty, closer and with a change."""
THIN_MARKED = 3
"""How many thin places the picture marks."""
LOCAL_FACES = 16
"""A note about more faces than this is about the part as a whole: no place to point at."""
_NAMED = 4
"""Features of a kind that are named before the rest is counted."""


@dataclass(frozen=True, slots=True)
class About:
    """What a rule looks at and why, in both languages."""

    title: Markup
    what: Markup
    why: Markup


@dataclass(frozen=True, slots=True)
class FindingRow:
    """Equal remarks about equal places, said once."""

    number: int
    anchor: str
    level: Level
    level_word: str
    message: Markup
    suggestion: Markup
    effect: Markup
    no_change: Markup  # why no change of the model clears it; empty where one does, or none is owed
    basis: str
    rule: str
    about: About | None  # what the rule looks at and why; None = a rule that this version does not have
    compared: Markup | None  # measured against limit
    features: tuple[str, ...]
    faces: tuple[int, ...]
    quantity: int
    places: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class UnmadeRow:
    """Equal features that no cutter makes, for one reason."""

    text: Markup
    features: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Matter:
    """One of the things that matter most, with the place on the page that says more."""

    text: Markup
    href: str
    level: Level
    change: Markup = field(default_factory=Markup)  # what to change, with a number in it


def finding_rows(body: Body) -> Iterable[FindingRow]:
    """Yield the findings in their order, those that say the same merged into one."""
    equal: dict[tuple[str, ...], list[Finding]] = {}
    for each in body.findings:
        equal.setdefault((each.rule, each.level, each.message, each.suggestion), []).append(each)
    for number, same in enumerate(equal.values(), start=1):
        first = same[0]
        yield FindingRow(
            number=number,
            anchor=f"{body.id}-finding-{number}",
            level=first.level,
            level_word=words.LEVEL[first.level],
            message=german.sentence(clean(first.message, LONG)),
            suggestion=german.sentence(clean(first.suggestion, LONG)),
            effect=german.sentence(clean(first.effect, LONG)),
            no_change=german.sentence(capital(clean(first.change_none_because, LONG))),
            basis=clean(first.basis, LONG),
            rule=first.rule.replace("_", " "),
            about=_about(first.rule),
            compared=_compared(first),
            features=tuple(dict.fromkeys(name for each in same for name in _features_of(each))),
            faces=tuple(dict.fromkeys(face for each in same for face in _faces_of(body, each))),
            quantity=sum(max(1, len(_features_of(each))) for each in same),
            places=tuple(same),
        )


@cache
def _about(rule: str) -> About | None:
    """Return what a rule looks at; None for one that this version does not have."""
    found = next((each for each in describe_rules() if each.name == rule), None)
    if found is None:
        return None
    title, what, why = (german.rule_text(rule, name, getattr(found, name)) for name in ("title", "what", "why"))
    return About(title, what, why)


def _features_of(finding: Finding) -> tuple[str, ...]:
    return finding.features or ((finding.feature,) if finding.feature else ())


def _compared(finding: Finding) -> Markup | None:
    """Return "measured 0.8 mm, limit 1 mm"; None where there is nothing to compare."""
    if finding.measured is None or finding.limit == 0:
        return None
    measured, limit = german.word("measured") + Markup(" "), Markup(", ") + german.word("limit") + Markup(" ")
    power = {"mm": 1, "mm2": 2, "mm²": 2, "mm3": 3, "mm³": 3}.get(finding.unit)
    if power:
        said = measured + quantity.length(finding.measured, power)
        return said if finding.limit is None else said + limit + quantity.length(finding.limit, power)
    unit = clean({"deg": "°", "percent": "%"}.get(finding.unit, finding.unit))
    said = measured + Markup("{:.4g}").format(finding.measured)
    if finding.limit is not None:
        said += limit + Markup("{:.4g}").format(finding.limit)
    return said + Markup(" ") + german.word(unit) if unit else said


def unmade_rows(body: Body) -> Iterable[UnmadeRow]:
    """Yield what no cutter makes, one row for each kind and reason, the most frequent first."""
    kinds = {each.id: words.KIND[each.kind] for each in body.facts.features}
    equal: dict[tuple[str, str], list[str]] = {}
    for each in body.plan.unmade:
        equal.setdefault((kinds.get(each.feature, "feature"), each.why), []).append(each.feature)
    for (kind, why), same in sorted(equal.items(), key=lambda item: -len(item[1])):
        more = len(same) - _NAMED
        noun = kind.partition(" (")[0]
        what = noun if len(same) == 1 else plural(len(same), noun)
        lead = german.word(capital(f"{what} {', '.join(same[:_NAMED])}"))
        rest = Markup(" ") + german.word(f"and {more} more") if more > 0 else Markup()
        yield UnmadeRow(lead + rest + Markup(": ") + german.sentence(clean(why, LONG)), tuple(same))


def _faces_of(body: Body, finding: Finding) -> tuple[int, ...]:
    if finding.faces or not finding.feature:
        return finding.faces
    return next((each.faces for each in body.facts.features if each.id == finding.feature), ())


def matters(body: Body, findings: tuple[FindingRow, ...]) -> Iterable[Matter]:
    """Yield the few things to know first: errors, what else cannot be made, warnings, what makes it hard, then notes.

    Each is said once: not what the first screen says anyway, what a finding tells closer, or the reason for the bucket.
    Of several errors those of another rule go before one more of the same.
    """
    errors = [row for row in findings if row.level == "error"]
    told = {feature for row in errors for feature in row.features}
    reason = bucket_reason(body, findings)
    first = {row.rule: row for row in [*reversed(errors), *([reason] if reason else [])]}
    found = [_matter(row) for row in sorted(errors, key=lambda row: row is not first[row.rule]) if row is not reason]
    found += [
        Matter(each.text, f"#{body.id}-unmade", "error") for each in unmade_rows(body) if not set(each.features) <= told
    ]
    found += [_matter(row) for row in findings if row.level == "warning"]
    rules = {each.rule for each in body.findings}
    drivers = [each for each in body.triage.drivers if each.name not in SAID_ANYWAY]
    found += [
        Matter(german.sentence(capital(clean(each.why, LONG))), f"#{body.id}-drivers", "note")
        for each in drivers
        if not rules & set(TOLD_BY.get(each.name, ()))
    ]
    telling = {rule for each in drivers for rule in TOLD_BY.get(each.name, ())}
    notes = [row for row in findings if row.level == "note"]
    found += [_matter(row) for row in sorted(notes, key=lambda row: row.places[0].rule not in telling)]
    yield from found[:MATTERS]


def bucket_reason(body: Body, findings: Iterable[FindingRow]) -> FindingRow | None:
    """Return the finding that the bucket's reason is made of; None where it is made of something else."""
    said = body.triage.summary.partition(": ")[2]
    errors = (row for row in findings if row.level == "error")
    return next((row for row in errors if said.startswith(row.places[0].message.rstrip("."))), None)


def _matter(row: FindingRow) -> Matter:
    return Matter(row.message, f"#{row.anchor}", row.level, row.suggestion)


def _middle(body: Body, faces: tuple[int, ...]) -> Vec | None:
    """Return a point on the first face: shown as hidden where no part of the faces is visible."""
    if not faces:
        return None
    x, y, z = (float(each) for each in body.facts.part.face_point_mm[faces[0]])
    return (x, y, z)


def finding_places(body: Body, findings: tuple[FindingRow, ...]) -> Iterable[Place]:
    """Yield the places to mark for each finding: its features one by one, or its faces."""
    for row in findings:
        spread = len(row.features) > PER_LABEL or len(row.faces) > LOCAL_FACES
        if row.level == "note" and spread:
            continue
        about = set(row.faces)
        groups = [
            faces
            for each in body.facts.features
            if each.id in row.features and (faces := tuple(face for face in each.faces if face in about) or each.faces)
        ]
        for faces in (groups or [row.faces])[:PER_LABEL]:
            if 0 < len(faces) <= LOCAL_FACES:
                said = clean(row.places[0].message, LONG)
                title = f"{row.level_word} {row.number}: {said}"
                other = f"{german.in_german(row.level_word)} {row.number}: {german.in_german(said) or said}"
                yield Place(str(row.number), row.level, title, other, f"#{row.anchor}", faces, _middle(body, faces))


def thin_places(body: Body, findings: Iterable[FindingRow]) -> Iterable[Place]:
    """Yield the thinnest places, but for those that an error or a warning about thickness marks already."""
    about = [row for row in findings if row.level != "note" and row.places[0].rule in TOLD_BY["walls"]]
    known = {face for row in about for face in row.faces}
    for number, wall in enumerate(body.facts.walls[:THIN_MARKED], start=1):
        if known & set(wall.faces):
            continue
        size = f"{quantity.mm_number(wall.thickness_mm)} mm"
        title, other = f"Thin place T{number}: {size}", f"Dünne Stelle T{number}: {size}"
        yield Place(f"T{number}", "thin", title, other, f"#{body.id}-thin", wall.faces[:1], wall.point_mm)
