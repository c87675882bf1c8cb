"""The table of rules as a whole."""

import pytest

from fleet.airworthiness.rule import Rule
from fleet.airworthiness.rules import RULES
from fleet.airworthiness.verdict import Effect
from tests.airworthiness.builders import NOW, facts

GROUNDS, LIMITS, ADVISES = Effect.GROUNDS, Effect.LIMITS, Effect.ADVISES


def test_the_rules_and_their_effects() -> None:
    # The codes are part of the API: changing one breaks other people's programs.
    assert [(rule.code, rule.effects) for rule in RULES] == [
        ("critical_item_defect", (GROUNDS,)),
        ("unclassified_defect", (GROUNDS,)),
        ("hazard_assessed", (GROUNDS,)),
        ("untriaged_defect", (GROUNDS, LIMITS)),
        ("assessed_defect", (GROUNDS, LIMITS)),
        ("deferral_running", (LIMITS,)),
        ("deferral_expired", (GROUNDS,)),
        ("rectification_unreleased", (GROUNDS,)),
        ("independent_inspection_missing", (GROUNDS,)),
        ("rigging_check_missing", (GROUNDS,)),
        ("unscheduled_inspection_due", (GROUNDS,)),
        ("ballast_unknown", (GROUNDS,)),
        ("document_expired", (GROUNDS, ADVISES)),
        ("repeat_defect", (ADVISES,)),
        ("rule_error", (GROUNDS,)),
    ]


def test_codes_and_titles_are_unique() -> None:
    assert len({rule.code for rule in RULES}) == len({rule.title for rule in RULES}) == len(RULES)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_every_rule_can_be_shown(rule: Rule) -> None:
    assert rule.title[0].isupper() and not rule.title.endswith(".")
    assert rule.citation
    assert list(rule.effects) == sorted(rule.effects, reverse=True)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_no_rule_finds_anything_on_an_aircraft_with_nothing_the_matter(rule: Rule) -> None:
    assert list(rule.judge(facts(), NOW)) == []
