import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from analyzers.report.text import clean, plural, shorten


@given(st.text(max_size=300))
def test_nothing_invisible_is_left(text: str) -> None:
    """No control, format, private or unassigned character and no line break reaches the page."""
    assert not {unicodedata.category(char) for char in clean(text)} & {"Cc", "Cf", "Co", "Cs", "Cn", "Zl", "Zp"}


@given(st.text(max_size=300), st.integers(3, 80))
def test_never_longer_than_asked(text: str, limit: int) -> None:
    """A name of any length fits its place."""
    assert len(clean(text, limit)) <= limit


def test_direction_override_is_shown() -> None:
    """A right-to-left override cannot disguise a name."""
    assert clean("a\u202eb") == "a⟨U+202E⟩b"


def test_stacked_accents_are_shown_as_codes() -> None:
    """A letter under twenty accents does not run over the lines above it."""
    assert "⟨U+0301⟩" in clean("e" + "\u0301" * 5)
    assert clean("e\u0301te\u0301") == "e\u0301te\u0301"


def test_both_ends_of_a_long_name_stay() -> None:
    """What tells two long file names apart is mostly at the end."""
    assert shorten("abcdefghij", 5) == "ab…ij"


def test_plural() -> None:
    """Counts read as words."""
    assert [plural(n, "hole") for n in (0, 1, 2)] == ["no holes", "1 hole", "2 holes"]
