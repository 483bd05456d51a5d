"""The recipes by name, and every rule that shipped: no mend is without its place in a visit."""

import pytest

from auditor.procedure.mending import has_mend
from auditor.procedure.order import circular, graph_of
from auditor.procedure.recipe.catalogue import RECIPES
from auditor.procedure.step import Step
from auditor.rules.loading import ruleset_schema
from auditor.rules.rule import Rule
from tests.rules.matrix import program

RULES = program({}).rules


def test_rulesets_may_name_the_recipes_that_there_are() -> None:
    """A name in the schema without a recipe would fail at the visit."""
    assert ruleset_schema()["$defs"]["recipe"]["enum"] == sorted(RECIPES)


@pytest.mark.parametrize("rule", RULES, ids=[rule.id for rule in RULES])
def test_every_shipped_rule_says_what_its_mend_means_for_a_visit(rule: Rule) -> None:
    """It has visit data; what it changes, or that it is work at the desk; and its place in the order."""
    assert rule.visit is not None
    assert has_mend(rule) or rule.visit.at_desk
    assert (
        rule.visit.work or rule.visit.at_desk or rule.visit.needs or rule.visit.provides or rule.visit.after
    )


def test_all_shipped_rules_at_once_have_an_order() -> None:
    """No card can have findings whose mends wait for each other."""
    steps = [Step(rule.id, rule.id, (), (), visit=rule.visit) for rule in RULES if rule.visit]
    by_work: dict[str, list[Rule]] = {}
    for rule in RULES:
        assert rule.visit
        by_work.setdefault(rule.visit.work or rule.id, []).append(rule)
    assert circular(graph_of(steps)) == ()
    works = {work: {rule.id for rule in rules} for work, rules in by_work.items()}
    for work, rules in by_work.items():
        for rule in rules:
            assert rule.visit
            waits = [other for other, ids in works.items() if other != work and ids & set(rule.visit.after)]
            assert all(work not in _waits_of(other, by_work, works) for other in waits), rule.id


def _waits_of(work: str, by_work: dict[str, list[Rule]], works: dict[str, set[str]]) -> set[str]:
    after = {name for rule in by_work[work] if rule.visit for name in rule.visit.after}
    return {other for other, ids in works.items() if ids & after and other != work}


def test_a_word_that_a_shipped_rule_needs_is_provided_by_another() -> None:
    """A word misspelt would order nothing, and nobody would see it."""
    provided = {word for rule in RULES if rule.visit for word in rule.visit.provides}
    needed = {word for rule in RULES if rule.visit for word in rule.visit.needs}
    assert needed <= provided
