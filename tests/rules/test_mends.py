"""The values that mends name: set on a failing card, they make the rule pass, at any site."""

from collections.abc import Mapping
from operator import attrgetter
from typing import Any, Final

import pytest

from auditor.facts.fact import Context, Settings
from auditor.facts.words import well_known_words
from auditor.procedure.bench import Bench
from auditor.procedure.edit import EditKind, edited
from auditor.procedure.mending import edits_for, has_mend
from auditor.record.pointer import split
from auditor.rules.result import Outcome, RuleResult
from tests.rules.matrix import AS_OF, Case, card_of, judge_all, program, read_cases

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

MENDED: Final = {rule.id for rule in program({}).rules if has_mend(rule) and rule.family != "reach"}
"""Ways in are mostly closed by the mends of what opens them: plans are tested for that, as a whole."""

CASES: Final = [case for case in read_cases() if case.outcome is Outcome.FAIL and case.rule in MENDED]

UNCAPTURED: Final = {
    "password-same-for-accounts": "another password is in no form that can be compared",
    "service-open-to-any-source": "another service was not captured",
    "service-on-foreign-port": "another service was not captured",
    "ssh-key-exchange-weak": "the list also names what nobody graded",
    "ssh-mac-weak": "the list also names what nobody graded",
    "tls-suite-forbidden": "the list also names what nobody graded",
}
"""Rules of which a case stays unknown after the mend, for want of something that no mend touches."""


def mended(card: Settings, result: RuleResult, parameters: Mapping[str, Any]) -> tuple[Settings, bool]:
    """Return the card with the changes made that the rule's mend names, in each member that fails.

    Beside it, whether the site is asked for a value.
    """
    used = program(parameters)
    context = Context(AS_OF, well_known_words(), in_work_tree=False)
    bench = Bench(card["card"]["id"], context, used.parameters, used.facts, "192.0.2.9")
    asks = False
    for departure in result.departures:
        edits = tuple(edits_for(result.rule, split(departure.pointer), card, bench))
        card = edited(card, edits)
        asks = asks or any(edit.kind is EditKind.ASKED for edit in edits)
    return card, asks


@pytest.mark.parametrize("stricter", [False, True], ids=["as shipped", "stricter site"])
@pytest.mark.parametrize("case", CASES, ids=attrgetter("name"))
def test_what_a_mend_changes_passes(case: Case, *, stricter: bool) -> None:
    """With the shipped numbers and with a site's own, nothing of the finding is left.

    Where the value comes from the site, the outcome is unknown until the card is captured.
    """
    parameters = {**(STRICTER if stricter else {}), **case.parameters}
    card = card_of(case)
    result = judge_all(card, parameters)[case.rule]
    changed, asks = mended(card, result, parameters)
    after = judge_all(changed, parameters)[case.rule]
    known = {Outcome.PASS, Outcome.NOTAPPLICABLE}
    may_be_open = asks or case.rule in UNCAPTURED
    assert after.outcome in (known | {Outcome.UNKNOWN} if may_be_open else known)


def test_every_value_that_a_parameter_decides_comes_from_it() -> None:
    """A rule whose requirement compares a setting with a parameter sets no number of its own."""
    values = {
        change.pointer: change.value
        for rule in program(STRICTER).rules
        for change in rule.mend.settings
        if change.parameter
    }
    assert (
        values.items()
        >= {
            "/access_policy/session_timeout_s": 120,
            "/access_policy/lockout/attempts": 3,
            "/access_policy/password/minimum_length": 24,
            "/access_policy/concurrent_sessions": 1,
            "/services/serial_console/idle_timeout_s": 60,
            "/segment": "building_systems",
            "/shutdown/remote_output_commands/least_role": "operator",
        }.items()
    )
