"""One change put into the facts; by the name of its field it goes to features, places, or the whole body."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from analyzers.model.finding import Change
from analyzers.model.plan import Plan
from analyzers.model.report import Facts
from analyzers.plan import feature_mm3
from analyzers.rules import Case
from analyzers.settings import Settings
from analyzers.what_if.features import with_dimension, without
from analyzers.what_if.model_defects import healed
from analyzers.what_if.places import with_gap, with_thickness
from analyzers.what_if.whole_body import (
    from_setup,
    in_material,
    scaled,
    shortened,
    with_copies,
    with_flats,
    with_plain_faces,
    with_zone,
)

Edit = Callable[[Case, Change], "Edited | None"]


@dataclass(frozen=True, slots=True)
class Edited:
    """Facts and settings with a change in them."""

    facts: Facts
    settings: Settings
    moved: bool = False  # the outline itself is another: what directions see has to be looked at again
    planned: Callable[[Plan], Plan] | None = None  # what the change does to a plan and is not in the facts


def edited(case: Case, change: Change) -> Edited | None:
    """Return the case's facts and settings with a change in them; None where the change makes no sense there.

    Raises
    ------
    KeyError : no edit is known for a field that none of the features has
    """
    special = EDITS.get(change.field)
    after = _resized(case, change) if special is None else special(case, change)
    if after is None or after.moved:
        return after
    filled = sum(map(feature_mm3, case.facts.features)) - sum(map(feature_mm3, after.facts.features))
    part = after.facts.part.changed(volume_mm3=after.facts.part.volume_mm3 + filled)
    return replace(after, facts=replace(after.facts, part=part))


def _resized(case: Case, change: Change) -> "Edited | None":
    """Return the facts with features of another size."""
    facts: Facts | None = case.facts
    for feature in (each for each in case.facts.features if each.id in change.features):
        if not hasattr(feature, change.field):
            raise KeyError(f"{type(feature).__name__} has no {change.field}, and no edit of that name is known")
        if facts is None:
            return None
        facts = with_dimension(facts, feature, change.field, _number(change.value), _number(change.was))
    return None if facts is None else Edited(facts, case.settings)


def _number(value: float | str | None) -> float:
    return value if isinstance(value, float | int) else float("nan")


def _of_facts(edit: Callable[[Facts, Change], Facts | None]) -> Edit:
    def apply(case: Case, change: Change) -> Edited | None:
        facts = edit(case.facts, change)
        return None if facts is None else Edited(facts, case.settings)

    return apply


def _moving(edit: Callable[[Facts, float], Facts]) -> Edit:
    def apply(case: Case, change: Change) -> Edited | None:
        return Edited(edit(case.facts, _number(change.value)), case.settings, moved=True)

    return apply


def _material(case: Case, change: Change) -> Edited | None:
    settings = in_material(case.settings, str(change.value))
    return None if settings is None else Edited(case.facts, settings)


def _shorter(case: Case, change: Change) -> Edited | None:
    facts = shortened(case.facts, _number(change.was), _number(change.value))
    return None if facts is None else Edited(facts, case.settings, moved=True)


def _setup(case: Case, change: Change) -> Edited | None:
    facts = from_setup(case.facts, case.plan, change)
    return None if facts is None else Edited(facts, case.settings)


def _flats(case: Case, _: Change) -> Edited | None:
    return Edited(case.facts, case.settings, planned=lambda plan: with_flats(plan, case.settings.shop))


EDITS: Mapping[str, Edit] = {
    "wall_mm": _of_facts(with_thickness),
    "web_mm": _of_facts(with_thickness),
    "gap_mm": _of_facts(with_gap),
    "count": _of_facts(without),
    "faults": _of_facts(healed),
    "open_edges": _of_facts(healed),
    "narrow_faces": _of_facts(healed),
    "short_edges": _of_facts(healed),
    "freeform_faces": _of_facts(with_plain_faces),
    "missing_places": _of_facts(with_copies),
    "zone_mm": _of_facts(with_zone),
    "scale": _moving(scaled),
    "length_mm": _shorter,
    "setup": _setup,
    "grip_mm": _flats,
    "material": _material,
}
"""Fields that are no dimension of a feature."""
