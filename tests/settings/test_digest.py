"""The digest follows what can change a verdict, and nothing else."""

import subprocess
import sys
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import pytest

from analyzers.settings import Settings, load_settings
from tests.settings._texts import SMALLEST, changed, written


def test_layout_and_remarks_do_not_count(tmp_path: Path) -> None:
    """Other blanks, another order of keys, a remark, an inch text for the same length."""
    plain = load_settings(written(tmp_path, SMALLEST))
    lines = SMALLEST.splitlines()
    shuffled = "\n".join(["# a remark", *reversed(lines[:14]), *lines[14:]]).replace("grip = 5.0", "grip   =  5 # mm")
    assert load_settings(written(tmp_path, shuffled)).digest == plain.digest


@pytest.mark.parametrize(
    ("old", "new"),
    [("grip = 5.0", "grip = 5.001"), ("diameter = 6.0", "diameter = 6.1"), ('id = "mill"', 'id = "mill 2"'),
     ("max_setups = 4", "max_setups = 5"), ("min_wall = 0.8", "min_wall = 0.9"),
     ('kind = "mill"', 'kind = "mill_turn"'), ('source = "invented"', 'source = "invented"\n[limits.a]\nb = 1')],
)  # fmt: skip
def test_each_value_counts(tmp_path: Path, old: str, new: str) -> None:
    """Any figure, name or limit gives another digest."""
    plain = load_settings(written(tmp_path, SMALLEST))
    assert load_settings(written(tmp_path, changed(old, new))).digest != plain.digest


def test_material_quantity_and_policy_count() -> None:
    """The order counts as much as the shop."""
    plain = load_settings()
    digests = {
        plain.digest,
        load_settings(material="304").digest,
        load_settings(quantity=2).digest,
        load_settings(repair=True).digest,
        replace(plain, policy=replace(plain.policy, fail_levels=("error", "warning"))).digest,
    }
    assert len(digests) == 5


def _other(value: Any) -> Any:
    """Return a value that differs from the one given."""
    if isinstance(value, tuple):
        return value[:-1] if value else ("another",)
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return value + 1
    return f"{value}x"


def test_no_field_is_forgotten() -> None:
    """Changing any field of any record changes the digest, so that new fields are covered too."""
    plain = load_settings()
    for name, index in (
        ("machines", 0),
        ("holders", 0),
        ("stock", 0),
        ("materials", 0),
        ("refuses", 0),
        ("cutters", -1),
    ):
        records = list(getattr(plain.shop, name))
        record = records[index]
        for field in fields(record):
            records[index] = replace(record, **{field.name: _other(getattr(record, field.name))})
            changed: dict[str, Any] = {name: tuple(records)}
            shop = replace(plain.shop, **changed)
            assert replace(plain, shop=shop).digest != plain.digest, (name, field.name)
    for field in fields(plain.shop):
        shop = replace(plain.shop, **{field.name: _other(getattr(plain.shop, field.name))})
        assert replace(plain, shop=shop).digest != plain.digest, field.name
    for field in fields(plain.policy):
        policy = replace(plain.policy, **{field.name: _other(getattr(plain.policy, field.name))})
        assert replace(plain, policy=policy).digest != plain.digest, field.name


def test_digest_is_the_same_in_another_process() -> None:
    """It rests on no hash seed, no order of sets, no memory address."""
    command = "from analyzers.settings import load_settings; print(load_settings(quantity=7).digest)"
    for seed in ("1", "2"):
        run = subprocess.run(
            [sys.executable, "-c", command],
            capture_output=True,
            text=True,
            check=True,
            cwd=Path(__file__).parents[2],
            env={"PYTHONHASHSEED": seed, "PATH": ""},
        )
        assert run.stdout.strip() == load_settings(quantity=7).digest


def test_digest_cannot_be_given() -> None:
    """It follows from the rest, so it cannot be wrong."""
    settings = load_settings()
    with pytest.raises(TypeError):
        Settings(shop=settings.shop, policy=settings.policy, material=settings.material, digest="0")  # type: ignore[call-arg]  # that is the point
    assert len(settings.digest) == 64
