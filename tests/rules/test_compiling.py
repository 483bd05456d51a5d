"""The compiled form of the rules says what the reference reading says."""

import random

from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.facts.fact import Context, Settings
from auditor.facts.words import well_known_words
from auditor.rules.program import all_results, judge_card
from auditor.rules.result import Outcome, RuleResult
from tests.rules.matrix import AS_OF, program
from tests.rules.mutation import forget_one, random_card

CONTEXT = Context(AS_OF, well_known_words())
PROGRAM = program({})


def judged(card: Settings, *, compiled: bool) -> list[RuleResult]:
    """Judge a card by every shipped rule, compiled or rule by rule."""
    return list(all_results(PROGRAM, judge_card(PROGRAM, card, CONTEXT, compiled=compiled).unusual))


def content(result: RuleResult) -> tuple[object, ...]:
    """Return all that a result says."""
    return result.rule.id, result.outcome, result.passed, result.counted, result.departures


@given(st.integers(min_value=0))
@settings(max_examples=150, deadline=None)
def test_compiled_rules_agree_with_the_reference_reading(seed: int) -> None:
    """For every shipped rule and any valid card, both forms give the same results and evidence."""
    card = random_card(random.Random(seed))  # noqa: S311 - made-up data
    pairs = zip(judged(card, compiled=True), judged(card, compiled=False), strict=True)
    assert [content(one) for one, other in pairs if content(one) != content(other)] == []


@given(st.integers(min_value=0))
@settings(max_examples=150, deadline=None)
def test_adding_knowledge_never_turns_a_decision_around(seed: int) -> None:
    """A setting that becomes known decides unknowns; it never turns one decision into another.

    Kleene's logic promises it of conditions; this holds every fact to the same promise.
    """
    dice = random.Random(seed)  # noqa: S311 - made-up data
    more = random_card(dice)
    less, forgotten = forget_one(more, dice)
    for before, after in zip(judged(less, compiled=False), judged(more, compiled=False), strict=True):
        if before.rule.judges_evidence:
            continue  # it judges how much is known: more knowledge may well turn it
        known = _decisions(before)
        for member, outcome in _decisions(after).items():
            if Outcome.UNKNOWN not in (outcome, known.get(member, Outcome.UNKNOWN)):
                assert known[member] is outcome, (before.rule.id, member, forgotten)


def _decisions(result: RuleResult) -> dict[str, Outcome]:
    """Return the outcome of a card rule, or those of the members that departed."""
    if not result.rule.for_each:
        return {"": result.outcome}
    return {departure.pointer: departure.outcome for departure in result.departures}
