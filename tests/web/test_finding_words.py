"""Findings of the law in German: every rule a German shop meets has its words, and numbers are written as there."""

from datetime import date
from decimal import Decimal

import pytest

from bloomless.rules import all_law, law_of
from bloomless.web.finding_words import finding_words
from bloomless.web.view import View
from bloomless.web.words import translations
from rules import foods as f
from rules.checks.register import TODAY

GERMAN = View("de")
MEANT = [
    rule
    for rule in all_law().rules
    if rule.jurisdiction not in {"codex", "ca"}
    and not (rule.jurisdiction == "us" and rule.topic.startswith("identity"))  # names of the US stay English
    and not rule.name.endswith(("cocoa_butter",))  # a maker of cocoa butter is no user here
]


def test_every_rule_has_its_german():
    known = translations("de").gettext
    texts = {text for rule in MEANT for text in (rule.message, rule.cure) if text}
    assert {text for text in texts if known(text) == text} == set()


def test_a_number_is_written_as_the_device_writes_it():
    finding = law_of(TODAY).rule("eu.name.cocoa_pct").finding(
        {"cocoa_claimed": True, "cocoa_claim_pct": Decimal(70), "tdcs_pct": Decimal("69.325")}
    )  # fmt: skip
    said = finding_words(finding, GERMAN)
    assert said.message.startswith("Der Name nennt 70\u202f%" if "\u202f" in said.message else "Der Name nennt 70 %")
    assert "69,3" in said.message
    assert not said.english
    assert finding_words(finding, View("en")).message == finding.message


def test_a_missing_fact_is_said_too():
    said = finding_words(law_of(TODAY).rule("eu.net.small").finding({}), GERMAN)
    assert said.message == "Lässt sich nicht beurteilen: die Füllmenge ist nicht bekannt."


def test_what_has_no_german_says_that_it_is_english():
    finding = law_of(TODAY).rule("us.milk.liquor").finding({"liquor_pct": Decimal(9)})
    said = finding_words(finding, GERMAN)
    assert (said.message, said.english) == (finding.message, True)


@pytest.mark.parametrize("day", [date(2026, 11, 25)])
def test_a_finding_inside_a_finding_is_german_too(day):
    from bloomless.rules.common.review import review

    thin = f.food(f.chocolate((f.M, 10), (f.CB, 5), (f.S, 85)), name="Dark chocolate")
    finding = next(x for x in review(thin, "eu", day).findings if x.rule == "eu.identity.none")
    said = finding_words(finding, GERMAN)
    assert "Kein geschützter Name gilt" in said.message
    assert "Gesamtkakaotrockenmasse" in said.message
