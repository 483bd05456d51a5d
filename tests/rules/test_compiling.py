"""The compiled form of the rules says what the reference reading says."""

import random
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.facts.fact import Context, Settings
from auditor.facts.words import well_known_words
from auditor.record.pointer import value_at
from auditor.rules.condition import Scope, members_of
from auditor.rules.evaluating import evaluate
from auditor.rules.program import all_results, judge_card
from auditor.rules.result import Outcome, RuleResult
from auditor.rules.rule import Rule
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

    Kleene's logic promises it of conditions; this holds every fact to the same promise, for
    every member of a list: those that pass are compared as well as those that fail.
    """
    dice = random.Random(seed)  # noqa: S311 - made-up data
    more = random_card(dice)
    less, forgotten = forget_one(more, dice)
    known_of, found_of = Scope(less, CONTEXT, PROGRAM.facts), Scope(more, CONTEXT, PROGRAM.facts)
    for rule in PROGRAM.rules:
        if rule.judges_evidence:
            continue  # it judges how much is known: more knowledge may well turn it
        known, found = _decisions(rule, known_of), _decisions(rule, found_of)
        for member in known.keys() & found.keys():
            if Outcome.UNKNOWN not in (known[member], found[member]):
                assert known[member] is found[member], (rule.id, member, forgotten)


def _decisions(rule: Rule, scope: Scope) -> dict[str, Outcome]:
    """Return the outcome of a card rule, or that of each member of its list, by pointer."""
    if not rule.for_each:
        return {"": evaluate(rule, scope).outcome}
    alone = replace(rule, for_each="", for_each_tokens=())
    return {
        member.member_pointer: evaluate(alone, member).outcome
        for member in members_of(scope, rule.for_each_tokens)
    }


def test_each_member_is_decided_as_the_whole_list_decides_it() -> None:
    """Reading a member alone gives the departures of the list: the comparison above rests on it."""
    for seed in range(20):
        card = random_card(random.Random(seed))  # noqa: S311 - made-up data
        scope = Scope(card, CONTEXT, PROGRAM.facts)
        for rule in PROGRAM.rules:
            if not rule.for_each or value_at(card, rule.for_each_tokens) is None:
                continue
            undecided = (Outcome.PASS, Outcome.NOTAPPLICABLE)
            alone = {p: o for p, o in _decisions(rule, scope).items() if o not in undecided}
            assert alone == {each.pointer: each.outcome for each in evaluate(rule, scope).departures}
