"""The compiled form of the rules says what the reference reading says."""

import random

from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.facts.catalogue import FACTS
from auditor.facts.fact import Context, Settings
from auditor.facts.words import well_known_words
from auditor.rules.compiling import compile_rules
from auditor.rules.condition import Scope
from auditor.rules.evaluating import evaluate
from auditor.rules.result import Outcome, RuleResult
from tests.rules.matrix import AS_OF, program
from tests.rules.mutation import forget_one, random_card

CONTEXT = Context(AS_OF, well_known_words(), 75.0)
RULES = program({}).rules
JUDGE = compile_rules(RULES, FACTS)


def reference(card: Settings) -> list[RuleResult]:
    """Judge a card rule by rule."""
    scope = Scope(card, CONTEXT, FACTS)
    return [evaluate(rule, scope) for rule in RULES]


def counts(result: RuleResult) -> tuple[int, int, int]:
    """Return how many results passed, failed, and are unknown."""
    outcomes = [departure.outcome for departure in result.departures]
    return result.passed, outcomes.count(Outcome.FAIL), outcomes.count(Outcome.UNKNOWN)


@given(st.integers(min_value=0))
@settings(max_examples=150, deadline=None)
def test_compiled_rules_agree_with_the_reference_reading(seed: int) -> None:
    """For every shipped rule and any valid card, both forms count the same results."""
    card = random_card(random.Random(seed))  # noqa: S311 - made-up data
    found = {index: tuple(rest) for index, *rest in JUDGE(card, CONTEXT)}
    for index, (rule, result) in enumerate(zip(RULES, reference(card), strict=True)):
        usual = (0, 0, 0) if rule.for_each else (1, 0, 0)
        assert found.get(index, usual) == counts(result), rule.id


@given(st.integers(min_value=0))
@settings(max_examples=150, deadline=None)
def test_adding_knowledge_never_turns_a_decision_around(seed: int) -> None:
    """A setting that becomes known decides unknowns; it never turns one decision into another.

    Kleene's logic promises it of conditions; this holds every fact to the same promise.
    """
    dice = random.Random(seed)  # noqa: S311 - made-up data
    more = random_card(dice)
    less, forgotten = forget_one(more, dice)
    for before, after in zip(reference(less), reference(more), strict=True):
        known = _decisions(before)
        for member, outcome in _decisions(after).items():
            if Outcome.UNKNOWN not in (outcome, known.get(member, Outcome.UNKNOWN)):
                assert known[member] is outcome, (before.rule.id, member, forgotten)


def _decisions(result: RuleResult) -> dict[str, Outcome]:
    """Return the outcome of a card rule, or those of the members that departed."""
    if not result.rule.for_each:
        return {"": result.outcome}
    return {departure.pointer: departure.outcome for departure in result.departures}
