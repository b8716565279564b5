"""Which features are equal but for where they are: the members from which patterns are made."""

from dataclasses import dataclass, replace

import numpy as np

from analyzers.features.hole import Hole
from analyzers.model.arrays import Floats, Ints, unit
from analyzers.model.feature import FOLLOWING, Feature, Thread
from analyzers.model.part import Part, Surface
from analyzers.tolerance import TWIN_AREA_RATIO, TWIN_PLACE_MM, TWIN_SIZE_MM, TWIN_TURN

PATTERNED = {"hole", "pocket", "slot", "step", "boss", "groove", "fillet", "edge_round", "chamfer"}
"""Classes of features that are copied; turned diameters and free-form regions shape the body itself."""

BLENDS = {"fillet", "edge_round", "chamfer"}
_MIXING = np.uint64(0x9E3779B97F4A7C15)  # odd and without structure: 2^64 divided by the golden ratio
_PRODUCTS = ([0, 1, 2, 0, 0, 1], [0, 1, 2, 1, 2, 2])  # of the coordinates of an axis


@dataclass(frozen=True, slots=True, eq=False)
class Family:
    """Equal features. `rows`: their places in the part's list of features."""

    rows: Ints  # (N,)
    face_class: str
    axis: Floats  # (N, 3) unit, the cutter's way; of a blend that of its largest face
    place_mm: Floats  # (N, 3) holes: the axis at the entry; others: the middle of their faces
    one_sided: bool  # else the sense of an axis, and where along it a feature begins, mean nothing


def middles(part: Part, features: tuple[Feature, ...]) -> tuple[Floats, Floats]:
    """Return (N, 3) the middle of each feature's faces and (N,) their area: the same however a feature is looked at."""
    face = np.array([face for feature in features for face in feature.faces])
    row = np.repeat(np.arange(len(features)), [len(feature.faces) for feature in features])
    area = part.face_area_mm2[face]
    moment = area[:, None] * part.face_centroid_mm[face]
    total = np.maximum(np.bincount(row, weights=area), 1e-12)
    return np.array([np.bincount(row, weights=column) for column in moment.T]).T / total[:, None], total


def families(part: Part, features: tuple[Feature, ...], middle_mm: Floats, area_mm2: Floats) -> list[Family]:
    """Return the families of three or more features of one kind and size, wherever they are and look."""
    alike: dict[tuple[object, ...], list[tuple[int, list[float]]]] = {}
    for row, feature in enumerate(features):
        if feature.face_class in PATTERNED:
            words, numbers = _sizes(feature, float(area_mm2[row]))
            alike.setdefault(words, []).append((row, numbers))
    found = []
    for same in alike.values():
        if len(same) < 3:
            continue
        sizes = np.array([numbers for _, numbers in same])
        rows = np.array([row for row, _ in same])
        groups = equal_rows(labels(sizes, TWIN_SIZE_MM + TWIN_AREA_RATIO * np.abs(sizes)))
        found += [_family(part, features, middle_mm, rows[each]) for each in groups if len(each) >= 3]
    return found


def _family(part: Part, features: tuple[Feature, ...], middle_mm: Floats, rows: Ints) -> Family:
    first = features[rows[0]]
    hole = isinstance(first, Hole)
    place = np.array([features[row].position_mm for row in rows]) if hole else middle_mm[rows]
    axis = np.array([_axis(part, features[row]) for row in rows])
    return Family(rows, first.face_class, axis, place, not _runs_through(first))


def parallel(family: Family) -> list[Family]:
    """Return the members of a family that look along one line, three or more; blind ones on one level, one way."""
    found = []
    for group in equal_rows(labels(line_numbers(family.axis), TWIN_TURN)):
        if len(group) < 3:
            continue
        axis, place = family.axis[group], family.place_mm[group]
        parts = [np.arange(len(group))]
        if family.one_sided:
            level = labels((place @ axis[0])[:, None], TWIN_PLACE_MM)
            parts = equal_rows(np.concatenate([(axis @ axis[0] > 0)[:, None], level], axis=1).astype(np.int64))
        found += [
            replace(family, rows=family.rows[group[each]], axis=axis[each], place_mm=place[each])
            for each in parts
            if len(each) >= 3
        ]
    return found


def same_size(one: Feature, other: Feature, area_mm2: tuple[float, float]) -> bool:
    """Return whether two features could be members of one family, wherever they are."""
    (words, a), (others, b) = _sizes(one, area_mm2[0]), _sizes(other, area_mm2[1])
    return words == others and all(
        abs(x - y) <= TWIN_SIZE_MM + TWIN_AREA_RATIO * abs(x) for x, y in zip(a, b, strict=True)
    )


def labels(columns: Floats, apart: Floats | float) -> Ints:
    """Return (N, K) a number for each value, equal within a column where no gap of `apart` lies between the values."""
    order = columns.argsort(axis=0, kind="stable")
    across = np.arange(columns.shape[1])
    ranked = columns[order, across]
    limit = apart if np.ndim(apart) < 2 else np.asarray(apart)[order[1:], across]
    found = np.zeros(columns.shape, dtype=np.int64)
    found[order[1:], across] = (ranked[1:] - ranked[:-1] > limit).cumsum(axis=0)
    return found


def numbered(key: Ints) -> Ints:
    """Return (N,) one number for each distinct row of (N, K) labels as `labels` gives them."""
    if key.shape[1] == 1:
        return key[:, 0]
    weight = _MIXING ** np.arange(1, key.shape[1] + 1, dtype=np.uint64)
    mixed = key.astype(np.uint64) @ weight  # modulo 2^64: two different rows of small labels never meet in practice
    number: Ints = np.unique(mixed, return_inverse=True)[1].astype(np.int64)
    return number


def equal_rows(key: Ints) -> list[Ints]:
    """Return the rows of each distinct key, groups in order of their first row."""
    found: dict[tuple[int, ...], list[int]] = {}
    for row, each in enumerate(map(tuple, key.tolist())):
        found.setdefault(each, []).append(row)
    return [np.array(rows) for rows in found.values()]


def _sizes(feature: Feature, area_mm2: float) -> tuple[tuple[object, ...], list[float]]:
    """Return what is equal or not without a tolerance (kind, words, what is missing), and the sizes in millimetres.

    How deep a hole is that runs through depends on the part there, so it is left out.
    """
    through = _runs_through(feature)
    words: list[object] = [feature.kind]
    numbers: list[float] = []
    for key, each in feature.dimensions().items():
        if key in FOLLOWING or (through and key == "depth_mm"):
            continue
        if isinstance(each, Thread):
            words.append((key, each.designation, each.hand, each.starts))
        elif each is None or isinstance(each, (bool, str)):
            words.append((key, each))
        elif isinstance(each, (float, int)):
            numbers.append(float(each))
    if isinstance(feature, Hole):
        return tuple(words), [*numbers, *_profile(feature)]
    return tuple(words), [*numbers, area_mm2**0.5]


def _profile(hole: Hole) -> list[float]:
    """Return three numbers for the steps of a hole: how many, and sums of diameters; equal holes have equal ones."""
    each = [(segment.diameter_mm, segment.end_diameter_mm) for segment in hole.segments]
    return [float(len(each)), sum(wide for wide, _ in each), sum(narrow for _, narrow in each)]


def _runs_through(feature: Feature) -> bool:
    """Return whether a feature may as well be looked at from its other end."""
    return feature.face_class in BLENDS or (feature.face_class == "hole" and bool(getattr(feature, "through", False)))


def _axis(part: Part, feature: Feature) -> Floats:
    """Return what the members of a pattern stand on: the cutter's way; for a blend the axis of its largest face."""
    if feature.face_class not in BLENDS:
        return unit(np.array(feature.direction))
    largest = max(feature.faces, key=lambda face: (float(part.face_area_mm2[face]), -face))
    plane = part.face_surface[largest] == Surface.PLANE
    return np.asarray(feature.direction if plane else part.face_axis[largest])


def line_numbers(axes: Floats) -> Floats:
    """Return (N, 6) an axis as numbers that do not depend on its sense."""
    one, other = _PRODUCTS
    products: Floats = axes[:, one] * axes[:, other]
    return products
