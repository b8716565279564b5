"""What is looked at, and why: one page made from the rules' own texts and limits."""

from collections.abc import Sequence

from markupsafe import Markup

from analyzers.report.as_html import asset, environment, policy
from analyzers.rules import RuleText, describe_rules

PROV_WORDS = {
    "seen": "read in the source",
    "derived": "worked out from the source",
    "geometry": "it cannot be otherwise",
    "shop": "the shop's own figure",
    "judgement": "our judgement",
    "memory": "recalled, not read",
}
"""How sure a limit is, in words; see `analyzers.rules._limits`."""


def rules_page(rules: Sequence[RuleText] | None = None) -> str:
    """Return the page about these rules as text, by default about all of them; it opens from disk and runs nothing."""
    style = asset("style.css")
    template = environment().get_template("rules.html.j2")
    return template.render(
        rules=describe_rules() if rules is None else rules,
        prov=PROV_WORDS,
        style=Markup(style),  # noqa: S704  # our own file
        policy=policy((style,), ()),
    )
