"""One rule against one record: the reference reading, with evidence and isolated errors."""

from collections.abc import Mapping, Sequence
from typing import Any

from auditor.dataclass import replace
from auditor.record.pointer import join, value_at
from auditor.rules.condition import Scope, Seen, judge, members_of, truth_in
from auditor.rules.result import Departure, Outcome, RuleResult
from auditor.rules.rule import Rule
from auditor.rules.truth import Truth

_OUTCOMES = {Truth.TRUE: Outcome.PASS, Truth.UNKNOWN: Outcome.UNKNOWN, Truth.FALSE: Outcome.FAIL}
_WORST_FIRST = (Outcome.ERROR, Outcome.FAIL, Outcome.UNKNOWN, Outcome.PASS)


def evaluate(rule: Rule, scope: Scope) -> RuleResult:
    """Return what a rule says of the card in ``scope``.

    A rule about the members of a list gives one result a member: none where the list is
    empty (``notapplicable``). Where the list is not captured it gives one ``unknown``, unless
    what is known of the card already says that the rule applies to no member.
    """
    if not rule.for_each:
        return _gather(rule, [_result(rule, scope)])
    if value_at(scope.record, rule.for_each_tokens) is None:
        return _gather(rule, [_result_of_missing_list(rule, scope)])
    return _gather(rule, [_result(rule, inner) for inner in members_of(scope, rule.for_each_tokens)])


def evaluate_members(rule: Rule, scope: Scope, members: Sequence[int], passed: int) -> RuleResult:
    """Return what a rule about members says, where it is known which members do not pass.

    ``members`` are the indexes of those that fail or are unknown; ``passed`` others pass.
    """
    listed = value_at(scope.record, rule.for_each_tokens)
    scopes = (scope.of_member(listed[index], join((*rule.for_each_tokens, index))) for index in members)
    found = _gather(rule, [_result(rule, inner) for inner in scopes])
    counted = passed + found.counted
    return RuleResult(rule, found.outcome, passed, counted, found.departures)


def _result_of_missing_list(rule: Rule, scope: Scope) -> Departure:
    anyone = _result(rule, scope.of_member({}, ""))
    if anyone.outcome is Outcome.NOTAPPLICABLE:
        return anyone
    return Departure("", "", Outcome.UNKNOWN, (Seen(rule.for_each, None, None),))


def _gather(rule: Rule, results: list[Departure]) -> RuleResult:
    counted = [result for result in results if result.outcome is not Outcome.NOTAPPLICABLE]
    worst = worst_of(counted)
    departures = tuple(result for result in counted if result.outcome is not Outcome.PASS)
    return RuleResult(rule, worst, len(counted) - len(departures), len(counted), departures)


def worst_of(results: Sequence[Departure]) -> Outcome:
    """Return the worst outcome of some results that count; ``notapplicable`` where there are none."""
    found = {result.outcome for result in results}
    return next((outcome for outcome in _WORST_FIRST if outcome in found), Outcome.NOTAPPLICABLE)


def _result(rule: Rule, scope: Scope) -> Departure:
    label = label_of(scope.member) if scope.member is not None else ""
    try:
        outcome, seen = _judge_rule(rule, scope)
    except Exception as error:  # noqa: BLE001 - a fact that fails is this rule's result, no more
        message = f"{type(error).__name__} in a fact of rule {rule.id}"
        return Departure(scope.member_pointer, label, Outcome.ERROR, (), message)
    return Departure(scope.member_pointer, label, outcome, seen)


def _judge_rule(rule: Rule, scope: Scope) -> tuple[Outcome, tuple[Seen, ...]]:
    if rule.applies_when is not None:
        applies = truth_in(rule.applies_when, scope)
        if applies is Truth.FALSE:
            return Outcome.NOTAPPLICABLE, ()
        if applies is Truth.UNKNOWN:
            asked = judge(rule.applies_when, scope)
            return Outcome.UNKNOWN, tuple(_as_precondition(seen) for seen in asked.seen)
    required = judge(rule.require, scope)
    return _OUTCOMES[required.truth], required.seen


def _as_precondition(seen: Seen) -> Seen:
    return replace(seen, precondition=True)


def label_of(member: Mapping[str, Any]) -> str:
    """Return the name by which people know a member of a list, or empty.

    Names, addresses and hosts are settings that may be shown.
    """
    names = ("name", "address", "host", "algorithm", "group", "day")
    return next((str(member[key]) for key in names if key in member), "")
