"""The values that mends name: set on a failing card, they make the rule pass, at any site."""

from collections.abc import Mapping
from operator import attrgetter
from typing import Any, Final

import pytest

from auditor.facts.fact import Settings
from auditor.record.pointer import split, value_at
from auditor.rules.result import Outcome, RuleResult
from auditor.rules.rule import Change
from tests.rules.matrix import Case, card_of, judge_all, program, read_cases

STRICTER: Final[Mapping[str, Any]] = {
    "password_characters_minimum": 24,
    "lockout_attempts_maximum": 3,
    "guesses_per_day_maximum": 50,
    "session_timeout_maximum_s": 120,
    "concurrent_sessions_maximum": 1,
    "console_idle_timeout_maximum_s": 60,
    "segments_allowed": ["building_systems"],
    "switching_roles": ["operator"],
    "time_servers_minimum": 6,
}
"""A site that asks for more than the shipped rulesets, or for something else."""

MENDED: Final = {rule.id for rule in program({}).rules if rule.mend.settings}
CASES: Final = [case for case in read_cases() if case.outcome is Outcome.FAIL and case.rule in MENDED]


def mended(card: Settings, result: RuleResult) -> Settings:
    """Return the card with the values set that the rule's mend names, in each member that fails."""
    for departure in result.departures:
        for change in result.rule.mend.settings:
            _set(card, departure.pointer, change)
    return card


def _set(card: Settings, member: str, change: Change) -> None:
    tokens = split(member + change.pointer)
    holder = card
    for depth in range(1, len(tokens)):
        there = value_at(card, tokens[:depth])
        if there is None:
            holder[tokens[depth - 1]] = there = {}
        holder = there
    holder[tokens[-1]] = list(change.value) if isinstance(change.value, tuple) else change.value


@pytest.mark.parametrize("stricter", [False, True], ids=["as shipped", "stricter site"])
@pytest.mark.parametrize("case", CASES, ids=attrgetter("name"))
def test_what_a_mend_sets_passes(case: Case, *, stricter: bool) -> None:
    """With the shipped numbers and with a site's own, nothing of the finding is left."""
    parameters = {**(STRICTER if stricter else {}), **case.parameters}
    card = card_of(case)
    result = judge_all(card, parameters)[case.rule]
    after = judge_all(mended(card, result), parameters)[case.rule]
    assert after.outcome in (Outcome.PASS, Outcome.NOTAPPLICABLE)


def test_every_value_that_a_parameter_decides_comes_from_it() -> None:
    """A rule whose requirement compares a setting with a parameter sets no number of its own."""
    values = {
        change.pointer: change.value
        for rule in program(STRICTER).rules
        for change in rule.mend.settings
        if change.parameter
    }
    assert values == {
        "/access_policy/session_timeout_s": 120,
        "/access_policy/lockout/attempts": 3,
        "/access_policy/password/minimum_length": 24,
        "/access_policy/concurrent_sessions": 1,
        "/services/serial_console/idle_timeout_s": 60,
        "/segment": "building_systems",
        "/shutdown/remote_output_commands/least_role": "operator",
    }
