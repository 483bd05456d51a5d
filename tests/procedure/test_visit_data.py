"""What the shipped rules say of visits, held against what their mends do to the cards of the rule matrix."""

from typing import Final

from auditor.procedure.mending import has_mend
from auditor.procedure.way_in import ways_in
from auditor.rules.result import Outcome
from auditor.rules.rule import Rule
from tests.procedure.sample import CONTEXT
from tests.rules.matrix import card_of, judge_all, program, read_cases
from tests.rules.test_mends import mended

RULES: Final = {rule.id: rule for rule in program({}).rules}
AGENTS: Final = {rule for rule in RULES if rule.startswith(("agent-secret-", "agent-without-proof"))}
"""They change how an agent proves itself, not when anything is switched; their texts say what to mind."""


def test_every_mend_that_closes_a_way_says_that_it_cuts_access() -> None:
    """By reach: of all failing cases, some mends close a way for people, and each of their rules says so."""
    ways = ways_in(CONTEXT)
    closing: set[str] = set()
    for case in read_cases():
        if case.outcome is Outcome.FAIL and has_mend(RULES[case.rule]):
            card = card_of(case)
            after, _ = mended(card, judge_all(card, case.parameters)[case.rule], case.parameters)
            if set(ways(card)) - set(ways(after)):
                closing.add(case.rule)
    assert {"telnet-enabled", "factory-account-enabled", "address-by-dhcp"} & closing
    assert {name for name in closing if not cuts_access(RULES[name])} == set()


def cuts_access(rule: Rule) -> bool:
    """Return whether a rule says that its mend may close a way in."""
    return rule.visit is not None and rule.visit.cuts_access


def test_every_mend_of_the_shutdown_says_that_it_could_affect_the_output() -> None:
    """So do firmware, what moves the clock past the weekly schedule, and writing by other systems."""
    risky = {name for name, rule in RULES.items() if rule.visit and rule.visit.output_risk}
    shutdown = {
        name for name, rule in RULES.items() if any(at.startswith("/shutdown") for at in places(rule))
    }
    assert shutdown - AGENTS <= risky
    assert {"firmware-old", "clock-off", "clock-set-by-hand", "timezone-unknown", "modbus-writable"} <= risky


def places(rule: Rule) -> list[str]:
    """Return the pointers of the settings that a mend names, in their list."""
    changed = [change.pointer for change in (*rule.mend.settings, *rule.mend.new_secrets)]
    return [rule.for_each + pointer for pointer in (*changed, *(ask.pointer for ask in rule.mend.asks))]
