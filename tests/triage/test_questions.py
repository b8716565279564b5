import re
from dataclasses import replace

import pytest

from analyzers.model.feature import NOTHING, SHARP_EDGE, Gap, Pattern
from analyzers.model.finding import Finding
from analyzers.model.measure import ThinPlace
from analyzers.model.plan import Plan
from analyzers.model.report import Facts
from analyzers.model.source import Source
from analyzers.model.tolerance_note import ToleranceNote
from analyzers.triage import ask, ask_about, sort_out
from analyzers.triage.phrases import languages, phrases
from tests.plan._builders import block, example, facts, hole, pocket, slot
from tests.triage._builders import INCH, MM, change, finding, plan, unmade

PLAIN = facts(block(), [pocket(corner_radius_mm=2.0, faces=()), pocket(20.0, 10.0, corner_radius_mm=0.0, faces=())])


def asked(
    of: Facts = PLAIN,
    by: Plan | None = None,
    findings: tuple[Finding, ...] = (),
    source: Source = MM,
    language: str = "en",
) -> list[str]:
    """Return the questions without the last one, which every order gets."""
    return list(ask(of, by or plan(), findings, source, example(), language))[:-1]


def only(questions: list[str]) -> str:
    """Return the one question there is."""
    (question,) = questions
    return question


def test_questions_know_what_they_are_about() -> None:
    """The same texts, each with the features or the faces that it names; the standing one with none."""
    wall = ThinPlace(thickness_mm=0.3, point_mm=(1.0, 2.0, 3.0), faces=(4, 1), area_mm2=5.0)
    of = replace(facts(block(), [hole(5.0), hole(9.05), hole(5.0)]), walls=(wall,))
    found = ask_about(of, plan(unmade=(unmade("F2"),)), (), MM, example())
    assert tuple(each.text for each in found) == ask(of, plan(unmade=(unmade("F2"),)), (), MM, example())
    about = {each.text.split()[0]: each.features for each in found}
    assert about["We"] == ("F2",)
    assert [each.features for each in found if "threads" in each.text] == [("F1", "F2", "F3")]
    assert [each.faces for each in found if "thinnest wall" in each.text] == [(4, 1)]
    assert (found[-1].features, found[-1].faces) == ((), ())


# --- silent ---------------------------------------------------------------------------------------------------------


def test_a_part_without_doubts_gets_the_standing_question_alone() -> None:
    """Material, quantity, tolerances, surface, edges: one line, with what is reckoned with."""
    found = ask(PLAIN, plan(), (), MM, example())
    assert len(found) == 1
    assert example().material.name in found[0]
    assert "quantity (1)" in found[0]


@pytest.mark.parametrize(
    "findings",
    [
        pytest.param((finding("note", change=change("corner_radius_mm", 3.0)),), id="notes"),
        pytest.param((finding("error"),), id="nothing-to-change"),
        pytest.param((finding("error", change=change("corner_radius_mm", 3.0, "F9")),), id="feature-not-there"),
        pytest.param((finding("error", change=change("no_such_field", 3.0)),), id="field-not-asked-for"),
    ],
)
def test_findings_that_ask_nothing(findings: tuple[Finding, ...]) -> None:
    """A question needs a level that matters, a change, and a feature to change."""
    assert asked(findings=findings) == []


def test_walls_at_the_least_thickness_are_not_asked_about() -> None:
    """Exactly the material's least wall will do."""
    least = example().material.min_wall_mm
    thick = ThinPlace(thickness_mm=least, point_mm=(1.0, 2.0, 3.0), faces=(0, 1), area_mm2=5.0)
    assert asked(replace(PLAIN, walls=(thick,))) == []
    thin = replace(thick, thickness_mm=least - 0.01)
    assert "0.79 mm (X 1, Y 2, Z 3)" in only(asked(replace(PLAIN, walls=(thin,))))


def test_full_patterns_and_sound_models_are_not_asked_about() -> None:
    """Nothing missing, nothing open."""
    holes = facts(block(), [hole(9.05), hole(9.05), hole(9.05)])
    full = replace(holes, patterns=(Pattern(kind="rectangular", features=("F1", "F2", "F3")),))
    assert not any("expect" in each for each in asked(full))


# --- firing ---------------------------------------------------------------------------------------------------------


def test_corners_of_one_kind_are_asked_about_once() -> None:
    """Two findings with a radius, one that has none: two questions, the first with both places."""
    findings = (
        finding("error", change=change("corner_radius_mm", 2.5, "F1")),
        finding("error", change=change("corner_radius_mm", 1.6, "F2")),
    )
    larger, sharp = asked(findings=findings)
    place = "(at X 30, Y 8, Z 31)"
    assert larger == (
        f"May these inside corners have a larger radius: the pocket 30 × 20 {place} R2.5 or more instead of R2?"
    )
    assert "As drawn they are sharp" in sharp
    assert "the pocket 20 × 10 (at X 30, Y 8, Z 31) with R1.6 or more" in sharp


def test_a_web_is_asked_about_with_what_is_left_and_what_is_wanted() -> None:
    """The size is no field of the hole: the change itself says what it was."""
    near = facts(block(), [hole(7.3)])
    web = replace(change("web_mm", 0.8), was=0.4)
    found = asked(near, findings=(finding("warning", change=web),))
    assert "so that 0.8 mm are left instead of 0.4 mm" in found[0]


def test_one_size_of_one_feature_is_asked_about_once() -> None:
    """Two rules want the same hole wider: the larger wish holds both."""
    deep = facts(block(), [hole(7.3)])
    wishes = [replace(change("diameter_mm", size), was=7.3) for size in (8.9, 10.0, 9.0)]
    found = [each for each in asked(deep, findings=tuple(finding(change=each) for each in wishes)) if "⌀" in each]
    assert only(found).endswith("the hole ⌀7.3 (at X 20, Y 3, Z 31) to ⌀10?")


def test_leaving_a_feature_out_is_no_question_of_its_own() -> None:
    """That it cannot be made is asked with the plan's reason, whatever a trial without it says."""
    lost = plan(unmade=(unmade("F1", "no slot cutter goes under its lips"),))
    found = asked(by=lost, findings=(finding("error", "undercut_slot", change("count", 0.0)),))
    assert "no slot cutter goes under its lips" in found[0]


def test_equal_places_are_counted() -> None:
    """Four holes, two of their places, and how many more."""
    holes = facts(block(), [hole(7.3, position_mm=(float(i), 2.0, 3.0)) for i in range(4)])
    found = asked(holes, findings=(finding("warning", change=change("diameter_mm", 7.5, "F1", "F2", "F3", "F4")),))
    assert "the 4 holes ⌀7.3 (at X 0, Y 2, Z 3; X 1, Y 2, Z 3 and 2 more) to ⌀7.5" in found[0]


def test_a_near_miss_is_asked_about_whatever_its_level() -> None:
    """It is a slip, not a wish of the shop."""
    holes = facts(block(), [hole(9.05)])
    found = asked(holes, findings=(finding("note", "near_miss_hole_size", change("diameter_mm", 9.0)),))
    assert found[0] == "Are these diameters as you want them: the hole ⌀9.05 (at X 20, Y 3, Z 31), or is ⌀9 meant?"


def test_what_stays_unmade_is_asked_about_unless_a_change_is() -> None:
    """The plan's reason stands in for the finding that is not there."""
    lost = plan(
        unmade=(unmade("F1", "its walls lean over it; a dovetail cutter is needed"), unmade("F2", "sharp corners"))
    )
    sharp = finding("error", change=change("corner_radius_mm", 1.6, "F2"))
    rounded, rest = asked(by=lost, findings=(sharp,))
    assert "rounded" in rounded
    assert "its walls lean over it, a dovetail cutter is needed" in rest
    assert "20 × 10" not in rest


def test_hidden_faces_are_asked_about() -> None:
    """With a place to find them."""
    point = PLAIN.part.face_point_mm[2]
    question = only(asked(by=plan(unreached_faces=(2,))))
    assert f"X {point[0]:g}" in question
    assert "undercuts" in question


def test_a_gap_in_a_pattern_is_asked_about() -> None:
    """With the empty place."""
    holes = facts(block(), [hole(9.05), hole(9.05), hole(9.05)])
    gap = Pattern(kind="circular", features=("F1", "F2", "F3"), missing=((4.0, 5.0, 6.0),))
    question = next(each for each in asked(replace(holes, patterns=(gap,))) if "expect" in each)
    assert question.startswith("The 3 holes ⌀9.05")
    assert "one more at X 4, Y 5, Z 6, and find nothing. Is that meant?" in question


def lone_pair(instead: str | None, found: str) -> Facts:
    """Return two pockets, 8 and 7 deep, the first of which lacks its mirror image or has it in the second."""
    two = facts(block(), [pocket(faces=()), pocket(depth=7.0, faces=(), position_mm=(90.0, 8.0, 31.0))])
    gap = Gap(like="F1", expected="30 × 20 ↧8 R4", instead=instead, found=found)
    return replace(two, patterns=(Pattern(kind="mirror", features=("F1",), missing=((90.0, 8.0, 31.0),), gaps=(gap,)),))


@pytest.mark.parametrize(
    ("language", "sentence"),
    [
        ("en", "we would expect one more at X 90, Y 8, Z 31, and find a sharp edge. Is that meant?"),
        ("de", "wir würden bei X 90, Y 8, Z 31 noch eine Kopie erwarten und finden eine scharfe Kante."),
    ],
)
def test_what_stands_in_the_place_of_a_copy_is_said(language: str, sentence: str) -> None:
    """In the language of the question."""
    assert sentence in only(asked(lone_pair(None, SHARP_EDGE), language=language))


@pytest.mark.parametrize(
    ("language", "sentence"),
    [
        ("en", "looks like a copy of the pocket 30 × 20 (at X 30, Y 8, Z 31), but for its size: depth 7 mm instead of"),
        ("de", "bis auf das Maß: Tiefe 7 mm statt 8 mm."),
    ],
)
def test_a_copy_of_another_size_is_asked_about_with_both_sizes(language: str, sentence: str) -> None:
    """Which dimension, how large, and how large on its copy."""
    assert sentence in only(asked(lone_pair("F2", "30 × 20 ↧7 R4"), language=language))


def test_something_else_in_the_place_of_a_copy_is_asked_about() -> None:
    """A slot where a pocket was expected has no size to compare."""
    mixed = facts(block(), [pocket(faces=()), slot(6.0, 5.0, 20.0)])
    gap = Gap(like="F1", expected="30 × 20 ↧8 R4", instead="F2", found="SLOT 6 × 20 ↧5")
    pattern = Pattern(kind="mirror", features=("F1",), missing=((1.0, 2.0, 3.0),), gaps=(gap,))
    question = only(asked(replace(mixed, patterns=(pattern,))))
    assert question.startswith("Where we would expect a copy of the pocket 30 × 20 (at X 30, Y 8, Z 31) we find the sl")


def test_the_odd_one_of_a_pattern_is_asked_about_once() -> None:
    """The finding proposes a number, the pattern asks: one question."""
    one = lone_pair("F2", "30 × 20 ↧7 R4")
    assert len(asked(one, findings=(finding("warning", "missing_twin", change("depth_mm", 8.0, "F2")),))) == 1


def test_a_doubtful_model_comes_first() -> None:
    """Before everything that was measured on it."""
    open_part = replace(PLAIN, part=replace(PLAIN.part, closed=False))
    found = asked(open_part, findings=(finding("error", change=change("corner_radius_mm", 2.5)),))
    assert "open edges" in found[0]
    assert len(found) == 2


def test_sizes_that_only_make_sense_in_inches_are_asked_about() -> None:
    """No.7, 1/4 and 5/16 in read as millimetres."""
    tiny = facts(block(), [hole(0.201, 1.0), hole(0.25, 1.0), hole(0.3125, 1.0)])
    assert any("drawn in inches and read as millimetres" in each for each in asked(tiny))


def test_candidates_for_threads_and_pins_are_listed_by_size() -> None:
    """⌀5 is the tap drill of M6 (ISO 2306), ⌀8 the hole of an 8 mm pin; a clearance hole is neither."""
    holes = facts(block(), [hole(5.0), hole(5.0), hole(8.0, 16.0), hole(6.6, 20.0, through=True)])
    threads, fits = asked(holes)
    assert "2 × ⌀5 (could be M6)" in threads
    assert "6.6" not in threads
    assert "1 × ⌀8 (could be dowel 8)" in fits


def test_clearance_holes_alone_ask_for_no_threads() -> None:
    """⌀6.6 through is the clearance of M6 (ISO 273)."""
    assert asked(facts(block(), [hole(6.6, 20.0, through=True)])) == []


# --- units and languages --------------------------------------------------------------------------------------------


def test_a_part_drawn_in_inches_is_asked_about_in_inches() -> None:
    """Every number of the sentence, and its unit."""
    inch = 25.4
    part = facts(
        block((4.0 * inch, 3.0 * inch, 1.0 * inch), (0.0, 0.0, 0.0)),
        [slot(0.25 * inch, 0.5 * inch, 4.0 * inch, position_mm=(1.5 * inch, 0.5 * inch, inch))],
    )
    question = only(asked(part, findings=(finding("error", change=change("width_mm", 0.375 * inch)),), source=INCH))
    assert (
        question == "May these widths change: the slot 4 × 0.25 (at X 1.5, Y 0.5, Z 1) to 0.375 in instead of 0.25 in?"
    )


def test_german_says_it_in_german() -> None:
    """The same places and numbers, with a comma."""
    findings = (finding("error", change=change("corner_radius_mm", 1.6, "F2")),)
    question = only(asked(findings=findings, language="de"))
    assert question.startswith("Dürfen diese Innenecken gerundet werden?")
    assert "Tasche 20 × 10 (bei X 30, Y 8, Z 31) mit R1,6 oder mehr" in question


def test_every_language_says_everything() -> None:
    """The same sentences with the same places for values, save the plan's reasons, which are English."""
    english = phrases("en")
    assert {"de", "en"} <= set(languages())
    for language in languages():
        other = phrases(language)
        assert other.questions.keys() == english.questions.keys()
        assert other.changes.keys() == english.changes.keys()
        assert other.nouns.keys() == english.nouns.keys()
        assert other.scales.keys() == english.scales.keys()
        assert other.sizes.keys() == english.sizes.keys()
        assert other.absent.keys() == english.absent.keys() == {NOTHING, SHARP_EDGE}
        for key, text in english.questions.items():
            assert set(re.findall(r"{\w+}", other.questions[key])) >= set(re.findall(r"{\w+}", text)) - {"{why}"}
        for key, each in english.changes.items():
            assert set(re.findall(r"{\w+}", other.changes[key].item)) == set(re.findall(r"{\w+}", each.item))


def test_a_language_that_is_not_there_is_named() -> None:
    """With those that are."""
    with pytest.raises(ValueError, match="'tlh', expected one of de, en"):
        ask(PLAIN, plan(), (), MM, example(), "tlh")


# --- all together ---------------------------------------------------------------------------------------------------


def test_sorting_out_gives_triage_and_questions() -> None:
    """What the pipeline calls."""
    triage, questions = sort_out(PLAIN, plan(unmade=(unmade("F2"),)), (), MM, example())
    assert triage.bucket == "not_as_modelled"
    assert triage.machining_minutes == plan().minutes
    assert len(questions) == 2


# --- tolerances and threads of the model ----------------------------------------------------------------------------

TAPPED = facts(block(), [hole(6.8, 16.0, faces=(3,))])
M8 = ToleranceNote(kind="thread", thread="M8×1.25", pitch_mm=1.25, faces=(3,))
LIMITS = ToleranceNote(kind="flatness", zone_mm=0.05, faces=(1,))


def test_a_thread_that_the_model_names_is_not_asked_for() -> None:
    """One that it does not name is."""
    assert "tapped" in only(asked(TAPPED))
    assert asked(replace(TAPPED, tolerances=(M8,))) == []
    assert "tapped" in only(asked(replace(TAPPED, tolerances=(replace(M8, faces=(4,)),))))


def test_a_fit_that_the_model_names_is_not_asked_for() -> None:
    """A 6 mm hole may take a dowel, with 6 H7 it does."""
    pinned = facts(block(), [hole(6.0, 12.0, faces=(3,))])
    assert "which fit" in only(asked(pinned))
    h7 = ToleranceNote(kind="diameter", nominal_mm=6.0, fit="H7", faces=(3,))
    assert asked(replace(pinned, tolerances=(h7,))) == []


@pytest.mark.parametrize(
    ("language", "none", "some"),
    [
        ("en", "the model carries none; ISO 2768-1 class m", "for sizes that have none in the model (ISO 2768-1"),
        ("de", "das Modell trägt keine; ISO 2768-1 Klasse m", "für Maße, die im Modell keine haben (ISO 2768-1"),
    ],
)
def test_general_tolerances_are_asked_for(language: str, none: str, some: str) -> None:
    """Whether the model carries any makes the difference; a thread is no tolerance."""
    assert none in ask(PLAIN, plan(), (), MM, example(), language)[-1]
    assert none in ask(replace(TAPPED, tolerances=(M8,)), plan(), (), MM, example(), language)[-1]
    assert some in ask(replace(PLAIN, tolerances=(LIMITS,)), plan(), (), MM, example(), language)[-1]
