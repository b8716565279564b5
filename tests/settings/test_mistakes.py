"""Every mistake in a settings file is named: file, line, key, what was found, what was expected."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from analyzers.errors import SettingsError
from analyzers.settings import check_policy, check_shop, load_settings
from tests.settings._texts import SMALLEST, changed, line_of, written

KNOWN = {"hole_depth_ratio": ["long_drill", "gun_drill"], "thin_wall": ["share_of_material"]}

ONE_MISTAKE = [
    # what is changed, into what, the line's text, the message after "shop.toml, line N, "
    ("grip = 5.0", 'grip = "six"', "grip =", 'grip: found "six": \'six\' is no length'),
    ("grip = 5.0", "grip = -1", "grip =", "grip: found -1, expected more than 0"),
    ("grip = 5.0", "grip = 0", "grip =", "grip: found 0, expected more than 0"),
    ("grip = 5.0", "grip = nan", "grip =", "grip: found nan, expected a finite number"),
    ("grip = 5.0", "grip = true", "grip =", "grip: found true, expected a number"),
    ("grip = 5.0", "grip = []", "grip =", "grip: found an empty array, expected a number"),
    ("grip = 5.0", "grip = 5.0\ngripp = 6.0", "gripp =", 'gripp: unknown key "gripp", expected one of'),
    ('unit = "mm"', 'unit = "cm"', "unit =", 'unit: found "cm", expected one of "mm", "inch"'),
    ("setup_minutes = 20.0", 'setup_minutes = "20"', "setup_m", 'setup_minutes: found "20", expected a number'),
    ("held_it_grade = 8", "held_it_grade = 8.5", "held_it", "held_it_grade: found 8.5, expected a whole number"),
    ("held_it_grade = 8", "held_it_grade = 19", "held_it", "held_it_grade: found 19, expected at most 18"),
    ("max_setups = 4", "max_setups = 0", "max_setups", "max_setups: found 0, expected at least 1"),
    ('name = "Bench (invented)"', 'name = ""', "name =", 'name: found "", expected at least 1 character'),
    ('name = "Bench (invented)"', "name = 3", "name =", "name: found 3, expected a text"),
    ("corner_clearance_ratio = 0.8", "corner_clearance_ratio = 1.1", "corner_c", "corner_clearance_ratio: found 1.1"),
    ('kind = "mill"', 'kind = "mil"', "kind =", 'machines[1].kind: found "mil", expected one of "mill", "lathe"'),
    ("200.0]", "]", "travel", "machines[1].travel[3]: expected entry 3"),
    ("200.0]", "200.0, 1.0]", "travel", "machines[1].travel: found [400.0, 300.0, 200.0, 1.0], expected 3 entries"),
    ("200.0]", '"x"]', "travel", "machines[1].travel[3]: found \"x\": 'x' is no length"),
    ('axes = 3', 'axes = 3\nindexed = "no"', "indexed", 'machines[1].indexed: found "no", expected true or false'),
    ('id = "drill 5"', 'id = "flat 6"', 'id = "flat 6"', 'found "flat 6" again (first in cutters[1])'),
    ("point_angle_deg = 118.0\n", "", "[[cutters]]", "cutters[2]: a drill needs its point_angle_deg"),
    ("reach = 26.0", "reach = 12.0", "[[cutters]]", "cutters[1]: reach is shorter than flute_length"),
    ("reach = 26.0", 'reach = 26.0\nholder = "colet"', "holder =", 'unknown holder "colet", expected one of collet'),
    ('default_material = "alu"', 'default_material = "al"', "default", 'default_material: unknown material "al"'),
    ("min_wall = 0.8", "min_wall = 0.8\nmc = 0.2", "[[materials]]", "materials[1]: kc1_n_mm2 and mc belong together"),
    ("feed_per_tooth_ratio = 0.008", "feed_per_tooth_ratio = 0.8", "feed_per", "found 0.8, expected at most 0.1"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "at", "message"), ONE_MISTAKE)
def test_one_mistake_is_told_with_its_line(tmp_path: Path, old: str, new: str, at: str, message: str) -> None:
    """Exactly that mistake, once, on its line."""
    text = changed(old, new)
    (found,) = check_shop(written(tmp_path, text))
    lines = [number for number, line in enumerate(text.splitlines(), start=1) if at in line]
    assert any(found.startswith(f"shop.toml, line {number}, ") for number in lines), found
    assert message in found


def test_a_missing_key_is_named(tmp_path: Path) -> None:
    """In the whole file it has no line, in a table the line of the table."""
    text = changed("grip = 5.0\n", "").replace("max_rpm = 8000\n", "")
    place = f"shop.toml, line {line_of(text, '[[machines]]')}, machines[1].max_rpm"
    assert check_shop(written(tmp_path, text)) == (
        f'{place}: nothing found, expected the key "max_rpm"',
        'shop.toml, grip: nothing found, expected the key "grip"',
    )


def test_all_mistakes_are_told_from_top_to_bottom(tmp_path: Path) -> None:
    """Values, references, unknown keys and limits in one go, not only the first."""
    text = changed("grip = 5.0", "grip = 0").replace('default_material = "alu"', 'default_material = "iron"')
    text = text.replace("diameter = 6.0", 'diametre = 6.0\nholder = "x"') + "\n[limits.thin_wal]\na = 1\n"
    found = check_shop(written(tmp_path, text), KNOWN)
    lines = [int(each.split("line ")[1].split(",")[0]) for each in found]
    assert lines == sorted(lines)
    assert [each.split(", ", 2)[2].split(":")[0] for each in found] == [
        "default_material",
        "grip",
        "cutters[1].diameter",
        "cutters[1].diametre",
        "cutters[1].holder",
        "limits.thin_wal",
    ]


def test_what_was_probably_meant_is_asked(tmp_path: Path) -> None:
    """The nearest known name, for keys, words, materials and rules; nothing where none is near."""
    text = changed("grip = 5.0", "gripp = 5.0").replace('kind = "drill"', 'kind = "dril"')
    text += "\n[limits.hole_depth]\na = 1\n[limits.thin_wall]\nshare_of_materiel = 1\nxyz = 2\n"
    found = "\n".join(check_shop(written(tmp_path, text), KNOWN))
    for meant in ("grip", "drill", "hole_depth_ratio", "share_of_material"):
        assert f'did you mean "{meant}"?' in found
    assert 'unknown limit "xyz" of rule "thin_wall", expected one of share_of_material\n' in found + "\n"


@pytest.mark.parametrize(
    ("limits", "message"),
    [
        ("limits = 4\n", "limits: found 4, expected a table with one table for each rule"),
        ("[limits]\nthin_wall = 3\n", "limits.thin_wall: found 3, expected a table with one key for each limit"),
        ('[limits.thin_wall]\nshare_of_material = "loud"\n', 'found "loud", expected one of error, warning, note, off'),
        ("[limits.thin_wall]\nshare_of_material = true\n", "found true, expected a number in the rule's unit"),
        ("[limits.thin_wall]\nshare_of_material = { valu = 1 }\n", 'unknown key "valu", expected one of level, value'),
        ("[limits.thin_wall]\nshare_of_material = {}\n", "found an empty table, expected value, level or both"),
        ("[limits.thin_wall]\nshare_of_material = [1]\n", "expected a number in the rule's unit"),
        ("[limits.thin_wall]\nshare_of_material = inf\n", "expected a number in the rule's unit"),
    ],
)
def test_mistakes_in_limits(tmp_path: Path, limits: str, message: str) -> None:
    """Limits are checked against the rules that there are."""
    text = limits + SMALLEST if limits.startswith("limits =") else SMALLEST + limits
    (found,) = check_shop(written(tmp_path, text), KNOWN)
    assert message in found


def test_rules_are_not_looked_at_where_none_are_known(tmp_path: Path) -> None:
    """Without the list of rules any name passes; whoever judges has the list."""
    assert check_shop(written(tmp_path, SMALLEST + "[limits.any]\nthing = 1\n")) == ()


@pytest.mark.parametrize(
    ("content", "message"),
    [
        pytest.param(b"name = \n", "shop.toml, line 1: Invalid value, expected TOML", id="syntax"),
        pytest.param(b"a = 1\na = 2\n", "Cannot overwrite a value, expected TOML", id="key-twice"),
        pytest.param(b"\xff\xfe", "shop.toml: byte 0 is no UTF-8", id="binary"),
        pytest.param(b"a = " + b"[" * 5000, "nested too deeply", id="nested"),
        pytest.param(b"a = " + b"9" * 6000, "expected TOML", id="digits"),
        pytest.param(b"#" * 4_000_001, "larger than 4000000 bytes", id="too-large"),
    ],
)
def test_what_is_no_settings_file_is_refused(tmp_path: Path, content: bytes, message: str) -> None:
    """One line each, whatever the bytes."""
    path = tmp_path / "shop.toml"
    path.write_bytes(content)
    (found,) = check_shop(path)
    assert message in found
    assert "\n" not in found


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    """What was found and what was expected."""
    assert check_shop(tmp_path / "none.toml") == ("none.toml: no such file, expected a TOML file",)
    (found,) = check_shop(tmp_path)
    assert "Is a directory" in found
    with pytest.raises(SettingsError, match=r"none\.toml: no such file"):
        load_settings(tmp_path / "none.toml")
    with pytest.raises(SettingsError, match=r"none\.toml: no such file"):
        load_settings(policy=tmp_path / "none.toml")


def test_loading_tells_the_first_mistake_and_how_many_more(tmp_path: Path) -> None:
    """One line for the command's user; the whole list is `check_shop`'s."""
    path = written(tmp_path, changed("grip = 5.0", "grip = 0").replace("max_setups = 4", "max_setups = 0"))
    with pytest.raises(SettingsError) as caught:
        load_settings(path)
    assert str(caught.value) == f"{path}, line 5, grip: found 0, expected more than 0 (and 1 more)"


def test_mistakes_in_a_policy(tmp_path: Path) -> None:
    """The same care as for the shop."""
    text = 'name = "x"\nfail_levels = ["eror"]\nfail_rules = ["thin_wal"]\nmax_difficulty = 200\n'
    found = check_policy(written(tmp_path, text, "policy.toml"), KNOWN)
    assert [each.split(": ")[0] for each in found] == [
        "policy.toml, line 2, fail_levels[1]",
        "policy.toml, line 4, max_difficulty",
    ]
    text = 'name = "x"\nfail_levels = []\nfail_rules = ["thin_wal"]\nallow_rules = ["thin_wall"]\n'
    (found_rule,) = check_policy(written(tmp_path, text, "policy.toml"), KNOWN)
    assert found_rule.startswith('policy.toml, line 3, fail_rules: unknown rule "thin_wal"')
    with pytest.raises(SettingsError, match="unknown rule"):
        load_settings(policy=written(tmp_path, text, "policy.toml"), known_limits=KNOWN)


def test_an_inch_shop_s_mistakes_show_what_it_wrote(tmp_path: Path) -> None:
    """Not the millimetres made of it."""
    text = changed('unit = "mm"', 'unit = "inch"').replace("grip = 5.0", "grip = -2")
    assert check_shop(written(tmp_path, text)) == ("shop.toml, line 5, grip: found -2, expected more than 0",)


_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3),
    max_leaves=4,
)


def _toml(value: object) -> str:
    """Return a value as TOML; None becomes something that is none."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return "[" + ", ".join(_toml(each) for each in value) + "]"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(c):08x}" for c in value if not 0xD800 <= ord(c) < 0xE000) + '"'
    return "{" if value is None else repr(value)


@hypothesis_settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150)
@given(line=st.integers(0, len(SMALLEST.splitlines()) - 1), value=_VALUES)
@example(line=4, value=10**400)
@example(line=12, value=10**400)
def test_any_value_is_either_right_or_explained(tmp_path: Path, line: int, value: object) -> None:
    """No value in any place ends in anything but settings or mistakes of one line each."""
    lines = SMALLEST.splitlines()
    key = lines[line].split("=")[0].strip()
    lines[line] = f"{key} = {_toml(value)}" if "=" in lines[line] else _toml(value)
    found = check_shop(written(tmp_path, "\n".join(lines)))
    assert all(each.startswith("shop.toml") and len(each.splitlines()) == 1 for each in found)


def test_a_mistake_cannot_write_to_the_terminal(tmp_path: Path) -> None:
    """Control characters of the file are shown as codes, and do not shift the lines of what comes after."""
    text = changed('name = "Bench (invented)"', 'name = "a\\u001b[31m\u2028b"').replace(
        'unit = "mm"', 'unit = "m\u2028\u202em"'
    )
    (found,) = check_shop(written(tmp_path, text))
    assert found.startswith('shop.toml, line 2, unit: found "m\\u2028\\u202em", expected')
