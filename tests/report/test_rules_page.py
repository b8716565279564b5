"""The page of rules is made from the rules themselves, and opens in a browser without a word."""

import html
import re
from dataclasses import replace
from pathlib import Path

import pytest

from analyzers.pipeline import analyse
from analyzers.report.as_html import to_html
from analyzers.report.rules_page import PROV_WORDS, rules_page
from analyzers.rules import describe_rules
from analyzers.rules._limits import HIGHEST_LEVEL
from analyzers.settings import load_settings
from tests.report._chromium import needs_chromium, opened


def test_every_rule_stands_there_with_its_texts_and_limits() -> None:
    """Title, what, why, instead; of each limit level, value, unit, source, and how sure it is."""
    page = html.unescape(rules_page())
    for rule in describe_rules():
        assert f'id="{rule.name}"' in page
        assert all(text in page for text in (rule.title, rule.what, rule.why, rule.instead))
        for limit in rule.limits:
            assert f"<td>{limit.level}</td>" in page
            assert f"{limit.value:g}</td><td>{limit.unit}</td>" in page
            assert limit.source in page


def test_every_kind_of_source_has_words() -> None:
    """None is left without."""
    assert set(PROV_WORDS) == set(HIGHEST_LEVEL)


def test_only_those_asked_for() -> None:
    """One rule, one section."""
    page = rules_page([each for each in describe_rules() if each.name == "thin_wall"])
    assert page.count('<section class="card"') == 1


def test_text_of_a_rule_is_escaped() -> None:
    """No rule's words become markup, whatever a folder of rules holds."""
    rule = replace(describe_rules()[0], why="<script>alert(1)</script>")
    assert "<script>alert" not in rules_page([rule])


def test_the_report_says_what_a_rule_looks_at_and_why(parts: Path) -> None:
    """Below each finding, folded away, in both languages."""
    page = html.unescape(to_html(analyse(parts / "sharp_window.step", load_settings())))
    rule = next(each for each in describe_rules() if each.name == "sharp_internal_corner")
    about = page[page.index('<details class="about"><summary>') :]
    texts = re.findall(r'<span class="en" lang="en">(.*?)</span>', about[: about.index("</details>")])
    assert texts == [rule.title, rule.what, rule.why]


@pytest.mark.chromium
@needs_chromium
def test_it_opens_in_a_browser(tmp_path: Path) -> None:
    """No request, no complaint of the policy, every link leads to a rule, and nothing runs off a narrow screen."""
    path = tmp_path / "rules.html"
    path.write_text(rules_page(), encoding="utf-8")
    with opened(path, width=420) as (page, wrong):
        assert page.locator("section.card").count() == len(describe_rules())
        links = page.eval_on_selector_all(
            "a", "all => all.map(a => document.querySelector(a.getAttribute('href')) !== null)"
        )
        assert len(links) == len(describe_rules())
        assert all(links)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
        page.screenshot(path=tmp_path / "rules.png")
    assert wrong == []
