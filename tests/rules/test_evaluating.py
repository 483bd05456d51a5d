"""One rule against one record: outcomes, evidence, labels and isolated errors."""

import pytest

from auditor.facts.fact import Settings
from auditor.rules.condition import Seen
from auditor.rules.evaluating import evaluate, evaluate_members, label_of
from auditor.rules.result import Outcome
from tests.rules.small import at, breaks_on_odd, its, of_fact, rule, scope

ACCOUNTS: Settings = {"accounts": [{"name": "a", "on": False}, {"name": "b"}, {"name": "c", "on": True}]}


@pytest.mark.parametrize(
    ("record", "outcome", "passed"),
    [
        ({"on": True}, Outcome.PASS, 1),
        ({"on": False}, Outcome.FAIL, 0),
        ({}, Outcome.UNKNOWN, 0),
    ],
)
def test_a_rule_about_the_card_has_the_outcome_of_what_it_requires(
    record: Settings, outcome: Outcome, passed: int
) -> None:
    """True passes, false fails, unknown stays so; one result is counted."""
    result = evaluate(rule(at("/on")), scope(record))
    assert (result.outcome, result.passed, result.counted) == (outcome, passed, 1)


def test_a_rule_that_does_not_apply_has_no_result() -> None:
    """Nothing is counted, whatever it would require."""
    result = evaluate(rule(at("/on"), at("/here")), scope({"here": False, "on": False}))
    assert (result.outcome, result.counted, result.departures) == (Outcome.NOTAPPLICABLE, 0, ())


def test_an_unknown_precondition_is_marked_in_the_evidence() -> None:
    """The reader learns what to capture, and is not told to change it."""
    result = evaluate(rule(at("/on"), at("/here")), scope({"on": False}))
    (departure,) = result.departures
    assert departure.outcome is Outcome.UNKNOWN
    assert departure.seen == (Seen("/here", None, at("/here"), precondition=True),)


def test_what_is_required_is_no_precondition() -> None:
    """An unknown or failing requirement is worded as what it asks for."""
    for record in ({"here": True}, {"here": True, "on": False}):
        (departure,) = evaluate(rule(at("/on"), at("/here")), scope(record)).departures
        assert [seen.precondition for seen in departure.seen] == [False]


def test_the_worst_member_is_the_outcome_of_the_rule() -> None:
    """A member that fails outweighs one that is unknown; both are told, and the third passes."""
    result = evaluate(rule(its("/on"), each="/accounts"), scope(ACCOUNTS))
    assert (result.outcome, result.passed, result.counted) == (Outcome.FAIL, 1, 3)
    assert [(each.label, each.outcome) for each in result.departures] == [
        ("a", Outcome.FAIL), ("b", Outcome.UNKNOWN),
    ]  # fmt: skip


def test_an_error_outweighs_a_fail() -> None:
    """A fact that fails for one member is told as an error of that member only, and without its value."""
    record = {"accounts": [{"name": "odd"}, {"name": "even"}]}
    result = evaluate(rule(of_fact(breaks_on_odd.name), each="/accounts"), scope(record))
    (departure,) = result.departures
    assert (result.outcome, result.passed) == (Outcome.ERROR, 1)
    assert departure.message == "ZeroDivisionError in a fact of rule odd"


def test_an_error_names_no_value_of_the_record() -> None:
    """The text of an exception may hold a secret: only its kind is told."""
    (departure,) = evaluate(rule(of_fact("breaks")), scope({})).departures
    assert (departure.outcome, departure.message) == (Outcome.ERROR, "ValueError in a fact of rule odd")


def test_an_empty_list_has_no_result() -> None:
    """There is no member that the rule could be about."""
    result = evaluate(rule(its("/on"), each="/accounts"), scope({"accounts": []}))
    assert (result.outcome, result.counted) == (Outcome.NOTAPPLICABLE, 0)


def test_a_missing_list_is_one_unknown_about_the_list() -> None:
    """Nobody knows how many members there are."""
    result = evaluate(rule(its("/on"), each="/accounts"), scope({}))
    (departure,) = result.departures
    assert (result.outcome, departure.seen) == (Outcome.UNKNOWN, (Seen("/accounts", None, None),))


def test_a_missing_list_does_not_matter_where_the_card_decides() -> None:
    """Where the rule applies to no member of this card, the list need not be captured."""
    result = evaluate(rule(its("/on"), at("/here"), each="/accounts"), scope({"here": False}))
    assert (result.outcome, result.counted) == (Outcome.NOTAPPLICABLE, 0)


def test_known_departures_give_the_result_of_the_whole_list() -> None:
    """Judging only the members that depart, and counting the others, changes nothing."""
    odd = rule(its("/on"), each="/accounts")
    whole, quick = evaluate(odd, scope(ACCOUNTS)), evaluate_members(odd, scope(ACCOUNTS), [0, 1], 1)
    assert (quick.outcome, quick.passed, quick.counted, quick.departures) == (
        whole.outcome, whole.passed, whole.counted, whole.departures,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("member", "label"),
    [
        ({"host": "h", "address": "a", "name": "n"}, "n"),
        ({"day": "monday", "host": "h", "address": "a"}, "a"),
        ({"group": "g", "algorithm": "x", "host": "h"}, "h"),
        ({"day": "monday", "group": "g", "algorithm": "x"}, "x"),
        ({"day": "monday", "group": "g"}, "g"),
        ({"day": "monday"}, "monday"),
        ({"password": {"clear": "h0rse"}}, ""),
    ],
)
def test_a_member_is_called_by_its_name_before_its_address(member: Settings, label: str) -> None:
    """The name that a person gave comes first, then where it is; a secret is never a name."""
    assert label_of(member) == label
