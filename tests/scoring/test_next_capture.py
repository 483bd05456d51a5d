"""What to capture next: by what hangs on a setting."""

import orjson

from auditor.facts.fact import Context
from auditor.facts.words import well_known_words
from auditor.record.reading import read_record
from auditor.rules.result import Outcome
from auditor.scoring.assessment import assess
from auditor.scoring.ccss import base_score
from auditor.scoring.next_capture import CaptureStep, what_to_capture_next
from tests.rules.matrix import AS_OF, Case, card_of, program


def steps_without(*pointers: str) -> tuple[CaptureStep, ...]:
    """Return the steps for the compliant card with some settings not captured."""
    card = card_of(Case("", 0, "", Outcome.PASS, (), pointers, {}, None, None))
    record = read_record(orjson.dumps(card), "card.json")
    assessment = assess(record, program({}), Context(AS_OF, well_known_words(), in_work_tree=False))
    unknown = [finding for finding in assessment.findings if finding.outcome is Outcome.UNKNOWN]
    return what_to_capture_next([*assessment.missing, *unknown])


def test_a_card_of_which_all_is_known_asks_for_nothing() -> None:
    """The compliant card leaves nothing undecided."""
    assert steps_without() == ()


def test_a_missing_setting_is_named_with_the_rules_that_wait() -> None:
    """Telnet's state decides the rule on telnet."""
    (step,) = steps_without("/services/telnet/enabled")
    assert step.pointer == "/services/telnet/enabled"
    assert "telnet-enabled" in step.rules


def test_steps_stand_by_what_hangs_on_them() -> None:
    """The setting with the greater sum of severities is asked for first, and the sum is right."""
    steps = steps_without("/tls/versions", "/log/capacity_events", "/accounts/1/role")
    assert [step.weight for step in steps] == sorted((step.weight for step in steps), reverse=True)
    weights = {rule.id: base_score(rule.vector).score for rule in program({}).rules}
    assert all(step.weight == sum(weights[rule] for rule in step.rules) for step in steps)


def test_members_of_a_list_are_one_step() -> None:
    """The same setting of two accounts is asked for once."""
    pointers = [
        step.pointer
        for step in steps_without("/accounts/1/password_changed_on", "/accounts/2/password_changed_on")
    ]
    assert pointers.count("/accounts/*/password_changed_on") == 1
