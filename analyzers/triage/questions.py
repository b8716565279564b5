"""What a shop would write back to the customer: plain, polite, merged, most pressing first, in the customer's units."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from analyzers.data.hole_sizes import uses_in_model
from analyzers.data.unit_guess import suspected_scale
from analyzers.features.hole import Hole
from analyzers.model.arrays import Vec, vec
from analyzers.model.feature import NOTHING, Feature, unlike
from analyzers.model.finding import Change, Finding
from analyzers.model.plan import Plan
from analyzers.model.report import Facts
from analyzers.model.source import Source
from analyzers.model.tolerance_note import is_limit
from analyzers.plan import drawn_in
from analyzers.settings import Settings
from analyzers.tolerance import LIMIT_SLACK
from analyzers.triage.phrases import phrases
from analyzers.triage.wording import Wording, capital
from analyzers.units import UnitSystem

MEANT: Final = ("near_miss_hole_size", "odd_hole_in_family")
"""Rules after which the question is what was meant, not what may be changed."""

ASKED_WITH_THEIR_PLACE: Final = ("missing_twin",)
"""Rules whose findings come from patterns, which are asked about themselves."""

FLOORS: Final = ("thin_floor", "thin_hole_floor")
"""Rules whose findings ask for thicker floors."""

ASKED_AT: Final = ("error", "warning")
"""Changes that are worth a question; those of notes are the shop's own business."""

THREADS: Final = ("tap_drill", "thread_minor", "thread_major", "pipe_tap_drill")
FITS: Final = ("dowel", "reamed")


@dataclass(frozen=True, slots=True)
class Question:
    """A question, and the features or faces that it is about; none of either = the part as a whole."""

    text: str
    features: tuple[str, ...] = ()
    faces: tuple[int, ...] = ()


def ask(
    facts: Facts,
    plan: Plan,
    findings: Sequence[Finding],
    source: Source,
    settings: Settings,
    language: str = "en",
    units: UnitSystem | None = None,
) -> tuple[str, ...]:
    """Return the questions about one body, ready to send; the last is the one that every order gets.

    Parameters
    ----------
    units : of every number in them; None = those the body was drawn in

    Raises
    ------
    ValueError : there are no sentences in that language
    """
    return tuple(each.text for each in ask_about(facts, plan, findings, source, settings, language, units))


def ask_about(
    facts: Facts,
    plan: Plan,
    findings: Sequence[Finding],
    source: Source,
    settings: Settings,
    language: str = "en",
    units: UnitSystem | None = None,
) -> tuple[Question, ...]:
    """Return the same questions with what each is about."""
    drawn = drawn_in(facts, source.length_unit)
    wording = Wording(units or drawn, phrases(language))
    return tuple(_Asker(facts, plan, tuple(findings), settings, drawn, wording).all())


@dataclass(frozen=True, slots=True)
class _Asker:
    facts: Facts
    plan: Plan
    findings: tuple[Finding, ...]
    settings: Settings
    drawn: UnitSystem
    words: Wording

    def all(self) -> Iterator[Question]:
        """Yield every question, the most pressing first."""
        yield from self._model()
        yield from self._changes()
        yield from self._unmade()
        yield from self._twins()
        yield from self._walls()
        yield from self._uses("threads", THREADS)
        yield from self._uses("fits", FITS)
        yield Question(self._standing())

    def _standing(self) -> str:
        """Return what every order is asked, and by what sizes without a tolerance go."""
        noted = any(is_limit(each) for each in self.facts.tolerances)
        return self.words.say(
            "standing",
            material=self.settings.material.name,
            quantity=self.settings.quantity,
            tolerances=self.words.say("tolerances.some" if noted else "tolerances.none"),
        )

    def _model(self) -> Iterator[Question]:
        """Yield what is doubtful about the model as a whole."""
        part = self.facts.part
        if not part.closed or not part.valid:
            state = "open_model.open" if not part.closed else "open_model.invalid"
            yield Question(self.words.say("open_model", state=self.words.say(state)))
        wrong = suspected_scale(each.diameter_mm for each in self.facts.features if isinstance(each, Hole))
        if wrong is not None:
            longest = max(part.size_mm)
            said = self.words.phrases.scales[wrong.text]
            other = self.words.length(longest * wrong.factor)
            yield Question(self.words.say("scale", scale=said, size=self.words.length(longest), other=other))

    def _changes(self) -> Iterator[Question]:
        """Yield one question for each kind of change that findings ask for, in the order of the findings."""
        groups: dict[str, dict[tuple[str, ...], tuple[str, float]]] = {}
        for finding in self.findings:
            kind, item = self._change(finding)
            change = finding.change
            if not item or change is None:
                continue
            known, far = groups.setdefault(kind, {}), _way_gone(change)
            if change.features not in known or far > known[change.features][1]:  # of two wishes the greater holds both
                known[change.features] = (item, far)
        for kind, asked in groups.items():
            text = self.words.phrases.changes[kind].ask.format(
                items=self.words.listed([item for item, _ in asked.values()])
            )
            yield Question(text, tuple(dict.fromkeys(feature for features in asked for feature in features)))

    def _change(self, finding: Finding) -> tuple[str, str]:
        """Return the kind of change that a finding asks for, and its place in the list; empty where it asks none."""
        change = finding.change
        meant = finding.rule in MEANT
        if change is None or finding.rule in ASKED_WITH_THEIR_PLACE or not (meant or finding.level in ASKED_AT):
            return "", ""
        features = self._known(change.features)
        kind = "meant" if meant else change.field
        old = getattr(features[0], change.field, change.was) if features else None
        if change.field == "corner_radius_mm" and not old:
            kind = "sharp_corner"
        if not features or kind not in self.words.phrases.changes:
            return "", ""
        text: Callable[[float], str] = self.words.number
        if change.field.endswith("_deg"):
            text = self.words.degrees
        elif "radius" not in change.field and "diameter" not in change.field:
            text = self.words.length
        if not isinstance(change.value, float | int):
            return "", ""
        item = self.words.phrases.changes[kind].item
        known = text(old) if isinstance(old, float | int) else "?"
        return kind, item.format(what=self.words.what(features), value=text(change.value), old=known)

    def _known(self, ids: Sequence[str]) -> list[Feature]:
        return [each for each in self.facts.features if each.id in ids]

    def _unmade(self) -> Iterator[Question]:
        """Yield what stays unmade and no finding has asked about, and what no direction reaches."""
        asked = {each for finding in self.findings if self._change(finding)[1] for each in finding.features}
        asked |= {
            each
            for finding in self.findings
            if finding.change and finding.change.field != "count"
            for each in finding.change.features
        }
        why: dict[str, list[str]] = {}
        for each in self.plan.unmade:
            if each.feature not in asked:
                why.setdefault(each.why, []).append(each.feature)
        items = [
            self.words.say(
                "unmade.item",
                what=self.words.what(self._known(ids)),
                why=self.words.sentence(reason.replace("; ", ", ")),
            )
            for reason, ids in why.items()
        ]
        if items:
            about = tuple(each for ids in why.values() for each in ids)
            yield Question(self.words.say("unmade", items=self.words.listed(items)), about)
        faces = self.plan.unreached_faces
        if faces:
            places = [vec(self.facts.part.face_point_mm[face]) for face in faces]
            yield Question(self.words.say("unreached", where=self.words.places(places)), faces=tuple(faces))

    def _twins(self) -> Iterator[Question]:
        """Yield the places of patterns that are empty, or hold something that differs."""
        for pattern in self.facts.patterns:
            empty: dict[str, list[Vec]] = {}
            for place, gap in pattern.places():
                other = self._known((gap.instead,)) if gap is not None and gap.instead else []
                if gap is not None and other:
                    yield Question(self._differs(self._known((gap.like,)), other), (gap.like, other[0].id))
                else:
                    empty.setdefault(gap.found if gap is not None else NOTHING, []).append(place)
            what = capital(self.words.what(self._known(pattern.features))) if empty else ""
            for found, places in empty.items():
                text = self.words.say(
                    "twin" if len(places) == 1 else "twin.several",
                    what=what,
                    count=len(places),
                    where=self.words.places(places),
                    found=self.words.phrases.absent.get(found, found),
                )
                yield Question(text, pattern.features)

    def _differs(self, like: list[Feature], other: list[Feature]) -> str:
        """Return the question about a copy of another size, or about something else in its place."""
        names = [name for name in unlike(like[0], other[0]) if name in self.words.phrases.sizes]
        what, there = self.words.what(like), self.words.what(other)
        if not names:
            return self.words.say("twin.instead", what=what, other=there)
        sizes = [
            self.words.say(
                "twin.size",
                name=self.words.phrases.sizes[name],
                value=self._sized(name, getattr(other[0], name)),
                old=self._sized(name, getattr(like[0], name)),
            )
            for name in names
        ]
        return self.words.say("twin.differs", other=capital(there), what=what, sizes=", ".join(sizes))

    def _sized(self, name: str, value: float | None) -> str:
        """Return a field's value with its unit."""
        if value is None:
            return "?"
        return f"{self.words.degrees(value)}°" if name.endswith("_deg") else self.words.length(value)

    def _walls(self) -> Iterator[Question]:
        """Yield the thinnest wall where it is thinner than the material likes; not floors that were asked about."""
        least = self.settings.material.min_wall_mm
        asked = any(finding.rule in FLOORS and self._change(finding)[1] for finding in self.findings)
        kinds = ("wall", "web") if asked else ("wall", "web", "floor")
        walls = [each for each in self.facts.walls if each.kind in kinds]
        thin = [each for each in walls if each.thickness_mm < least * (1.0 - LIMIT_SLACK)]
        if thin:
            thin.sort(key=lambda each: each.thickness_mm)
            text = self.words.say(
                "wall",
                value=self.words.length(thin[0].thickness_mm),
                where=self.words.places([each.point_mm for each in thin]),
                material=self.settings.material.name,
                limit=self.words.length(least),
            )
            yield Question(text, faces=tuple(dict.fromkeys(face for each in thin for face in each.faces)))

    def _uses(self, key: str, uses: tuple[str, ...]) -> Iterator[Question]:
        """Yield one question about all holes whose most plausible use is one of these."""
        count: dict[tuple[float, str], int] = {}
        about: list[str] = []
        for hole in (each for each in self.facts.features if isinstance(each, Hole)):
            notes = self.facts.notes_of(hole)
            use = uses_in_model(hole.diameter_mm, hole.depth_mm, hole.through, self.drawn, notes)[0]
            if use.use in uses:
                kind = (round(hole.diameter_mm, 4), use.fastener or use.text)
                count[kind] = count.get(kind, 0) + 1
                about.append(hole.id)
        items = [
            self.words.say(f"{key}.item", count=number, diameter=self.words.number(diameter), use=self.words.pin(use))
            for (diameter, use), number in sorted(count.items())
        ]
        if items:
            yield Question(self.words.say(key, items=self.words.listed(items)), tuple(about))


def _way_gone(change: Change) -> float:
    """Return how far a change moves its dimension; 0 where it is no number."""
    if isinstance(change.value, float | int) and isinstance(change.was, float | int):
        return abs(change.value - change.was)
    return 0.0
