"""Copy of a feature missing from its pattern, or made in another size.

What: a row, grid, bolt circle or symmetric pair in which one place is empty, or holds a feature that differs.
Why: a copy forgotten when the model was mirrored or patterned looks exactly so, and is found when the part
does not fit.
Instead: the copy added or made equal, or a word that the difference is meant.
"""

from collections.abc import Iterator

from analyzers.model.arrays import Vec
from analyzers.model.feature import Feature, Gap, Pattern, mm_text, unlike
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way
from analyzers.rules._say import noun, plural, subject

WORDS = {"rectangular": "row or grid", "circular": "circle", "mirror": "mirror pair", "general": "pattern"}
MOST_PLACES = 4
MOST_NAMED = 6
ONE_NUMBER = ("diameter_mm", "depth_mm", "radius_mm", "width_mm", "height_mm")
"""Sizes of a feature that can be changed by themselves."""

Wrong = tuple[Vec, Gap | None]


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each pattern with places that are empty or hold something else."""
    by_id = {each.id: each for each in case.facts.features}
    for pattern in case.facts.patterns:
        wrong = [(place, gap) for place, gap in pattern.places() if gap is None or not _mended(by_id, gap)]
        if not limits["missing"].broken_by(len(wrong)):
            continue
        gap = wrong[0][1] if len(wrong) == 1 else None
        if gap is not None and gap.instead in by_id:
            yield _differs(limits, pattern, wrong[0][0], gap, by_id)
        else:
            yield _lacks(limits, pattern, wrong, tuple(by_id[each] for each in pattern.features if each in by_id))


def _lacks(limits: Limits, pattern: Pattern, wrong: list[Wrong], members: tuple[Feature, ...]) -> Finding:
    """Return the finding about a pattern with empty places, or several of them."""
    count = len(wrong)
    places = "; ".join(_place(place, gap) for place, gap in wrong[:MOST_PLACES])
    more = f"; and {count - MOST_PLACES} more" if count > MOST_PLACES else ""
    word = noun(members[0]) if members else "feature"
    return limits.finding(
        limits["missing"],
        on=members,
        measured=count,
        message=f"{subject(members) if members else 'Features'} in a {_form(pattern)}, and "
        f"{count} {'copy' if count == 1 else 'copies'} missing: {places}{more}.",
        change=Way("missing_places", 0.0, (0.0,), was=float(count)),
        suggestion=f"Add the {count} missing {plural(word, count)}, or say that {len(members)} are meant.",
    )


def _differs(limits: Limits, pattern: Pattern, place: Vec, gap: Gap, by_id: dict[str, Feature]) -> Finding:
    """Return the finding about one feature that differs from its copies."""
    odd = by_id[gap.instead or ""]
    others = ", ".join(pattern.features[:MOST_NAMED]) + (", ..." if len(pattern.features) > MOST_NAMED else "")
    return limits.finding(
        limits["missing"],
        on=(odd,),
        measured=1,
        message=f"{subject((odd,))} is the odd one in a {_form(pattern)} with {others}: {_place(place, gap)}.",
        suggestion=f"{gap.expected} like {'the others' if len(pattern.features) > 1 else 'its copy'}, or say that the "
        "difference is meant.",
        change=_way(by_id.get(gap.like), odd, tuple(by_id[each] for each in pattern.features if each in by_id)),
    )


def _mended(by_id: dict[str, Feature], gap: Gap) -> bool:
    """Return whether the odd one has become like the others since the pattern was found."""
    like, there = by_id.get(gap.like), by_id.get(gap.instead or "")
    return like is not None and there is not None and not unlike(like, there)


def _form(pattern: Pattern) -> str:
    """Return what the order is called; a pair that a turn exchanges is no circle yet."""
    if pattern.kind == "circular" and len(pattern.features) < 3:
        return "pair about an axis"
    return WORDS[pattern.kind]


def _place(place: Vec, gap: Gap | None) -> str:
    """Return where a copy is missing, what was expected there and what was found."""
    at = f"at ({', '.join(mm_text(each + 0.0) for each in place)})"
    return at if gap is None else f"{at} expected {gap.expected}, found {gap.found}"


def _way(like: Feature | None, odd: Feature, members: tuple[Feature, ...]) -> Way:
    """Return the change that makes the odd one like the others: one number, else a copy in its place."""
    names = unlike(like, odd) if like is not None else ()
    wanted = getattr(like, names[0], None) if len(names) == 1 else None
    if names and names[0] in ONE_NUMBER and isinstance(wanted, float):
        return Way(names[0], wanted, (wanted,))
    return Way("missing_places", 0.0, (0.0,), was=1.0, on=members)
