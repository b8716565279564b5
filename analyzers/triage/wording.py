"""Numbers, places and features in the customer's units and language."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from analyzers.model.arrays import Vec
from analyzers.model.feature import Feature
from analyzers.model.inch_text import text_in_inches
from analyzers.triage.phrases import Phrases
from analyzers.units import MM_PER_INCH, UnitSystem

PLACES_NAMED: Final = 2
ITEMS_NAMED: Final = 5


@dataclass(frozen=True, slots=True)
class Wording:
    """One customer's units and language."""

    unit: UnitSystem
    phrases: Phrases

    def say(self, key: str, **values: object) -> str:
        """Return a sentence with its values."""
        return self.phrases.questions[key].format(**values)

    def pin(self, use: str) -> str:
        """Return what a hole is for; a dowel pin by its name in this language."""
        return use.replace("dowel", self.say("dowel"))

    def number(self, value_mm: float) -> str:
        """Return a bare length: millimetres to a micrometre, inches to four decimals."""
        text = f"{round(value_mm / MM_PER_INCH, 4):g}" if self.unit == "inch" else f"{round(value_mm, 3):g}"
        return text.replace(".", self.phrases.decimal)

    def length(self, value_mm: float) -> str:
        """Return a length with its unit."""
        return f"{self.number(value_mm)} {'in' if self.unit == 'inch' else 'mm'}"

    def sentence(self, text_mm: str) -> str:
        """Return what the plan says in millimetres, in the customer's units."""
        return text_in_inches(text_mm) if self.unit == "inch" else text_mm

    def degrees(self, value: float) -> str:
        """Return a bare angle."""
        return f"{value:.4g}".replace(".", self.phrases.decimal)

    def places(self, places: Sequence[Vec]) -> str:
        """Return up to two places in the model's axes, and how many more there are."""
        named = "; ".join(self._point(each) for each in places[:PLACES_NAMED])
        more = len(places) - PLACES_NAMED
        return f"{named} {self.say('more', count=more)}" if more > 0 else named

    def _point(self, place: Vec) -> str:
        digits = 3 if self.unit == "inch" else 2
        x, y, z = (self.number(round(value, digits) + 0.0) for value in place)
        return self.say("point", x=x, y=y, z=z)

    def what(self, features: Sequence[Feature]) -> str:
        """Return equal features as a customer finds them in the model: what, which size, where."""
        one, many = self.phrases.nouns[features[0].face_class]
        noun = one if len(features) == 1 else many.format(count=len(features))
        size = self._size(features[0])
        place = self.say("at", places=self.places([each.position_mm for each in features]))
        return f"{noun}{f' {size}' if size else ''} ({place})"

    def _size(self, feature: Feature) -> str:
        """Return the sizes that tell a feature from others."""
        for name, sign in (("diameter_mm", "⌀"), ("radius_mm", "R")):
            value = getattr(feature, name, None)
            if value is not None:
                return f"{sign}{self.number(value)}"
        sizes = [getattr(feature, name, None) for name in ("length_mm", "width_mm")]
        return " × ".join(self.number(each) for each in sizes if each)

    def listed(self, items: Sequence[str]) -> str:
        """Return a list in one line; where it gets long, how many more there are."""
        unique = list(dict.fromkeys(items))
        more = len(unique) - ITEMS_NAMED
        named = "; ".join(unique[:ITEMS_NAMED])
        return f"{named}; {self.say('more', count=more)}" if more > 0 else named


def capital(text: str) -> str:
    """Return a text that can begin a sentence."""
    return text[:1].upper() + text[1:]
