"""The rule matrix: every shipped rule reaches its stated outcome, for exactly the settings it names."""

from functools import cache
from operator import attrgetter

import jsonschema_rs
import pytest

from auditor.record.schema import card_schema
from auditor.rules.result import Outcome
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
RULES = [rule.id for rule in program({}).rules]


@cache
def _validator() -> jsonschema_rs.Draft202012Validator:
    return jsonschema_rs.Draft202012Validator(dict(card_schema()), validate_formats=True)


@pytest.mark.parametrize("case", CASES, ids=attrgetter("name"))
def test_rule_reaches_the_stated_outcome(case: Case) -> None:
    """A rule gives the outcome its case states, for exactly the settings it names."""
    card = card_of(case)
    assert [error.message for error in _validator().iter_errors(card)] == []
    result = judge_all(card, case.parameters)[case.rule]
    assert result.outcome is case.outcome
    if case.pointers is not None:
        assert pointers_of(result) == set(case.pointers)


@pytest.mark.parametrize("case", SINGLE, ids=attrgetter("name"))
def test_one_change_makes_exactly_the_named_rules_fail(case: Case) -> None:
    """On the compliant card one changed setting fails the rules that the case names, and no other."""
    assert len(case.set) + len(case.remove) == 1
    untouched = Case("", 0, "", Outcome.PASS, (), (), case.parameters, None, None)
    before = failing(judge_all(card_of(untouched), case.parameters))
    after = failing(judge_all(card_of(case), case.parameters))
    assert after - before == set(case.newly_fails or ())


def test_the_compliant_card_fails_nothing() -> None:
    """The exemplary card has no failing and no unknown result, so each single change stands alone."""
    results = judge_all(card_of(Case("", 0, "", Outcome.PASS, (), (), {}, None, None)), {})
    bad = {name for name, r in results.items() if r.outcome not in (Outcome.PASS, Outcome.NOTAPPLICABLE)}
    assert bad == set()


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_has_its_cases(rule: str) -> None:
    """Every shipped rule has a pass, a fail (or a finding by unknown), an unknown and a single change."""
    outcomes = {case.outcome for case in CASES if case.rule == rule}
    assert Outcome.PASS in outcomes
    assert outcomes & {Outcome.FAIL, Outcome.UNKNOWN}
    assert any(case.rule == rule for case in SINGLE)


@pytest.mark.parametrize(
    "case", [c for c in CASES if c.outcome in (Outcome.FAIL, Outcome.UNKNOWN)], ids=attrgetter("name")
)
def test_findings_name_their_settings(case: Case) -> None:
    """Each fail and unknown case states the pointers of its evidence."""
    assert case.pointers
