"""Every limit of every rule: a case that breaks it, the same case exactly at it, and a plain part that is silent.

The limit is moved, not the part: the number that the rule compares with it is taken down while the rule looks at the
case, then the shop's own figure is set to exactly that number, and to a thousandth to the strict side of it.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from importlib import import_module

import pytest

from analyzers.model.arrays import Bools, Floats
from analyzers.model.finding import Finding
from analyzers.rules._base import Case
from analyzers.rules._limits import Limit, Limits, load_limits, rule_names
from tests.rules import _builders as build
from tests.rules._firing import FIRING, KEPT, TOGETHER

EVERY = pytest.mark.parametrize(("rule", "limit"), FIRING, ids=lambda text: text)
STRICTER = 1e-3  # of the limit; well above the slack for noise


@contextmanager
def recorded() -> Iterator[list[tuple[str, float]]]:
    """Take down what is compared with which limit."""
    compared: list[tuple[str, float]] = []
    broken_by, broken_by_each = Limit.broken_by, Limit.broken_by_each

    def record(self: Limit, measured: float) -> bool:
        compared.append((self.name, measured))
        return broken_by(self, measured)

    def record_each(self: Limit, measured: Floats) -> Bools:
        compared.extend((self.name, each) for each in measured.tolist())
        return broken_by_each(self, measured)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Limit, "broken_by", record)
        patch.setattr(Limit, "broken_by_each", record_each)
        yield compared


def judged(rule: str, one: Case, limits: Limits) -> list[Finding]:
    """Return what a rule says about a case with these limits."""
    return list(import_module(f"analyzers.rules.{rule}").check(one, limits))


def worst(rule: str, limit: str) -> float:
    """Return the number farthest past the limit, or nearest to it where none is, that the rule compares."""
    own = load_limits(rule)[limit]
    with recorded() as compared:
        judged(rule, FIRING[rule, limit], load_limits(rule))
    numbers = [measured for name, measured in compared if name == limit]
    assert numbers, "the case is never compared with this limit"
    return max(numbers) if own.sense == "at_most" else min(numbers)


def at(rule: str, limit: str, value: float) -> list[Finding]:
    """Return what the rule says with that value for this limit, the others that speak alone switched off."""
    limits = load_limits(rule)
    changed = {
        each.name: replace(each, value=value) if each.name == limit else replace(each, off=rule not in TOGETHER)
        for each in limits
    }
    return judged(rule, FIRING[rule, limit], replace(limits, by_name=changed))


def test_every_limit_of_every_rule_is_here() -> None:
    """A new rule or limit brings its case."""
    assert set(FIRING) == {(rule, limit.name) for rule in rule_names() for limit in load_limits(rule)}
    assert set(FIRING) >= KEPT


@EVERY
def test_fires_past_its_own_limit(rule: str, limit: str) -> None:
    """With the figures of the rule's own file, at that limit's level."""
    level = "note" if (rule, limit) in KEPT else load_limits(rule)[limit].level
    found = judged(rule, FIRING[rule, limit], load_limits(rule))
    assert found
    assert (rule, limit) in KEPT or level in build.levels(found)


@EVERY
def test_exactly_at_the_limit_is_allowed(rule: str, limit: str) -> None:
    """The limit itself is still good; a limit that says what the rule is about takes it in."""
    assert bool(at(rule, limit, worst(rule, limit))) is ((rule, limit) in KEPT)


@EVERY
def test_just_past_the_limit_is_not(rule: str, limit: str) -> None:
    """A thousandth stricter, and the rule speaks; or no longer, where the limit says what it is about."""
    number, own = worst(rule, limit), load_limits(rule)[limit]
    step = STRICTER * max(abs(number), STRICTER)
    stricter = number - step if own.sense == "at_most" else number + step
    assert bool(at(rule, limit, stricter)) is ((rule, limit) not in KEPT)


@pytest.mark.parametrize("rule", rule_names())
def test_a_plain_part_is_silent(rule: str) -> None:
    """A block with a round-cornered pocket, one setup, no thin places: nobody has anything to say."""
    assert judged(rule, build.case(build.pocket()), load_limits(rule)) == []
