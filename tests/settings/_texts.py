"""The smallest shop file that is right, and how to write it down."""

from pathlib import Path

SMALLEST = """\
name = "Bench (invented)"
unit = "mm"
default_material = "alu"
stock_allowance = 2.0
grip = 5.0
vise_opening = 100.0
corner_clearance_ratio = 0.8
scallop_height = 0.01
max_deflection = 0.02
setup_minutes = 20.0
load_minutes = 2.0
deburr_minutes_per_m = 4.0
held_it_grade = 8
max_setups = 4

[[machines]]
id = "mill"
name = "Mill"
kind = "mill"
axes = 3
travel = [400.0, 300.0, 200.0]
max_rpm = 8000
power_kw = 5.0
rate_per_hour = 60.0
tool_change_s = 10.0

[[holders]]
id = "collet"
diameter = 30.0
length = 50.0

[[cutters]]
id = "flat 6"
kind = "flat"
diameter = 6.0
flute_length = 13.0
reach = 26.0

[[cutters]]
id = "drill 5"
kind = "drill"
diameter = 5.0
flute_length = 52.0
reach = 56.0
point_angle_deg = 118.0

[[materials]]
id = "alu"
name = "Aluminium"
aliases = ["aluminium alloy"]
density_kg_m3 = 2700.0
cutting_speed_m_min = 300.0
feed_per_tooth_ratio = 0.008
min_wall = 0.8
source = "invented"
"""


def line_of(text: str, wanted: str) -> int:
    """Return the number of the first line that holds a text."""
    return next(number for number, line in enumerate(text.splitlines(), start=1) if wanted in line)


def written(folder: Path, text: str, name: str = "shop.toml") -> Path:
    """Return the file the text was written to."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def changed(old: str, new: str) -> str:
    """Return the smallest shop with one text replaced, which must be there."""
    assert old in SMALLEST
    return SMALLEST.replace(old, new, 1)
