"""The lines of keys and tables in a TOML text."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from analyzers.settings.toml_lines import Where, find_lines, line_of

TEXT = '''\
# a remark = 1
top = 1
"quoted key" = 2
dotted.key = 3
[table]
inside = 1
[table.sub]
deep = 1
[[array]]
id = "a"
[[array]]
id = "b"
[array.child]
x = 1
[[array.many]]
y = 1
[[array.many]]
y = 2
long = """
id = "not a key"
[[array]]
"""
after = 1
list = [
    { id = "first" },
    # { id = "a remark" },
    { id = "second", z = 1 },
]
'''


@pytest.mark.parametrize(
    ("where", "line"),
    [
        (("top",), 2),
        (("quoted key",), 3),
        (("dotted", "key"), 4),
        (("table",), 5),
        (("table", "inside"), 6),
        (("table", "sub", "deep"), 8),
        (("array", 0), 9),
        (("array", 0, "id"), 10),
        (("array", 1, "id"), 12),
        (("array", 1, "child", "x"), 14),
        (("array", 1, "many", 0, "y"), 16),
        (("array", 1, "many", 1, "y"), 18),
        (("array", 1, "many", 1, "after"), 23),
        (("array", 1, "many", 1, "list", 0), 25),
        (("array", 1, "many", 1, "list", 1), 27),
    ],
)
def test_a_key_stands_on_its_line(where: Where, line: int) -> None:
    """Tables, dotted and quoted keys, arrays of tables, tables in braces; not what stands in texts or remarks."""
    assert find_lines(TEXT)[where] == line
    assert line_of(find_lines(TEXT), where) == line


def test_a_key_without_a_line_gets_its_table_s() -> None:
    """The nearest thing around it; nothing for what is nowhere."""
    lines = find_lines(TEXT)
    assert line_of(lines, ("array", 1, "none")) == 11
    assert line_of(lines, ("array", 1, "many", 1, "list", 1, "z")) == 27
    assert line_of(lines, ("nowhere",)) is None


def _paths(value: Any, where: Where = ()) -> Iterator[Where]:
    """Yield the path of each key that is written with a line of its own."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield (*where, key)
            yield from _paths(inner, (*where, key))
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        for index in range(len(value)):
            yield (*where, index)


@pytest.mark.parametrize(
    "path",
    sorted(Path(__file__).parents[1].glob("data/shops/*.toml"))
    + sorted(Path(__file__).parents[2].glob("analyzers/data/*.toml")),
    ids=lambda path: path.stem,
)
def test_every_key_of_the_real_files_is_found(path: Path) -> None:
    """Compared with what the standard library reads: each top key and each entry of an array has its line."""
    text = path.read_text(encoding="utf-8")
    lines = find_lines(text)
    for where in _paths(tomllib.loads(text)):
        assert where in lines, where
        assert str(where[-1]) in text.splitlines()[lines[where] - 1] or isinstance(where[-1], int)
