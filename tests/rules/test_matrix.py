"""The rule matrix: every shipped rule reaches its stated outcome, for exactly the settings it names."""

from functools import cache
from operator import attrgetter

import jsonschema_rs
import pytest

from auditor.record.schema import card_schema
from auditor.rules.result import Outcome
from auditor.rules.rule import Rule
from tests.rules.matrix import (
    Case,
    card_of,
    failing,
    judge_all,
    pointers_of,
    program,
    read_cases,
)

CASES = read_cases()
SINGLE = [case for case in CASES if case.newly_fails is not None]
OPEN = [case for case in CASES if case.outcome in (Outcome.FAIL, Outcome.UNKNOWN)]


@cache
def _validator() -> jsonschema_rs.Draft202012Validator:
    return jsonschema_rs.Draft202012Validator(dict(card_schema()), validate_formats=True)


@pytest.mark.parametrize("case", CASES, ids=attrgetter("name"))
def test_rule_reaches_the_stated_outcome(case: Case) -> None:
    """A rule gives the outcome its case states, for exactly the settings it names."""
    card = card_of(case)
    assert [error.message for error in _validator().iter_errors(card)] == []
    result = judge_all(card, case.parameters, in_work_tree=case.in_work_tree)[case.rule]
    assert result.outcome is case.outcome
    if case.pointers is not None:
        assert pointers_of(result) == set(case.pointers)


@pytest.mark.parametrize("case", SINGLE, ids=attrgetter("name"))
def test_one_change_makes_exactly_the_named_rules_fail(case: Case) -> None:
    """On the compliant card one changed setting fails the rules that the case names, and no other.

    Rules about settings that must meet have a case with all of these changed.
    """
    changes = len(case.set) + len(case.remove) + (case.in_work_tree is True)
    assert changes > 1 if case.rule in JOINT else changes == 1
    untouched = Case("", 0, "", Outcome.PASS, (), (), case.parameters, None, None)
    before = failing(judge_all(card_of(untouched), case.parameters))
    after = failing(judge_all(card_of(case), case.parameters, in_work_tree=case.in_work_tree))
    assert after - before == set(case.newly_fails or ())


def test_the_compliant_card_fails_nothing() -> None:
    """The exemplary card has no failing and no unknown result, so each single change stands alone."""
    results = judge_all(card_of(Case("", 0, "", Outcome.PASS, (), (), {}, None, None)), {})
    bad = {name for name, r in results.items() if r.outcome not in (Outcome.PASS, Outcome.NOTAPPLICABLE)}
    assert bad == set()


JOINT = {
    "outputs-heard-from-anywhere": "the card's filter, the service and its own filter",
    "outputs-open-to-internet": "an address, the card's filter and the service's",
    "outputs-behind-open-radio": "the radio, its protection and the filters",
    "settings-behind-known-proof": "no output commands, and a secret that everybody knows",
}
"""Rules that no single change of the compliant card fails, with what must meet."""

CAN_NOT_BE = {
    ("timezone-unknown", Outcome.FAIL): "any zone that is known will do; an absent one is unknown",
    ("feeds-unknown", Outcome.FAIL): "any load that is stated will do; an absent one is unknown",
    ("place-or-contact-unknown", Outcome.FAIL): "any text will do; an absent one is unknown",
    ("coverage-low", Outcome.UNKNOWN): "every card has some result to count",
    ("remote-switching-of-life-safety", Outcome.NOTAPPLICABLE): "it applies as soon as it can be decided",
}
"""Outcomes that a rule can't have, and why."""


@pytest.mark.parametrize("rule", program({}).rules, ids=attrgetter("id"))
def test_every_rule_has_its_cases(rule: Rule) -> None:
    """Every shipped rule has a case for each outcome that it can have, and a single change."""
    possible = [Outcome.PASS, Outcome.FAIL, Outcome.UNKNOWN]
    if rule.for_each or rule.applies_when is not None:
        possible.append(Outcome.NOTAPPLICABLE)
    outcomes = {case.outcome for case in CASES if case.rule == rule.id}
    missing = {outcome for outcome in possible if outcome not in outcomes}
    assert missing == {outcome for name, outcome in CAN_NOT_BE if name == rule.id}
    assert any(case.rule == rule.id for case in SINGLE)


@pytest.mark.parametrize("case", OPEN, ids=attrgetter("name"))
def test_findings_name_their_settings(case: Case) -> None:
    """Each fail and unknown case states the pointers of its evidence."""
    assert case.pointers
