"""The same parts in three shops: a hobby mill in inches, a metric job shop, a five-axis shop; each with its reason.

The reasons are counted by hand from the shops' files (`fixtures/shops`) and the numbers the parts were built with
(`fixtures/make/parts`), not read off a report.
"""

import json
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner

from analyzers.model.report import Body
from analyzers.pipeline import analyse
from analyzers.rules import check_limits
from analyzers.settings import check_shop, load_settings
from api.cli import main

FIXTURES = Path(__file__).parents[2] / "fixtures"
HOBBY, JOB, FIVE = "hobby_inch", "job_shop_mm", "five_axis_mm"
SHOPS = (HOBBY, JOB, FIVE)
Verdict = dict[str, str]  # rule: level, without notes


@cache
def body(stem: str, shop: str) -> Body:
    """Return the first body of an example part as a shop sees it."""
    settings = load_settings(shop=FIXTURES / "shops" / f"{shop}.toml")
    return analyse(FIXTURES / "parts" / f"{stem}.step", settings).bodies[0]


def verdict(stem: str, shop: str) -> Verdict:
    """Return the worst level of each rule that warns."""
    found: Verdict = {}
    for each in body(stem, shop).findings:
        if each.level != "note":
            found.setdefault(each.rule, each.level)  # errors come first
    return found


@pytest.mark.parametrize("shop", SHOPS)
def test_the_files_hold_no_mistakes(shop: str) -> None:
    """As `partsieve shop --check` reads them."""
    path = FIXTURES / "shops" / f"{shop}.toml"
    assert check_shop(path) == ()
    check_limits(load_settings(shop=path).shop)
    assert "INVENTED" in path.read_text(encoding="utf-8")


E, W = "error", "warning"
THIN = {"thin_wall": W, "thin_floor": W}
SLANTED = {"slanted_direction": W, "hole_entry_inclined": W}

WALLS = "walls 0.8, a rib 0.7, floors 0.6; least wall 0.06 in = 1.52, 0.8, 0.5"
SLOTS = "slots 4 wide, 40 deep: 1/8 in reaches 19, ⌀4 reaches 21, a necked ⌀4 reaches 48 at ten diameters"
SLOPE = "a hole square to a slope of 25°: two shops have three axes, one turns the part"
LATHE = "turned: no lathe, a lathe, a turning and milling centre"
DOVETAIL = "a dovetail cutter is on no shelf; the T-slot needs a slot cutter ⌀16 x 8, which the hobby shop has not"
PLATE = "1604 x 904 of blank: the longest table travels 1300 x 700"
DRILLS = "a 1/4 in hole through 25.4: drills in 64ths, in millimetres without 6.35, end mills of 6 x 26 in two shops"


@pytest.mark.parametrize(
    ("stem", "why", "hobby", "job", "five"),
    [
        ("thin_tray", WALLS, THIN, THIN, {}),
        ("rib_block", SLOTS, {"deep_narrow_slot": E, "thin_wall": W}, {"deep_narrow_slot": E}, {"deep_narrow_slot": W}),
        ("wedge_block", SLOPE, SLANTED, SLANTED, {"hole_entry_inclined": W}),
        ("turned_bush", LATHE, {"refused_by_shop": E}, {}, {}),
        ("slide_base", DOVETAIL, *[{"undercut_slot": E}] * 3),
        ("floor_plate", PLATE, *[{"exceeds_travels": E}] * 3),
        ("sharp_window", "no cutter has corners", *[{"sharp_internal_corner": E}] * 3),
        ("lid_plate", "shallow, wide, upright: for everybody", {}, {}, {}),
        ("two_level_tray", "corners and depths for a 1/4 in end mill", {}, {}, {}),
    ],
)
def test_verdicts_differ_for_reasons(stem: str, why: str, hobby: Verdict, job: Verdict, five: Verdict) -> None:
    """Rules that warn, and how loudly."""
    assert (verdict(stem, HOBBY), verdict(stem, JOB), verdict(stem, FIVE)) == (hobby, job, five), why


def test_each_shop_has_its_own_thin_places() -> None:
    """Hobby: rib, walls and floors; job shop: rib and floors, its least wall being exactly the 0.8 of the walls."""
    thin = {
        shop: sorted(
            round(each.measured or 0.0, 2) for each in body("thin_tray", shop).findings if each.rule == "thin_wall"
        )
        for shop in SHOPS
    }
    assert thin == {HOBBY: [0.7, 0.8], JOB: [0.7], FIVE: []}


@pytest.mark.parametrize("stem", ["wedge_block", "askew_clamp", "oil_manifold"])
def test_five_axes_save_clampings(stem: str) -> None:
    """What lies in several directions is one clamping where the machine turns the part."""
    hobby, job, five = (len(body(stem, shop).plan.setups) for shop in SHOPS)
    assert five == 1 < job <= hobby


def test_the_inch_part_is_at_home_in_the_inch_shop() -> None:
    """⌀1/4 in: the inch shop has the drill; the metric one has neither it nor an end mill that winds 25.4 mm deep."""
    left = {shop: {each.why.split(" on the")[0] for each in body("inch_adapter", shop).plan.unmade} for shop in SHOPS}
    assert not any("⌀6.35" in why for why in left[HOBBY])
    assert left[JOB] == {"no drill of ⌀6.35"}
    assert left[FIVE] == set()


@pytest.mark.parametrize("stem", ["lid_plate", "two_level_tray", "boss_cover", "mould_half", "askew_clamp"])
def test_a_light_machine_with_hand_changes_takes_longest(stem: str) -> None:
    """Half a kilowatt, slower cutters and a minute for each change; the other two are within a fifth of each other."""
    hobby, job, five = (body(stem, shop).triage.machining_minutes.likely for shop in SHOPS)
    assert hobby > 3.0 * max(job, five)
    assert 0.8 < five / job < 1.25


@pytest.mark.parametrize("stem", ["thin_tray", "rib_block", "drilling_sampler", "oil_manifold", "wedge_block"])
def test_a_better_equipped_shop_finds_it_easier(stem: str) -> None:
    """Shelf, axes and least walls of the five-axis shop contain the job shop's, and those the hobby shop's means."""
    hobby, job, five = (body(stem, shop).triage.difficulty for shop in SHOPS)
    assert five < job < hobby


def test_suggestions_name_the_shops_own_cutters() -> None:
    """For the same sharp corner each shop proposes a radius for what stands on its shelf."""
    changes = {}
    for shop in SHOPS:
        change = body("sharp_window", shop).findings[0].change
        assert change is not None
        assert change.outcome is not None
        shelf = {each.id for each in load_settings(shop=FIXTURES / "shops" / f"{shop}.toml").shop.cutters}
        assert set(change.outcome.cutters_added) <= shelf
        changes[shop] = change.number
    assert len(set(changes.values())) > 1


@pytest.mark.parametrize(("shop", "status"), [(HOBBY, 1), (JOB, 1), (FIVE, 0)])
def test_the_command_says_so(tmp_path: Path, shop: str, status: int) -> None:
    """`partsieve check` fails the gate for the slots that two of the shops cannot make."""
    words = ["check", str(FIXTURES / "parts" / "rib_block.step"), "--out", str(tmp_path), "--no-html", "--quiet"]
    words += ["--format", "json", "--shop", str(FIXTURES / "shops" / f"{shop}.toml")]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == status
    (document,) = json.loads(done.stdout)
    assert "invented" in document["settings"]["shop"]
