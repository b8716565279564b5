"""What a shop would write back to the customer: plain, polite, merged, most pressing first, in the customer's units."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from analyzers.data.hole_sizes import plausible_uses
from analyzers.data.unit_guess import evident_unit_system, suspected_scale
from analyzers.features.hole import Hole
from analyzers.model.arrays import Vec
from analyzers.model.feature import Feature
from analyzers.model.finding import Finding
from analyzers.model.plan import Plan
from analyzers.model.report import Facts
from analyzers.model.source import Source
from analyzers.settings import Settings
from analyzers.tolerance import LIMIT_SLACK
from analyzers.triage.phrases import Phrases, phrases
from analyzers.units import MM_PER_INCH, UnitSystem

PLACES_NAMED: Final = 2
HOLES_NAMED: Final = 6

MEANT: Final = ("near_miss_hole_size", "odd_hole_in_family")
"""Rules after which the question is what was meant, not what may be changed."""

ASKED_AT: Final = ("error", "warning")
"""Changes that are worth a question; those of notes are the shop's own business."""


def ask(
    facts: Facts,
    plan: Plan,
    findings: Sequence[Finding],
    source: Source,
    settings: Settings,
    language: str = "en",
) -> tuple[str, ...]:
    """Return the questions about one body, ready to send; the last is the one that every order gets.

    Raises
    ------
    ValueError : there are no sentences in that language
    """
    asker = _Asker(facts, plan, tuple(findings), settings, customer_unit(facts, source), phrases(language))
    return tuple(dict.fromkeys(asker.all()))


def customer_unit(facts: Facts, source: Source) -> UnitSystem:
    """Return the units the part was drawn in: those in which its sizes are round, else those of the file."""
    holes = [each for each in facts.features if isinstance(each, Hole)]
    lengths = [each.diameter_mm for each in holes] + [each.depth_mm for each in holes if each.depth_mm is not None]
    written: UnitSystem = "inch" if (source.length_unit or "").lower().startswith("in") else "mm"
    return evident_unit_system([*lengths, *facts.part.size_mm], written)


@dataclass(frozen=True, slots=True)
class _Asker:
    facts: Facts
    plan: Plan
    findings: tuple[Finding, ...]
    settings: Settings
    unit: UnitSystem
    words: Phrases

    def all(self) -> Iterator[str]:
        """Yield every question, the most pressing first."""
        yield from self._model()
        yield from self._changes()
        yield from self._unmade()
        yield from self._meant()
        yield from self._twins()
        yield from self._walls()
        yield from self._uses("threads", ("tap_drill", "thread_minor", "thread_major", "pipe_tap_drill"))
        yield from self._uses("fits", ("dowel", "reamed"))
        yield self._say("standing", material=self.settings.material.name, quantity=self.settings.quantity)

    # --- words

    def _say(self, key: str, **values: object) -> str:
        return self.words.questions[key].format(**values)

    def _number(self, value_mm: float) -> str:
        """Return a bare length in the customer's units."""
        return f"{round(value_mm / MM_PER_INCH, 4):g}" if self.unit == "inch" else f"{round(value_mm, 3):g}"

    def _length(self, value_mm: float) -> str:
        """Return a length with its unit."""
        return f"{self._number(value_mm)} {'in' if self.unit == 'inch' else 'mm'}"

    def _point(self, place: Vec) -> str:
        x, y, z = (self._number(round(value, 2) + 0.0) for value in place)
        return self._say("point", x=x, y=y, z=z)

    def _places(self, places: Sequence[Vec]) -> str:
        """Return up to two places, and how many more there are."""
        named = "; ".join(self._point(each) for each in places[:PLACES_NAMED])
        more = len(places) - PLACES_NAMED
        return f"{named} {self._say('more', count=more)}" if more > 0 else named

    def _what(self, features: Sequence[Feature]) -> str:
        """Return the features as a customer finds them in the model: what, which size, where."""
        one, many = self.words.nouns[features[0].face_class]
        noun = one if len(features) == 1 else many.format(count=len(features))
        size = self._size(features[0])
        place = self._say("at", places=self._places([each.position_mm for each in features]))
        return f"{noun}{f' {size}' if size else ''} ({place})"

    def _size(self, feature: Feature) -> str:
        """Return the size that tells a feature from others."""
        diameter = getattr(feature, "diameter_mm", None)
        if diameter is not None:
            return f"⌀{self._number(diameter)}"
        sizes = [getattr(feature, name, None) for name in ("length_mm", "width_mm")]
        return " × ".join(self._number(each) for each in sizes if each is not None)

    # --- questions

    def _model(self) -> Iterator[str]:
        """Yield what is doubtful about the model as a whole."""
        part = self.facts.part
        if not part.closed or not part.valid:
            state = "open_model.open" if not part.closed else "open_model.invalid"
            yield self._say("open_model", state=self._say(state))
        wrong = suspected_scale(each.diameter_mm for each in self.facts.features if isinstance(each, Hole))
        if wrong is not None:
            longest = max(part.size_mm)
            yield self._say(
                "scale",
                scale=self.words.scales[wrong.text],
                size=self._mm(longest),
                other=self._mm(longest * wrong.factor),
            )

    def _mm(self, value_mm: float) -> str:
        return f"{value_mm:.4g} mm"

    def _changes(self) -> Iterator[str]:
        """Yield the changes that findings ask for, those of one kind and size in one question."""
        for finding in self.findings:
            if finding.level in ASKED_AT and finding.change is not None and finding.rule not in MEANT:
                yield from self._change(finding)

    def _meant(self) -> Iterator[str]:
        """Yield the sizes that look like slips."""
        for finding in self.findings:
            if finding.rule in MEANT and finding.change is not None:
                yield from self._change(finding, ".meant")

    def _change(self, finding: Finding, kind: str = "") -> Iterator[str]:
        change = finding.change
        assert change is not None  # callers look
        known = {each.id: each for each in self.facts.features}
        features = [known[each] for each in change.features if each in known]
        if not features or change.field not in self.words.questions:
            return
        old = getattr(features[0], change.field, None)
        if change.field == "corner_radius_mm" and not old:
            kind = ".sharp"
        number = (lambda value: f"{value:.4g}") if change.field.endswith("_deg") else self._number
        long = change.field in ("depth_mm", "width_mm", "floor_thickness_mm")
        text = self._length if long else number
        yield self._say(
            f"{change.field}{kind}",
            what=self._what(features),
            value=text(change.value),
            old="?" if old is None else text(old),
        )

    def _unmade(self) -> Iterator[str]:
        """Yield what stays unmade and no finding has asked about, and what no direction reaches."""
        asked = {each for finding in self.findings if finding.change is not None for each in finding.change.features}
        why: dict[str, list[Feature]] = {}
        for each in self.plan.unmade:
            if each.feature not in asked:
                why.setdefault(each.why, []).append(self.facts.feature(each.feature))
        for reason, features in why.items():
            yield self._say("unmade", what=self._what(features), why=reason)
        faces = self.plan.unreached_faces
        if faces:
            places = [tuple(self.facts.part.face_point_mm[face].tolist()) for face in faces]
            yield self._say("unreached", where=self._places(places))

    def _twins(self) -> Iterator[str]:
        """Yield the empty places of patterns."""
        for pattern in self.facts.patterns:
            if pattern.missing:
                count = len(pattern.missing)
                gaps = self._say("twin.gap" if count == 1 else "twin.gaps", count=count)
                members = [self.facts.feature(each) for each in pattern.features]
                what = self._what(members)
                yield self._say(
                    "twin", what=what[0].upper() + what[1:], count=gaps, where=self._places(pattern.missing)
                )

    def _walls(self) -> Iterator[str]:
        """Yield the thinnest wall where it is thinner than the material likes."""
        least = self.settings.material.min_wall_mm
        thin = [each for each in self.facts.walls if each.thickness_mm < least * (1.0 - LIMIT_SLACK)]
        if thin:
            first = min(thin, key=lambda each: each.thickness_mm)
            yield self._say(
                "wall",
                value=self._length(first.thickness_mm),
                where=self._places([each.point_mm for each in sorted(thin, key=lambda each: each.thickness_mm)]),
                material=self.settings.material.name,
                limit=self._length(least),
            )

    def _uses(self, key: str, uses: tuple[str, ...]) -> Iterator[str]:
        """Yield one question about all holes whose most plausible use is one of these."""
        groups: dict[tuple[float, str], list[Hole]] = {}
        for hole in (each for each in self.facts.features if isinstance(each, Hole)):
            use = plausible_uses(hole.diameter_mm, hole.depth_mm, hole.through, self.unit)[0]
            if use.use in uses:
                groups.setdefault((round(hole.diameter_mm, 4), use.fastener or use.text), []).append(hole)
        if groups:
            named = [
                self._say("could_be", holes=f"{len(holes)} × ⌀{self._number(diameter)}", use=use)
                for (diameter, use), holes in sorted(groups.items())
            ]
            yield self._say(key, holes=_listed(named))


def _listed(named: Iterable[str]) -> str:
    """Return a list in one line, cut where it gets long."""
    items = list(named)
    return ", ".join(items[:HOLES_NAMED]) + (", …" if len(items) > HOLES_NAMED else "")
