"""What several measures share, found once: sight lines across the material and the air, and what they show."""

from functools import cached_property

from analyzers.measures._facing import facing_samples
from analyzers.measures._pairs import Between, Pairs
from analyzers.measures._places import Owners, thin_places
from analyzers.measures._ridges import ridge_sights
from analyzers.measures._sample import Samples, joined, spread
from analyzers.measures._sights import Sights, joined_sights, look_across
from analyzers.model.arrays import Bools, Floats, Ints
from analyzers.model.geometry import Closest, Geometry
from analyzers.model.measure import ThinPlace
from analyzers.model.report import Facts


class Survey:
    """A Geometry that remembers: it hands questions on, and keeps what was worked out for one set of facts."""

    def __init__(self, facts: Facts, geometry: Geometry) -> None:
        self._facts = facts
        self._geometry = geometry

    @cached_property
    def samples(self) -> Samples:
        """Points spread over the whole part."""
        return spread(self._facts.part)

    @cached_property
    def wall_sights(self) -> Sights:
        """What the samples see across the material."""
        return joined_sights(self._sights(1.0), ridge_sights(self._facts.part, self._geometry))

    @cached_property
    def gap_sights(self) -> Sights:
        """What the samples see across the air."""
        return self._sights(-1.0)

    def _sights(self, through: float) -> Sights:
        part, geometry = self._facts.part, self._geometry
        samples = joined(self.samples, facing_samples(part, geometry, through))
        return look_across(part, geometry, samples, through)

    @cached_property
    def walls(self) -> tuple[Between, ...]:
        """Pairs of faces with material between them, thinnest first."""
        return Pairs(self._facts, self._geometry, self.wall_sights, through=1.0).found()

    @cached_property
    def gaps(self) -> tuple[Between, ...]:
        """Pairs of faces with air between them, narrowest first."""
        return Pairs(self._facts, self._geometry, self.gap_sights, through=-1.0).found()

    @cached_property
    def places(self) -> tuple[ThinPlace, ...]:
        """The thin places worth listing, thinnest first."""
        return thin_places(self._facts, self._geometry, self.walls)

    @cached_property
    def owners(self) -> Owners:
        """Which feature each face belongs to."""
        return Owners(self._facts)

    def first_hits(self, origin_mm: Floats, direction: Floats) -> tuple[Floats, Ints]:
        """Hand the question on."""
        return self._geometry.first_hits(origin_mm, direction)

    def normals(self, face: Ints, point_mm: Floats) -> Floats:
        """Hand the question on."""
        return self._geometry.normals(face, point_mm)

    def inside(self, point_mm: Floats) -> Bools:
        """Hand the question on."""
        return self._geometry.inside(point_mm)

    def closest(self, first_face: int, second_face: int) -> Closest | None:
        """Hand the question on."""
        return self._geometry.closest(first_face, second_face)


def survey_of(facts: Facts, geometry: Geometry) -> Survey:
    """Return the shared survey, or a fresh one where a measure is called on its own."""
    return geometry if isinstance(geometry, Survey) else Survey(facts, geometry)
