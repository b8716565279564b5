"""Shop files are read into frozen settings; lengths end up in millimetres."""

import pickle
import tomllib
from dataclasses import FrozenInstanceError, replace
from pathlib import Path

import pytest

from analyzers.errors import SettingsError
from analyzers.settings import (
    Cutter,
    LimitOverride,
    Machine,
    Material,
    Settings,
    check_policy,
    check_shop,
    load_settings,
)
from tests.settings._texts import SMALLEST, changed, written

SHOPS = Path(__file__).parents[1] / "data" / "shops"


def test_the_built_in_shop_is_right_and_says_it_is_invented() -> None:
    """Without any file there are settings to run with, marked as an example."""
    settings = load_settings()
    assert "invented" in settings.shop.name
    assert settings.material.id == settings.shop.default_material == "6061-T6"
    assert settings.policy.fail_levels == ("error",)
    assert settings.quantity == 1
    assert {cutter.kind for cutter in settings.shop.cutters} == {
        "flat", "bull", "ball", "drill", "spot", "chamfer", "slot", "tap", "reamer",
    }  # fmt: skip


def test_every_key_of_the_built_in_shop_is_explained() -> None:
    """Whoever copies the file finds each key it uses in a remark or beside one that says what it means."""
    path = Path(__file__).parents[2] / "analyzers" / "data" / "example_shop.toml"
    text = path.read_text(encoding="utf-8")
    remarks = " ".join(line for line in text.splitlines() if line.startswith("#"))
    assert check_shop(path) == ()
    tables = tomllib.loads(text)
    used = {
        key
        for name in ("machines", "holders", "cutters", "materials", "stock", "refuses")
        for key in _keys(tables[name])
    }
    assert len(used) > 35
    for key in used - {"id", "name", "why"}:
        assert key in remarks, key


def _keys(entries: list[dict[str, object]]) -> set[str]:
    """Return the keys that any of the tables has."""
    return {key for entry in entries for key in entry}


@pytest.mark.parametrize("name", ["hobby_mill", "metric_job_shop", "five_axis_shop"])
def test_the_three_shops_of_the_tests_are_right(name: str) -> None:
    """They are invented, and no mistake is found in them."""
    path = SHOPS / f"{name}.toml"
    assert check_shop(path) == ()
    assert "invented" in load_settings(path).shop.name


def test_an_inch_shop_is_millimetres_inside() -> None:
    """Numbers and fractions in the shop's inches, feeds in inches per minute; other keys keep their unit."""
    shop = load_settings(SHOPS / "hobby_mill.toml").shop
    cutter = next(cutter for cutter in shop.cutters if cutter.id == "flat 3/8")
    assert cutter.diameter_mm == pytest.approx(9.525)
    assert cutter.reach_mm == pytest.approx(31.75)
    tap = next(cutter for cutter in shop.cutters if cutter.kind == "tap")
    assert tap.pitch_mm == pytest.approx(1.27)
    assert shop.machines[0].travel_mm == pytest.approx((254.0, 127.0, 152.4))
    assert shop.machines[0].max_feed_mm_min == pytest.approx(1524.0)
    assert shop.vise_opening_mm == pytest.approx(76.2)
    assert shop.stock[0].sizes_mm == pytest.approx((6.35, 9.525, 12.7, 19.05, 25.4, 38.1))
    assert shop.machines[0].power_kw == 0.6


@pytest.mark.parametrize(
    ("unit", "grip", "expected_mm"),
    [("mm", "5.0", 5.0), ("mm", "5", 5.0), ("mm", '"1/4 in"', 6.35), ("inch", "0.25", 6.35), ("inch", '"1/4"', 6.35),
     ("inch", '"6 mm"', 6.0)],
)  # fmt: skip
def test_a_length_may_bring_its_own_unit(tmp_path: Path, unit: str, grip: str, expected_mm: float) -> None:
    """A text with a unit overrides the file's."""
    text = changed('unit = "mm"', f'unit = "{unit}"').replace("grip = 5.0", f"grip = {grip}")
    assert load_settings(written(tmp_path, text)).shop.grip_mm == pytest.approx(expected_mm)


def test_settings_are_frozen_and_travel() -> None:
    """Nothing changes them, and another process gets equal ones."""
    settings = load_settings()
    with pytest.raises(FrozenInstanceError):
        settings.quantity = 2  # type: ignore[misc]  # that is the point
    again = pickle.loads(pickle.dumps(settings))  # noqa: S301  # our own bytes
    assert again == settings
    assert again.digest == settings.digest


@pytest.mark.parametrize("asked", ["alu", "ALU", "Aluminium", "aluminium alloy"])
def test_a_material_has_several_names(tmp_path: Path, asked: str) -> None:
    """Id, name or alias, in any case."""
    assert load_settings(written(tmp_path, SMALLEST), material=asked).material.id == "alu"


def test_an_unknown_material_is_refused_with_the_known_ones(tmp_path: Path) -> None:
    """It says what was asked for, what there is, and what was probably meant."""
    with pytest.raises(SettingsError) as caught:
        load_settings(written(tmp_path, SMALLEST), material="aluu")
    assert str(caught.value) == (
        'material: unknown material "aluu", expected one of alu; did you mean "alu"? (shop "Bench (invented)")'
    )


@pytest.mark.parametrize("quantity", [0, -3])
def test_an_order_has_at_least_one_piece(quantity: int) -> None:
    """Said before anything is computed."""
    with pytest.raises(SettingsError, match=f"quantity: found {quantity}, expected 1 or more"):
        load_settings(quantity=quantity)


def test_limits_are_overridden_in_three_ways(tmp_path: Path) -> None:
    """A value, a level, or both; in the rule's own unit whatever the shop's."""
    limits = '\n[limits.some_rule]\nfirst = 8\nsecond = "off"\nthird = { value = 4.5, level = "warning" }\n'
    text = changed('unit = "mm"', 'unit = "inch"') + limits
    assert load_settings(written(tmp_path, text)).shop.limits == (
        LimitOverride(rule="some_rule", limit="first", value=8.0),
        LimitOverride(rule="some_rule", limit="second", level="off"),
        LimitOverride(rule="some_rule", limit="third", value=4.5, level="warning"),
    )


def test_a_policy_file_is_read(tmp_path: Path) -> None:
    """All its keys."""
    text = 'name = "Gate"\nfail_levels = ["error", "warning"]\nfail_rules = ["thin_wall"]\nallow_rules = ["other"]\n'
    text += 'fail_buckets = ["not_as_modelled"]\nmax_difficulty = 70\nrequired_measures = ["min_wall_mm"]\n'
    path = written(tmp_path, text, "policy.toml")
    policy = load_settings(policy=path).policy
    assert check_policy(path) == ()
    assert policy.fail_levels == ("error", "warning")
    assert policy.fail_rules == ("thin_wall",)
    assert policy.allow_rules == ("other",)
    assert policy.fail_buckets == ("not_as_modelled",)
    assert policy.max_difficulty == 70.0
    assert policy.required_measures == ("min_wall_mm",)


def test_dataclasses_need_no_file() -> None:
    """Tests and callers build them directly; what contradicts itself is refused there too."""
    cutter = Cutter(
        id="ball 6", kind="ball", diameter_mm=6.0, flute_length_mm=12.0, reach_mm=30.0, corner_radius_mm=3.0
    )
    assert cutter.flutes == 2
    with pytest.raises(ValueError, match="half its diameter"):
        replace(cutter, corner_radius_mm=1.0)
    with pytest.raises(ValueError, match="belong together"):
        replace(load_settings().material, mc=None)
    assert Machine.__doc__
    assert Material.__doc__


def test_settings_refuse_no_pieces() -> None:
    """The object insists by itself."""
    settings = load_settings()
    with pytest.raises(ValueError, match="expected 1 or more"):
        Settings(shop=settings.shop, policy=settings.policy, material=settings.material, quantity=0)
