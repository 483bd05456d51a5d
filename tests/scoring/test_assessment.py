"""What an audit says of one card: findings, what is missing, and sums that add up."""

import random
from collections.abc import Mapping
from typing import Any

import orjson
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.facts.fact import Context
from auditor.facts.words import well_known_words
from auditor.record.reading import read_record
from auditor.rules.result import Outcome
from auditor.scoring.assessment import (
    CardAssessment,
    assess,
    identity_of,
    is_finding,
    score_of,
    tally_of,
    weight_of,
    worst_first,
)
from auditor.scoring.band import Band
from auditor.scoring.ccss import base_score
from auditor.scoring.xccdf import Model
from tests.report.sample import assess_cards, bare_card, good_card, make_run, poor_card
from tests.rules.matrix import AS_OF, ROOT, program
from tests.rules.mutation import random_card
from tests.rules.small import at, rule

RUN = make_run("")


def assessed(card: dict[str, Any]) -> CardAssessment:
    """Return what the small ruleset says of a card."""
    (assessment,) = assess_cards(RUN, [card])
    return assessment


def test_a_good_card_has_no_findings_and_the_full_score() -> None:
    """Every rule passes or does not apply."""
    good = good_card()
    good["card"]["contact"] = "power team"
    assessment = assessed(good)
    assert (assessment.findings, assessment.worst, assessment.score.percent) == ((), Band.NONE, 100.0)


def test_findings_stand_worst_first() -> None:
    """By severity, then by rule, then by place; the first gives the worst band."""
    findings = assessed(poor_card()).findings
    assert list(findings) == sorted(findings, key=worst_first)
    assert [finding.severity.score for finding in findings] == sorted(
        (finding.severity.score for finding in findings), reverse=True
    )
    assert assessed(poor_card()).worst is findings[0].band


def test_ties_are_ordered_by_rule_and_place() -> None:
    """Two accounts with the same defect stand in the order of their pointers."""
    card = good_card()
    card["accounts"] = [{"name": n, "enabled": True, "is_shared": True} for n in ("z", "a")]
    assert [(f.rule.id, f.pointer, f.label) for f in assessed(card).findings] == [
        ("account-shared", "/accounts/0", "z"), ("account-shared", "/accounts/1", "a"),
    ]  # fmt: skip


def test_a_finding_on_the_card_points_at_its_first_setting() -> None:
    """There is no member: the evidence says where to look."""
    card = good_card()
    card["services"]["telnet"]["enabled"] = True
    (finding,) = assessed(card).findings
    assert (finding.pointer, finding.label, finding.outcome) == ("/services/telnet/enabled", "", Outcome.FAIL)


def test_an_error_is_a_finding_with_its_message() -> None:
    """What could not be judged is never passed over."""
    (error,) = (finding for finding in assessed(poor_card()).findings if finding.outcome is Outcome.ERROR)
    assert (error.rule.id, error.evidence) == ("clock-polls-never", ())
    assert error.message == "ZeroDivisionError in a fact of rule clock-polls-never"


def test_an_unknown_is_a_finding_only_where_it_matters() -> None:
    """The others are missing, with the settings to capture; none is both, none is lost."""
    assessment = assessed(bare_card())
    assert [finding.rule.id for finding in assessment.findings] == ["session-timeout-too-long"]
    told = [missing.rule.id for missing in assessment.missing]
    assert "account-shared" in told
    assert "session-timeout-too-long" not in told
    assert len(told) + 1 == assessment.outcomes[Outcome.UNKNOWN]


@pytest.mark.parametrize("outcome", [Outcome.FAIL, Outcome.ERROR])
def test_a_fail_and_an_error_always_are_findings(outcome: Outcome) -> None:
    """Whatever the rule says of unknowns."""
    assert is_finding(rule(at("/on")), outcome)
    assert not is_finding(rule(at("/on")), Outcome.UNKNOWN)


def test_what_the_equipment_feeds_raises_the_severity() -> None:
    """The same defect scores more on a life-safety load than in a laboratory."""
    scores = []
    for feeds in ("lab", "life_safety"):
        card = good_card()
        card["equipment"]["feeds"] = feeds
        card["snmp"]["communities"][0]["access"] = "write"
        (finding,) = assessed(card).findings
        scores.append(finding.severity.score)
    assert scores[0] < scores[1]


def test_a_setting_that_several_leaves_ask_for_is_told_once() -> None:
    """Preconditions that are not known ask only to be known: one row a setting."""
    card = {"schema": "witnessmark/card-1", "card": {"id": "x"}}
    record = read_record(orjson.dumps(card), "made.json")
    assessment = assess(record, program({}), Context(AS_OF, well_known_words()))
    told = [found.evidence for found in assessment.findings]
    told += [found.evidence for found in assessment.missing]
    assert [rows for rows in told if len(set(rows)) < len(rows)] == []


def shipped(changes: Mapping[str, Any]) -> Mapping[str, tuple[tuple[str, str, str], ...]]:
    """Return the evidence of the shipped rules, by rule, on the compliant card with sections changed."""
    card = orjson.loads((ROOT / "fixtures/cards/compliant.json").read_bytes())
    for section, change in changes.items():
        card[section] = {**card[section], **change} if isinstance(change, dict) else change
    record = read_record(orjson.dumps(card), "made.json")
    context = Context(AS_OF, well_known_words(), in_work_tree=False)
    assessment = assess(record, program({}), context)
    told = {found.rule.id: found.evidence for found in assessment.findings}
    told.update({found.rule.id: found.evidence for found in assessment.missing})
    return {
        name: tuple((row.pointer, row.observed, row.asked) for row in rows) for name, rows in told.items()
    }


def test_nobody_is_told_to_make_every_administrator_a_viewer() -> None:
    """Where one account that can only look would do, each row says so."""
    accounts = [{"name": name, "role": "administrator", "enabled": True} for name in ("a", "b")]
    assert shipped({"accounts": accounts})["no-viewer-account"] == (
        ("/accounts/0/role", "administrator", "viewer, in one member"),
        ("/accounts/1/role", "administrator", "viewer, in one member"),
    )


def test_nobody_is_told_to_switch_on_what_is_perhaps_off() -> None:
    """Whether a service is on is asked to be known, and no more."""
    rows = shipped({"services": {"bacnet_ip": {}}})["bacnet-writable"]
    assert rows == (("/services/bacnet_ip/enabled", "not captured", "known"),)


def test_nobody_is_told_to_call_a_life_safety_load_something_else() -> None:
    """The evidence is the switching, not what the equipment feeds."""
    rows = shipped({"equipment": {"feeds": "life_safety"}})["remote-switching-of-life-safety"]
    assert rows == (("/shutdown/remote_output_commands/enabled", "true", "false"),)


@given(st.integers(min_value=0))
@settings(max_examples=30, deadline=None)
def test_sums_of_a_card_are_those_of_its_results(seed: int) -> None:
    """Outcomes count single results, and the score is the flat model over all rules."""
    card = random_card(random.Random(seed))  # noqa: S311 - made-up data
    record = read_record(orjson.dumps(card), "made.json")
    assessment = assess(record, program({}), Context(AS_OF, well_known_words()))
    results = assessment.results
    assert assessment.outcomes[Outcome.PASS] == sum(result.passed for result in results)
    departed = [departure.outcome for result in results for departure in result.departures]
    for outcome in (Outcome.FAIL, Outcome.UNKNOWN, Outcome.ERROR):
        assert assessment.outcomes[outcome] == departed.count(outcome)
    plain = score_of(results, Model.FLAT)
    assert assessment.score.points == pytest.approx(plain.points)
    assert assessment.score.maximum == pytest.approx(plain.maximum)


def test_the_weight_of_a_rule_is_its_base_score() -> None:
    """In its family's group, with its passes and its count."""
    result = assessed(good_card()).results[0]
    tally = tally_of(result)
    assert tally == (float(base_score(result.rule.vector).score), 1, 1, result.rule.family)
    assert weight_of(result.rule) == tally.weight


def test_who_a_card_is_comes_from_its_record() -> None:
    """What the record does not say is empty text."""
    identity = identity_of(bare_card())
    assert (identity.id, identity.name, identity.feeds, identity.taken_at) == ("spare-7", "", "", "")
    known = identity_of(good_card())
    assert (known.site, known.kind, known.feeds) == ("North", "ups", "critical")
